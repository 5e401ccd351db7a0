"""The document as data: its JSON file, from which the page and the plain text are made.

Frames are counted from 0 in display order; a box is in pixels of the whole picture as displayed.
"""

from typing import Literal

from pydantic import Field

from sessions.record.entries import SettledReview, TakenOver
from sessions.record.header import Sha256
from sessions.record.role import Amendment
from sessions.rules.events import EventDefinition
from sessions.ruling.ruling import Place, Ruling
from sessions.settling.settlement import SettledPoint
from sessions.validation import Frozen
from tui.documents.league import League

STILL = "still"
"""The speed of a call that was made while the footage stood."""


class Box(Frozen):
    """A part of a picture: its left upper corner and its size in pixels."""

    x: int
    y: int
    width: int
    height: int


class Shot(Frozen):
    """One frame of an exhibit.

    ``says`` is what was seen in it, ``flaw`` why its picture is not to be trusted, if it is not.
    """

    place: Place
    says: tuple[str, ...] = ()
    flaw: str | None = None


class Exhibit(Frozen):
    """Two frames that show a finding, or the start or stop of a run; ``crop`` is where they differ.

    Every exhibit of a document has another ``name``.
    """

    name: str
    run: int
    checkpoint: str
    moment: str
    shots: tuple[Shot, Shot]
    size: tuple[int, int] = (0, 0)
    crop: Box | None = None

    @property
    def between(self) -> int:
        """How many frames lie between the two and are not shown."""
        first, last = self.shots
        return last.place.frame - first.place.frame - 1


class SessionFacts(Frozen):
    """The session that the document rests on; ``withdrawn`` entries were taken back or amended.

    ``blind`` is whether no other review, claimed time or record had been shown until ``finished``;
    ``amended`` is what was changed after that. ``settles`` names the reviews that the session
    settles. ``calls`` counts the calls by the speed at which they were made, as a part of real
    speed (``STILL``: the footage stood). ``unseen`` are the frames that were never shown,
    ``real_speed`` those that were played at real speed; ``real_speed_drawn`` counts the pictures
    that were drawn then, where the session says so. ``taken_over`` names the claim from which the
    reviewer took over their own tags at the beginning, if they did.
    """

    file: str
    sha256: Sha256
    program: str
    begun: str
    entries: int
    first_entry: str | None
    last_entry: str | None
    withdrawn: int
    finished: str | None
    blind: bool | None
    amended: tuple[Amendment, ...] = ()
    settles: tuple[SettledReview, ...]
    calls: tuple[tuple[str, int], ...]
    unseen: tuple[tuple[int, int], ...]
    real_speed: tuple[tuple[int, int], ...]
    real_speed_drawn: int | None = None
    taken_over: TakenOver | None = None


class ReviewFacts(Frozen):
    """One review of the docket behind the ruling; fields as in ``SessionFacts``.

    ``shown`` is how many frames were shown to this reviewer, ``claimed`` whether the review has a
    run that reads the claimed time; ``None`` in documents of earlier versions.
    """

    reviewer: str
    sha256: Sha256
    begun: str
    finished: str | None
    blind: bool | None
    taken_over: TakenOver | None = None
    amended: tuple[Amendment, ...] = ()
    shown: int | None = None
    claimed: bool | None = None


class RecordHeld(Frozen):
    """A record that stood: its time in seconds, its holder's code and the day of the performance.

    Holder and day are ``None`` where they are not known, and the holder in an anonymous copy.
    """

    time: str
    holder: str | None = None
    day: str | None = None


class NewRecord(Frozen):
    """The record that a ruling makes: its time in seconds, and who held it ``before``.

    A time equal to theirs shares the record.
    """

    time: str
    before: tuple[RecordHeld, ...]


class DocketFacts(Frozen):
    """What a docket knows of the claim: its place, the time to beat, and the reviews that count.

    ``claims_sha256`` is of the claims file; ``reviews`` are all but the one that settled others.
    ``new_record`` is the record that the ruling makes by the league's list and the rulings issued
    before, if it makes one.
    """

    division: str
    record: str
    claims_sha256: Sha256
    reviews: tuple[ReviewFacts, ...]
    new_record: NewRecord | None = None


class FootageNote(Frozen):
    """One thing that was found in the footage: of which kind and weight, where, what it means."""

    kind: str
    weight: str
    found: str
    means: str


class PictureFacts(Frozen):
    """How the stills were decoded, and what the footage declares of its pictures."""

    size: tuple[int, int]
    pixel_aspect: str
    pixel_format: str
    matrix: str
    matrix_assumed: bool
    full_range: bool
    range_assumed: bool
    scan: str
    rotation: int
    declared_rate: str | None
    decoder: str
    stills: str
    found: tuple[FootageNote, ...] = ()


class ClipFacts(Frozen):
    """An evidence clip, frames ``first`` to ``last``, that runs ``slowed`` times slower."""

    file: str
    sha256: Sha256
    exhibit: str
    first: int
    last: int
    slowed: int


class Superseded(Frozen):
    """The ruling that this one replaces; ``sha256`` is that of its JSON file."""

    number: int = Field(ge=1)
    sha256: Sha256
    reason: str = Field(min_length=1, max_length=2000)


class RulingDocument(Frozen):
    """Everything that a ruling document says; ``number`` is ``None`` for a draft.

    ``printed`` holds the SHA-256 of the two files that say the same in print, by name: the page
    and the plain text.
    """

    format: Literal["framecall-ruling-document"] = "framecall-ruling-document"
    version: Literal[1] = 1
    program: str
    issued: str
    number: int | None = Field(ge=1)
    supersedes: Superseded | None = None
    anonymous: bool = False
    league: League | None = None
    session: SessionFacts
    docket: DocketFacts | None = None
    settled: tuple[SettledPoint, ...] = ()
    event: EventDefinition
    picture: PictureFacts
    ruling: Ruling
    exhibits: tuple[Exhibit, ...]
    clips: tuple[ClipFacts, ...] = ()
    printed: dict[str, Sha256] = Field(default_factory=dict)

    @property
    def draft(self) -> bool:
        """Whether this is a draft, which rules nothing."""
        return self.number is None
