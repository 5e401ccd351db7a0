"""What a document is made from: the session and the footage, each checked to be the right one."""

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from sessions.errors import DocumentError, SessionError
from sessions.evidence.frames import FrameSet
from sessions.record.entries import Finished, Look, Played, Sighted, TakenOver
from sessions.record.header import Claim, rfc3339
from sessions.record.recording import read_session
from sessions.record.role import amendments, settled_reviews
from sessions.record.session import Session, dead_lines, fold
from sessions.ruling.ruling import Ruling
from sessions.settling.settlement import settled_points
from tui.documents.exhibits import how_stills_are_made
from tui.documents.pages import STILL, DocketFacts, FootageNote, PictureFacts, SessionFacts
from tui.footage.cache import sha256_of
from tui.footage.fitness import fitness
from tui.footage.footage import Footage

LEFT_OUT = "left out of this copy"


@dataclass(frozen=True, slots=True)
class Listing:
    """A claim as a docket lists it, and what else the docket knows; a session may hide both."""

    claim: Claim
    facts: DocketFacts


def as_listed(session: Session, claim: Claim) -> Session:
    """A session as one on the whole claim: a blind review was begun with its id alone."""
    return replace(session, header=session.header.model_copy(update={"claim": claim}))


def read_whole_session(path: Path) -> tuple[Session, str]:
    """A session and the SHA-256 of its file; one whose end is damaged is refused.

    Raises SessionError.
    """
    recording = read_session(path)
    if recording.torn:
        raise SessionError(
            f"The session file {path} ends in a line that was torn; open it once on the bench, "
            "which drops that line, then issue."
        )
    if recording.mended:  # its bytes are not those of its fingerprint
        raise SessionError(
            f"The session file {path} lacks the end of its last line; open it once on the bench, "
            "which puts that back, then issue."
        )
    return fold(recording.header, recording.lines), recording.sha256


def check_same_footage(session: Session, footage: Footage) -> None:
    """Refuse footage that was not judged; its file is read afresh. Raises DocumentError."""
    judged = session.header.footage
    found = sha256_of(footage.path)
    if found != judged.sha256:
        raise DocumentError(
            f"{footage.path} is not the footage that was judged: its SHA-256 is {found[:12]}..., "
            f"the session says {judged.sha256[:12]}...; name the right file with --footage."
        )
    for run in session.runs:
        for spot in run.spots:
            if spot.frame >= footage.frames or footage.pts(spot.frame) != spot.pts:
                raise DocumentError(
                    f"Frame {spot.frame} of {footage.path} has another time stamp than the session "
                    "says, so a still could show another picture; issue with the program version "
                    f"that tagged it ({session.header.program})."
                )


def session_facts(session: Session, path: Path, digest: str, anonymous: bool) -> SessionFacts:
    """The facts of a session file for the record."""
    times = [rfc3339(line.at) for line in session.lines]
    entries = [line.entry for line in session.live]
    done = [line for line in session.live if isinstance(line.entry, Finished)]
    calls = Counter(e.speed or STILL for e in entries if isinstance(e, Look | Sighted))
    real = [e for e in entries if isinstance(e, Played) and e.speed == "1"]
    drawn = [e.drawn for e in real if e.drawn is not None]
    return SessionFacts(
        file=LEFT_OUT if anonymous else path.name,
        sha256=digest,
        program=session.header.program,
        begun=rfc3339(session.header.made),
        entries=len(session.lines),
        first_entry=times[0] if times else None,
        last_entry=times[-1] if times else None,
        withdrawn=len(dead_lines(session.lines)),
        finished=rfc3339(done[0].at) if done else None,
        blind=_is_blind(session),
        amended=amendments(session),
        settles=settled_reviews(session),
        calls=tuple(sorted(calls.items())),
        real_speed=FrameSet.of([(e.first, e.last) for e in real]).ranges,
        real_speed_drawn=sum(drawn) if drawn and len(drawn) == len(real) else None,
        unseen=session.unseen.ranges,
        taken_over=next((e for e in entries if isinstance(e, TakenOver)), None),
    )


def _is_blind(session: Session) -> bool | None:
    """Whether a review was blind until it was first finished; ``None`` where it never was."""
    done = (line.entry for line in session.lines if isinstance(line.entry, Finished))
    first = next(done, None)
    return None if first is None else first.blind


def picture_facts(footage: Footage) -> PictureFacts:
    """How the pictures of the stills were decoded."""
    facts = footage.facts
    rate = facts.nominal_rate
    aspect = footage.pixel_aspect
    return PictureFacts(
        size=(footage.width, footage.height),
        pixel_aspect=f"{aspect.numerator}:{aspect.denominator}",
        pixel_format=facts.pixel_format,
        matrix=facts.matrix,
        matrix_assumed=facts.matrix_assumed,
        full_range=facts.full_range,
        range_assumed=facts.range_assumed,
        scan=facts.scan,
        rotation=facts.rotation,
        declared_rate=str(rate) if rate else None,
        decoder=facts.decoder,
        stills=how_stills_are_made(),
        found=tuple(
            FootageNote(kind=n.kind, weight=n.weight, found=n.found, means=n.means)
            for n in fitness(footage).notes
        ),
    )


def left_out(session: Session, ruling: Ruling, reason: str | None, division: str = "") -> Ruling:
    """A ruling without the competitor's code and the footage's name.

    ``reason`` is that of superseding an earlier ruling, ``division`` that of a listed claim.
    Raises DocumentError where the code stands in a text that the document must keep.
    """
    code = ruling.claim.competitor
    if code is not None:
        texts = {"the reason": reason or "", "the division": division}
        _check_absent(code, texts | _words_of(session, ruling))
    return ruling.model_copy(
        update={
            "claim": ruling.claim.model_copy(update={"competitor": None}),
            "footage": ruling.footage.model_copy(update={"name": LEFT_OUT}),
        }
    )


def _words_of(session: Session, ruling: Ruling) -> dict[str, str]:
    """The texts of a session that a document keeps, by where they stand."""
    kept = {
        "the claim's id": session.header.claim.id or "",
        "the reviewer's code": session.header.reviewer,
    }
    for number, amendment in enumerate(amendments(session), 1):
        kept[f"the reason of amendment {number}"] = amendment.reason
    for point in settled_points(session, ruling):
        kept[f'the reason for settling "{point.title}"'] = point.reason
    for run in session.runs:
        for accepted in run.accepted:  # all that the file holds, not only what counts
            kept[f"the reason for accepting the reading of run {run.id}"] = accepted.reason
    return kept


def _check_absent(code: str, texts: Mapping[str, str]) -> None:
    word = re.compile(rf"(?<!\w){re.escape(code)}(?!\w)", re.IGNORECASE)
    for place, text in texts.items():
        if word.search(text):
            raise DocumentError(
                f"A copy without the competitor's code cannot be made, because the code stands in "
                f"{place}; issue without --anonymous."
            )
