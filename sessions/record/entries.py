"""The entries of a session file: pydantic models that are the format.

The first line is the ``Header``: what is judged. Each later line is a ``Line``: an entry with its
sequence number, its time and the SHA-256 of the line before. Frames are counted from 0 in display
order; every frame is written with its presentation time stamp, so that the file can be judged
without opening the footage.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Annotated, Literal, Self

from pydantic import Field, field_serializer, field_validator, model_validator

from sessions.evidence.sighting import Sighting
from sessions.record.header import (
    MOST_FRAMES,
    Code,
    FootageFacts,
    Header,
    Instant,
    Seal,
    Sha256,
    TimeStamp,
    rfc3339,
)
from sessions.rules.moments import Side
from sessions.rules.rulebook import OTHER
from sessions.validation import Frozen

Frame = Annotated[int, Field(ge=0, lt=MOST_FRAMES)]
RunId = Annotated[int, Field(ge=1)]
Speed = Annotated[
    str | None,
    Field(
        pattern=r"^-?\d{1,3}(/\d{1,3})?$",
        description="the part of real speed at which the footage ran at the call; none: it stood",
    ),
]
Words = Annotated[str, Field(min_length=1, max_length=2000)]
Display = Annotated[str, Field(pattern=r"^\d{1,4}(\.\d{1,6})?$")]
"""A time in seconds with the digits that a display shows."""
NotShownWhat = Literal["start", "stop", "display", "table", "mark"]
"""What footage may fail to show: the clock's start, stop or display, part of the table, a mark."""


class Spot(Frozen):
    """A frame of the footage: its number from 0, and its time stamp in units of the time base."""

    frame: Frame
    pts: TimeStamp


class RunBegun(Frozen):
    """A run begins; ``sort`` says whether it counts."""

    kind: Literal["run-begun"] = "run-begun"
    run: RunId
    begins: Spot
    sort: Literal["attempt", "warm-up", "rearranging"] = "attempt"


class RunEnded(Frozen):
    """A run ends."""

    kind: Literal["run-ended"] = "run-ended"
    run: RunId
    ends: Spot


class _Bracketed(Frozen):
    """``after`` is ``null`` only where the bracket begins before the footage."""

    after: Spot | None = None
    by: Spot

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.after is not None and self.after.frame >= self.by.frame:
            raise ValueError(f"after ({self.after.frame}) must be before by ({self.by.frame})")
        return self

    @property
    def bracket(self) -> Sighting:
        """The bracket in frames; before the footage counts as frame -1."""
        return Sighting(-1 if self.after is None else self.after.frame, self.by.frame)


class Sighted(_Bracketed):
    """A moment seen: not yet in frame ``after``, surely so in frame ``by``."""

    kind: Literal["sighted"] = "sighted"
    run: RunId
    moment: Code
    hand: Side | None = None
    speed: Speed = None


class Look(Frozen):
    """A checkpoint looked at.

    ``proven``: frame ``by`` shows it met and what it is due for not yet begun. ``refuted``: the
    reverse. ``unproven``: both came somewhere in ``(after, by]``. ``hand`` names the hand at fault.
    """

    kind: Literal["look"] = "look"
    run: RunId
    checkpoint: Code
    saw: Literal["proven", "refuted", "unproven"]
    after: Spot | None = None
    by: Spot
    hand: Side | None = None
    speed: Speed = None

    @model_validator(mode="after")
    def _bracket_fits(self) -> Self:
        if self.saw == "unproven":
            if self.after is not None and self.after.frame >= self.by.frame:
                raise ValueError(f"after ({self.after.frame}) must be before by ({self.by.frame})")
        elif self.after is not None:
            raise ValueError(f"a look that saw it {self.saw} is one frame, without after")
        return self


class Reading(Frozen):
    """The display as read after the run, in seconds as it shows them."""

    kind: Literal["reading"] = "reading"
    run: RunId
    display: Display
    at: Spot


class Fumble(Frozen):
    """A stack falls or slides; ``fumble`` names it within the run."""

    kind: Literal["fumble"] = "fumble"
    run: RunId
    fumble: str = Field(pattern=r"^x[1-9]\d*$")
    stack: Code
    phase: Literal["up", "down"]
    at: Spot


class StartedOver(Frozen):
    """The whole event is started over while the clock runs."""

    kind: Literal["started-over"] = "started-over"
    run: RunId
    at: Spot


