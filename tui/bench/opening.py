"""Opening footage and its session together, or refusing the pair."""

import json
import os
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from importlib.metadata import version
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from sessions.errors import EntryRefused, SessionError
from sessions.record.entries import FootageRead
from sessions.record.header import Claim, FileState, FootageFacts, Header
from sessions.record.journal import Journal, utc_now
from sessions.rules.events import EVENT_CHOICE, load_event
from sessions.validation import first_problem
from tui.bench.places import go_where_left
from tui.bench.review import Review
from tui.footage.cache import Progress
from tui.footage.fields import Scan
from tui.footage.footage import Footage

SMALL = (640, 360)
"""The size in pixels in which frames are kept for the bench: more than any cell grid shows."""

UNREAD = "The footage was not read to its end, so nothing can be ruled: open it again to go on."


@dataclass(frozen=True)
class ReviewWish:
    """What the reviewer asked for; ``event`` and ``claim`` matter only for a new session."""

    footage: Path
    session: Path | None = None
    event: str | None = None
    reviewer: str | None = None
    claim: Claim = field(default_factory=Claim)
    track: int | None = None
    scan: Scan | None = None
    whole: bool = False


def open_footage(wish: ReviewWish, progress: Progress | None = None) -> Footage:
    """The footage that is wished for; begun only, where it is new to program and reviewer."""
    known = os.path.exists(wish.session or session_path(wish.footage))
    opening = Footage.open if known else Footage.begin
    as_begun = _as_begun(wish)
    return opening(
        wish.footage,
        progress=progress,
        track=wish.track or as_begun.track,
        scan=wish.scan or as_begun.scan,
        whole=wish.whole or as_begun.whole,
    )


def session_path(footage: Path) -> Path:
    """Where the session of a piece of footage lies unless another place is named."""
    return footage.with_name(footage.name + ".session.jsonl")


class _Counted(BaseModel):
    """How the frames of footage are counted, as the first line of a session says."""

    track: int | None = None
    scan: Scan | None = "frames"
    whole: bool = False


def _as_begun(wish: ReviewWish) -> _Counted:
    """How the session counts frames; as nobody says, where there is none that can be read."""
    try:
        facts = _head(wish.session or session_path(wish.footage))["footage"]
        return _Counted.model_validate(facts)
    except (LookupError, ValidationError):
        return _Counted(scan=None)


def _head(path: Path) -> dict[str, Any]:
    """The first line of a session, unchecked; empty where it cannot be read."""
    try:
        with path.open("rb") as file:
            head = json.loads(file.readline())
    except (OSError, ValueError):
        return {}  # whatever is amiss with the session is said when it is opened
    return head if isinstance(head, dict) else {}


def open_review(wish: ReviewWish, footage: Footage) -> Review:
    """Go on with the footage's session where it was left, or begin one.

    Raises SessionError or EventError; a session of other footage is refused.
    """
    path = wish.session or session_path(wish.footage)
    if os.path.exists(path):  # unlike ``Path.exists``, no error for too long a name
        finish_reading(path, footage)
        journal = Journal.reopen(path)
        try:
            _check_same(journal, wish, footage)
        except SessionError:
            journal.close()
            raise
    else:
        if wish.event is None:
            raise SessionError(
                f"There is no session {path} yet; add --event and the event to begin one: "
                f"{EVENT_CHOICE}."
            )
        journal = Journal.create(path, new_header(wish, footage))
    first = footage.time(0)
    review = Review(journal, footage.pts, lambda seconds: footage.frame_at(first + seconds))
    review.progress = lambda: footage.reading_words
    go_where_left(review)
    return review


def take_in(review: Review, footage: Footage) -> str | None:
    """Tell a review how far its footage is read by now; what to say once that is whole.

    Raises WriteRefused and SessionLost where the disk does not take the line that says so.
    """
    if not review.waits:
        return None
    if footage.failure:
        review.broken_off = footage.failure
        raise EntryRefused(footage.failure)
    if not footage.is_whole:
        review.footage_grew(footage_facts(footage))
        return None
    review.footage_read(footage_facts(footage))
    return (
        f"All of the footage is read: {footage.frames} frames, SHA-256 {footage.sha256[:12]}...; "
        "it can be ruled now."
    )


def finish_reading(path: Path, footage: Footage) -> None:
    """Complete a session that was begun while its footage was being read, and broken off then.

    Nothing is done to others. Raises SessionError where the file is not in the state that it was
    in: whether it is the same footage cannot be known.
    """
    if "reading" not in _head(path):
        return
    with Journal.reopen(path) as journal:
        reading = journal.recording.header.reading
        if reading is None:
            return
        if reading != _state(footage) or not footage.is_whole:
            raise SessionError(
                f"The session {path} was begun while {footage.path} was still being read, and the "
                "file was moved or changed since, so that nobody knows whether it is the same; "
                "name another session with --session."
            )
        journal.append(FootageRead(footage=footage_facts(footage)))


