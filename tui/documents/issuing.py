"""Issuing a ruling: once issued it is never edited; a later one supersedes it and says why."""

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path

from pydantic import ValidationError

from sessions.docket.register import file_stem
from sessions.errors import DocumentError
from sessions.record.header import rfc3339
from sessions.record.journal import utc_now
from sessions.record.session import Session
from sessions.ruling.judge import rule
from sessions.ruling.ruling import Ruling, place_of
from sessions.settling.settlement import settled_points
from sessions.validation import first_problem
from tui.documents.clips import SLOWED, clip
from tui.documents.exhibits import Stills, WholePictures, plan, take_stills
from tui.documents.issued_files import Issued, issued_rulings, next_number, write_set
from tui.documents.league import League
from tui.documents.pages import ClipFacts, Exhibit, RulingDocument, Superseded
from tui.documents.render import html, text
from tui.documents.sources import (
    Listing,
    as_listed,
    check_same_footage,
    left_out,
    picture_facts,
    read_whole_session,
    session_facts,
)
from tui.documents.words import stories
from tui.footage.cache import Progress
from tui.footage.footage import Footage
from tui.footage.reader import FrameStore

_SMALL = (64, 36)
"""A size in pixels for the small pictures of a frame store, which no document needs."""


@dataclass(frozen=True, slots=True)
class IssueWish:
    """How to issue: ``reason`` is for a ruling that supersedes one; a draft rules nothing.

    ``anonymous`` leaves out the competitor's code and the names of files; ``clips`` adds evidence
    clips of every finding that is not in order; ``listing`` is of a claim in a docket.
    """

    league: League | None = None
    reason: str | None = None
    draft: bool = False
    anonymous: bool = False
    clips: bool = False
    listing: Listing | None = None


@dataclass(frozen=True, slots=True)
class Documents:
    """What was written: the document as data, and the paths of its files, the JSON file last."""

    document: RulingDocument
    paths: tuple[Path, ...]


def issue(
    session_path: Path,
    footage_path: Path,
    folder: Path,
    wish: IssueWish = IssueWish(),
    now: Callable[[], datetime] = utc_now,
    progress: Progress | None = None,
) -> Documents:
    """Issue the ruling of a session into a folder as HTML, plain text and JSON.

    ``progress`` is told of the footage that is read, and of "stills" and "clips" by their number.
    Raises SessionError, FootageError or DocumentError; then nothing has been written.
    """
    session, digest = read_whole_session(session_path)
    if wish.listing is not None:
        session = as_listed(session, wish.listing.claim)
    ruling = _ruled(session, session_path, wish)
    stem = _stem(session, session_path, wish.anonymous)
    number, supersedes = _place(folder, stem, session, wish)
    name = f"{stem}.draft" if number is None else f"{stem}.ruling-{number}"
    footage = Footage.counted_as(session.header.footage, footage_path, progress)
    check_same_footage(session, footage)
    with closing(FrameStore(footage, _SMALL)) as store:
        exhibits, pictures = _exhibits(ruling, footage, store, progress)
        document = RulingDocument(
            program=f"framecall {version('framecall')}",
            issued=rfc3339(now()),
            number=number,
            supersedes=supersedes,
            anonymous=wish.anonymous,
            league=wish.league,
            session=session_facts(session, session_path, digest, wish.anonymous),
            docket=None if wish.listing is None else wish.listing.facts,
            settled=settled_points(session, ruling),
            event=session.header.event,
            picture=picture_facts(footage),
            ruling=ruling,
            exhibits=exhibits,
        )
        clips = _clips(document, name, footage, store, progress) if wish.clips else {}
    return document_set(document, pictures, folder, name, clips)


def document_set(
    document: RulingDocument,
    pictures: Mapping[str, Stills],
    folder: Path,
    name: str,
    clips: Mapping[str, tuple[ClipFacts, bytes]] | None = None,
) -> Documents:
    """Write the page, the plain text and the data as ``name.html``, ``.txt`` and ``.json``.

    They appear together or not at all; DocumentError where they cannot be written, or where an
    issued ruling of the name is there already.
    """
    made = clips or {}
    document = document.model_copy(update={"clips": tuple(facts for facts, _ in made.values())})
    printed = {
        f"{name}.html": html(document, pictures).encode(),
        f"{name}.txt": text(document).encode(),
    }
    digests = {file: sha256(data).hexdigest() for file, data in printed.items()}
    document = document.model_copy(update={"printed": digests})
    files = {
        **printed,
        **{file: data for file, (_, data) in made.items()},
        f"{name}.json": as_json(document),
    }
    return Documents(document, write_set(folder, files, replace=document.draft))