class CupsSeen(Frozen):
    """Maker's marks: seen in this frame (kept), never shown (broken), not to be told (unclear)."""

    kind: Literal["cups"] = "cups"
    cups: tuple[Annotated[int, Field(ge=1)], ...] = Field(min_length=1)
    saw: Literal["proven", "refuted", "unproven"]
    at: Spot


class ReadingAccepted(Frozen):
    """The reading ``display`` accepted, with the reason, though the picture contradicts it.

    It speaks of that reading alone: another, read later, is not accepted by it.
    """

    kind: Literal["reading-accepted"] = "reading-accepted"
    run: RunId
    display: Display
    reason: Words


class OtherFault(_Bracketed):
    """A rule that no checkpoint asks for was broken: one of the event file's, or another in words.

    ``refuted``: not yet in frame ``after``, surely so in frame ``by``. ``unproven``: the picture
    cannot tell whether it was broken there; the doubt is noted.
    """

    kind: Literal["other-fault"] = "other-fault"
    run: RunId
    rule: Code
    saw: Literal["refuted", "unproven"] = "refuted"
    reason: Words | None = None
    speed: Speed = None

    @model_validator(mode="after")
    def _another_has_its_reason(self) -> Self:
        if self.rule == OTHER and self.reason is None:
            raise ValueError("another rule than the listed ones needs its reason in words")
        return self


class NotShown(Frozen):
    """The footage does not show something that a ruling needs: frames ``first`` to ``last``.

    ``run`` names the run in which it is not shown; without it, it is in none of the footage.
    """

    kind: Literal["not-shown"] = "not-shown"
    run: RunId | None = None
    what: NotShownWhat
    first: Spot
    last: Spot
    reason: Words

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.first.frame > self.last.frame:
            raise ValueError(f"first ({self.first.frame}) is after last ({self.last.frame})")
        return self


class AttemptsBefore(Frozen):
    """Attempts that were used before this footage begins, and where that is known from."""

    kind: Literal["attempts-before"] = "attempts-before"
    attempts: int = Field(ge=1, le=99)
    source: Words


class CaptureRate(Frozen):
    """At how many frames a second the pictures were taken, and where that is known from."""

    kind: Literal["capture-rate"] = "capture-rate"
    rate: str = Field(pattern=r"^[1-9]\d{0,5}(\.\d{1,6}|/[1-9]\d{0,5})?$")
    source: Words


class Note(Frozen):
    """A remark at a frame."""

    kind: Literal["note"] = "note"
    run: RunId | None = None
    text: Words
    at: Spot


class Shown(Frozen):
    """Frames shown on the screen, as inclusive ranges.

    ``stamps`` are the time stamps of the first and last frame of each range. They tell how long
    the stretches between the ranges are; footage of one steady rate tells that without them.
    """

    kind: Literal["shown"] = "shown"
    ranges: tuple[tuple[Frame, Frame], ...] = Field(min_length=1)
    stamps: tuple[tuple[TimeStamp, TimeStamp], ...] = ()

    @field_validator("ranges")
    @classmethod
    def _in_order(cls, value: tuple[tuple[int, int], ...]) -> tuple[tuple[int, int], ...]:
        if any(first > last for first, last in value):
            raise ValueError("a range ends before it begins")
        return value

    @model_validator(mode="after")
    def _stamps_fit(self) -> Self:
        if self.stamps and len(self.stamps) != len(self.ranges):
            raise ValueError(f"{len(self.ranges)} ranges have {len(self.stamps)} pairs of stamps")
        return self


class Played(Frozen):
    """Footage played without a pause, at a part of real speed written as a fraction.

    ``drawn`` is how many different frames of it were really drawn; sessions begun before that was
    counted do not say.
    """

    kind: Literal["played"] = "played"
    first: Frame
    last: Frame
    speed: str = Field(pattern=r"^\d{1,3}(/\d{1,3})?$")
    drawn: int | None = Field(default=None, ge=0)


class Finished(Frozen):
    """The reviewer is done; whatever is tagged after this needs the review to be reopened.

    ``blind`` says whether no other review, claimed time or record had been shown until then.
    """

    kind: Literal["finished"] = "finished"
    blind: bool


class Reopened(Frozen):
    """A finished review is taken up again to amend it, with the reason."""

    kind: Literal["reopened"] = "reopened"
    reason: Words


class SettledReview(Frozen):
    """One review that a settlement rests on, by the SHA-256 of its session file."""

    reviewer: Code
    sha256: Sha256