def _state(footage: Footage) -> FileState:
    stat = footage.path.stat()
    return FileState(modified_ns=stat.st_mtime_ns, changed_ns=stat.st_ctime_ns, inode=stat.st_ino)


def _check_same(journal: Journal, wish: ReviewWish, footage: Footage) -> None:
    header = journal.recording.header
    if header.footage.sha256 != footage.sha256:
        raise SessionError(
            f"The session {journal.path} is of other footage ({header.footage.name}, SHA-256 "
            f"{header.footage.sha256[:12]}...), not of {footage.path} ({footage.sha256[:12]}...); "
            "open that footage, or name another session with --session."
        )
    if header.footage.track != footage.track:
        raise SessionError(
            f"The session {journal.path} is of picture track {header.footage.track or 1} of the "
            f"footage, not {footage.track or 1}; leave --track out, or name another session with "
            "--session."
        )
    counted = (header.footage.scan, header.footage.whole)
    if counted != (footage.scan, footage.whole):
        raise SessionError(
            f"The session {journal.path} counts the frames of its footage otherwise (begun with "
            f"--scan {header.footage.scan}{' --whole' if header.footage.whole else ''}), so that "
            "numbers would mean other pictures; leave --scan and --whole out, or name another "
            "session with --session."
        )
    if wish.reviewer is not None and wish.reviewer != header.reviewer:
        raise SessionError(
            f'The session {journal.path} is that of reviewer "{header.reviewer}"; leave --reviewer '
            "out, or name another session with --session."
        )
    if wish.claim not in (Claim(), header.claim):
        raise SessionError(
            f"The session {journal.path} was begun with other words on the claim; leave --claim, "
            "--competitor and --claimed-time out, or name another session with --session."
        )
    if wish.event is not None and load_event(wish.event) != header.event:
        raise SessionError(
            f'The session {journal.path} is of the event "{header.event.name}" as it was defined '
            "then; leave --event out, or name another session with --session."
        )


def reviewer_code(named: str | None) -> str:
    """The reviewer's code: as named, else by the variable FRAMECALL_REVIEWER, else R1."""
    return named or os.environ.get("FRAMECALL_REVIEWER") or "R1"


def new_header(wish: ReviewWish, footage: Footage) -> Header:
    """The first line of a new session; raises SessionError where a code cannot be taken."""
    event = load_event(wish.event or "")
    try:
        return Header(
            made=utc_now(),
            program=f"framecall {version('framecall')}",
            footage=footage_facts(footage),
            event=event,
            claim=wish.claim,
            reviewer=reviewer_code(wish.reviewer),
            reading=None if footage.is_whole else _state(footage),
        )
    except ValidationError as error:
        raise SessionError(
            f"The session cannot be begun: {first_problem(error)}; give a code, --reviewer R1."
        ) from None


def footage_facts(footage: Footage) -> FootageFacts:
    """What a session keeps of the footage; its rate is known once all of it was read."""
    rate = footage.steady_rate if footage.is_whole else None
    facts = footage.facts
    return FootageFacts(
        name=os.fsencode(footage.name).decode("utf-8", "replace"),
        size_bytes=footage.size_bytes,
        sha256=footage.sha256,
        frames=footage.frames,
        time_base=str(footage.time_base),
        first_pts=footage.pts(0),
        last_pts=footage.pts(footage.frames - 1),
        nominal_rate=None if rate is None else str(rate),
        container=facts.container,
        codec=facts.codec,
        decoder=facts.decoder,
        declared_frames=facts.declared_frames,
        gaps=len(facts.gaps),
        start_timecode=facts.start_timecode,
        track=footage.track,
        scan=footage.scan,
        whole=footage.whole,
        joints=footage.index.joints,
        time_doubt=footage.time_doubt,
        capture_rate=None if rate is None else footage.capture_rate,
    )


def progress_line(say: Callable[[str], object] | None = None) -> Callable[[str, int, int], None]:
    """A progress callback for a person: one line on standard error, only in a terminal."""
    write = say or sys.stderr.write

    def show(what: str, done: int, total: int) -> None:
        if sys.stderr.isatty() and total:
            write(f"\r{what}: {100 * done // total} % ")
            if done >= total:
                write("\r" + " " * 40 + "\r")

    return show