def as_json(document: RulingDocument) -> bytes:
    """The document as JSON in ASCII, hidden characters as escapes."""
    return json.dumps(document.model_dump(mode="json"), indent=2).encode("ascii") + b"\n"


def _ruled(session: Session, path: Path, wish: IssueWish) -> Ruling:
    """The ruling that the document tells; DocumentError for an open one, unless for a draft."""
    ruling = rule(session)
    if not ruling.made and not wish.draft:
        raise DocumentError(
            f"The ruling of {path} is still open ({ruling.summary}); finish it on the bench, or "
            "make a draft with --draft."
        )
    if not wish.anonymous:
        return ruling
    division = "" if wish.listing is None else wish.listing.facts.division
    return left_out(session, ruling, wish.reason, division)


def _stem(session: Session, path: Path, anonymous: bool) -> str:
    claim = session.header.claim.id
    if claim is not None:
        return file_stem(claim)
    if anonymous:
        return f"footage-{session.header.footage.sha256[:12]}"
    return file_stem(path.name.removesuffix(".jsonl").removesuffix(".session"))


def _place(
    folder: Path, stem: str, session: Session, wish: IssueWish
) -> tuple[int | None, Superseded | None]:
    """The number of a new ruling, and the ruling that it supersedes; neither for a draft."""
    if wish.draft:
        return None, None
    issued = issued_rulings(folder, stem)
    if not issued:
        if wish.reason is not None:
            raise DocumentError(
                f"There is no earlier ruling {stem}.ruling-N in {folder} to supersede; name its "
                "folder with --out, or leave --reason out."
            )
        return next_number(folder, stem), None
    last = issued[-1]
    if last.document.ruling.claim.id != session.header.claim.id:
        raise DocumentError(
            f"The earlier ruling {last.path} is on another claim; name another folder with --out."
        )
    if not (wish.reason and wish.reason.strip()):
        raise DocumentError(
            f"Ruling {last.number} is issued already ({last.path}) and is never edited; to "
            "supersede it, give the reason with --reason."
        )
    return next_number(folder, stem), _superseded(last, wish.reason)


def _superseded(last: Issued, reason: str) -> Superseded:
    try:
        return Superseded(number=last.number, sha256=last.sha256, reason=reason)
    except ValidationError as error:
        raise DocumentError(
            f"The reason cannot be taken ({first_problem(error)}); put it in other words."
        ) from None


def _exhibits(
    ruling: Ruling, footage: Footage, source: WholePictures, progress: Progress | None
) -> tuple[tuple[Exhibit, ...], dict[str, Stills]]:
    planned = plan(ruling, lambda frame: place_of(ruling.footage, frame, footage.pts(frame)))
    aspect = footage.pixel_aspect
    told = _told("stills", planned, progress)
    taken = [take_stills(exhibit, source, aspect) for exhibit in told]
    return tuple(e for e, _ in taken), {e.name: pictures for e, pictures in taken}


def _clips(
    document: RulingDocument,
    name: str,
    footage: Footage,
    source: WholePictures,
    progress: Progress | None,
) -> dict[str, tuple[ClipFacts, bytes]]:
    """Clips of the exhibits of findings not in order, by file name."""
    made: dict[str, tuple[ClipFacts, bytes]] = {}
    for exhibit in _told("clips", _of_findings(document), progress):
        one = clip(exhibit, footage, source)
        for kind, data in (("mp4", one.mp4), ("webp", one.webp)):
            file = f"{name}.{exhibit.name}.{kind}"
            facts = ClipFacts(
                file=file, sha256=sha256(data).hexdigest(), exhibit=exhibit.name,
                first=one.first, last=one.last, slowed=SLOWED,
            )  # fmt: skip
            made[file] = facts, data
    return made


def _told(what: str, exhibits: Sequence[Exhibit], progress: Progress | None) -> Iterator[Exhibit]:
    """The exhibits one by one; progress is told before each of them and at the end."""
    for done, exhibit in enumerate(exhibits):
        if progress is not None:
            progress(what, done, len(exhibits))
        yield exhibit
    if progress is not None:
        progress(what, len(exhibits), len(exhibits))


def _of_findings(document: RulingDocument) -> list[Exhibit]:
    shown = {e.name for run in stories(document) for seen in run.seen for e in seen.exhibits}
    return [exhibit for exhibit in document.exhibits if exhibit.name in shown]