class Settling(Frozen):
    """This session settles the differences of finished reviews."""

    kind: Literal["settling"] = "settling"
    reviews: tuple[SettledReview, ...] = Field(min_length=2)


class TakenOver(Frozen):
    """The reviewer's own findings on another claim's session of the same footage follow as copies.

    ``sha256`` is of the whole lines of that session's file.
    """

    kind: Literal["taken-over"] = "taken-over"
    claim: Code
    sha256: Sha256


class DifferenceSettled(Frozen):
    """One difference of the reviews settled: whose finding was taken, why, and at which frames.

    ``difference`` is its key among the differences of the reviews that ``Settling`` names;
    ``taken`` names a reviewer, or nobody where the settler looked again.
    """

    kind: Literal["difference-settled"] = "difference-settled"
    difference: Code
    taken: Code | None = None
    reason: Words
    at: tuple[Spot, ...] = ()


class FootageRead(Frozen):
    """All of the footage was read, and its fingerprint is known: this completes the header.

    It cannot be taken back, and nothing is ruled before it where the header waits for it.
    """

    kind: Literal["footage-read"] = "footage-read"
    footage: FootageFacts

    @model_validator(mode="after")
    def _has_fingerprint(self) -> Self:
        if not self.footage.sha256:
            raise ValueError("footage that was read has a fingerprint")
        return self


class Retracted(Frozen):
    """An earlier entry taken back; taking back a retraction brings its entry to life again.

    ``undo`` marks a step back or forth in the history, which is no deed of its own.
    """

    kind: Literal["retracted"] = "retracted"
    seq: int = Field(ge=1)
    undo: bool = False


Entry = Annotated[
    RunBegun
    | RunEnded
    | Sighted
    | Look
    | Reading
    | Fumble
    | StartedOver
    | CupsSeen
    | ReadingAccepted
    | OtherFault
    | NotShown
    | AttemptsBefore
    | CaptureRate
    | Note
    | Shown
    | Played
    | Finished
    | Reopened
    | Settling
    | TakenOver
    | DifferenceSettled
    | FootageRead
    | Retracted,
    Field(discriminator="kind"),
]


class Line(Frozen):
    """One line of the journal; ``replaces`` names the line that this one amends.

    ``more`` says how many lines of its deed follow: the lines that one key writes are one deed, and
    only the last of them says nothing.
    """

    seq: int = Field(ge=1)
    at: Instant
    prev: Sha256
    entry: Entry
    replaces: int | None = Field(default=None, ge=1)
    more: int | None = Field(
        default=None,
        ge=1,
        description="how many lines of the same deed follow; none: this line ends its deed",
    )
    seal: Seal = None

    @model_validator(mode="after")
    def _refers_back(self) -> Self:
        earlier = self.entry.seq if isinstance(self.entry, Retracted) else self.replaces
        if earlier is not None and earlier >= self.seq:
            raise ValueError(f"line {self.seq} refers to line {earlier}, which is not before it")
        return self

    @field_serializer("at")
    def _at(self, value: datetime) -> str:
        return rfc3339(value)


def completed(header: Header, lines: Iterable[Line]) -> Header:
    """The header as the first line that says that the footage was read completes it.

    One that waits for no such line, or for which none has come, is given back as it is.
    """
    if header.reading is None:
        return header
    read = next((line.entry for line in lines if isinstance(line.entry, FootageRead)), None)
    if read is None:
        return header
    return header.model_copy(update={"footage": read.footage, "reading": None})


def timed(header: Header, said: Sequence[CaptureRate]) -> Header:
    """The header with the capture rate that a reviewer says, and no time told where none can be.

    That is so where rates differ, and where the footage is not shown at a steady rate.
    """
    facts, rates = header.footage, sorted({entry.rate for entry in said})
    doubt = facts.time_doubt
    if len(rates) > 1:
        doubt = f"its capture rate is told differently ({', '.join(rates)} frames a second)"
    elif rates and facts.rate is None:
        doubt = f"it was taken at {rates[0]} frames a second, and is not shown at a steady rate"
    one = rates[0] if len(rates) == 1 else None
    sources = "; ".join(dict.fromkeys(entry.source.rstrip(".") for entry in said))
    now = {"said_rate": one, "said_source": sources if one else "", "time_doubt": doubt}
    return header.model_copy(update={"footage": facts.model_copy(update=now)})
