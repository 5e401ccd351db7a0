"""The entries of a session file: pydantic models that are the format.

The first line is the ``Header``: what is judged. Each later line is a ``Line``: an entry with its
sequence number, its time and the SHA-256 of the line before. Frames are counted from 0 in display
order; every frame is written with its presentation time stamp, so that the file can be judged
without opening the footage.
"""

from datetime import UTC, datetime
from fractions import Fraction
from typing import Annotated, Literal, Self

from pydantic import AwareDatetime, Field, field_serializer, field_validator, model_validator

from sessions.events import EventDefinition
from sessions.frozen import Frozen
from sessions.moments import Side
from sessions.sighting import Sighting

Code = Annotated[str, Field(min_length=1, max_length=80)]
Sha256 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Frame = Annotated[int, Field(ge=0)]
RunId = Annotated[int, Field(ge=1)]
Words = Annotated[str, Field(min_length=1, max_length=2000)]


class Spot(Frozen):
    """A frame of the footage: its number from 0, and its time stamp in units of the time base."""

    frame: Frame
    pts: int


class FootageFacts(Frozen):
    """The footage as it was at intake.

    ``time_base`` is in seconds, written as a fraction; ``nominal_rate``, in frames a second, only
    where the time stamps keep it throughout; ``gaps`` counts the gaps in time.
    """

    name: str
    size_bytes: int = Field(ge=1)
    sha256: Sha256
    frames: int = Field(ge=1)
    time_base: str
    first_pts: int
    nominal_rate: str | None = None
    container: str = ""
    codec: str = ""
    decoder: str = ""
    declared_frames: int | None = None
    gaps: int = 0

    @field_validator("time_base", "nominal_rate")
    @classmethod
    def _is_fraction(cls, value: str | None) -> str | None:
        try:
            is_positive = value is None or Fraction(value) > 0
        except ZeroDivisionError:
            is_positive = False
        if not is_positive:
            raise ValueError(f'"{value}" is not above 0')
        return value

    def seconds(self, pts: int) -> Fraction:
        """Seconds from the first frame to a time stamp."""
        return (pts - self.first_pts) * Fraction(self.time_base)


class Claim(Frozen):
    """The claim in question: codes, not names, are enough."""

    id: Code | None = None
    competitor: Code | None = None
    time: str | None = Field(default=None, pattern=r"^\d{1,4}(\.\d{1,6})?$")


class Header(Frozen):
    """The first line: what is judged, under which rules, by whom."""

    format: Literal["framecall-session"] = "framecall-session"
    version: Literal[1] = 1
    made: AwareDatetime
    program: str
    footage: FootageFacts
    event: EventDefinition
    claim: Claim = Claim()
    reviewer: Code

    @field_serializer("made")
    def _made(self, value: datetime) -> str:
        return rfc3339(value)


class RunBegun(Frozen):
    """A run opens; ``sort`` says whether it counts."""

    kind: Literal["run-begun"] = "run-begun"
    run: RunId
    begins: Spot
    sort: Literal["attempt", "warm-up", "rearranging"] = "attempt"


class RunEnded(Frozen):
    """A run closes."""

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


class Look(Frozen):
    """A checkpoint looked at.

    ``kept``: frame ``by`` shows it met and what it is due for not yet begun. ``broken``: the
    reverse. ``unclear``: both came somewhere in ``(after, by]``. ``hand`` names the hand at fault.
    """

    kind: Literal["look"] = "look"
    run: RunId
    rung: Code
    saw: Literal["kept", "broken", "unclear"]
    after: Spot | None = None
    by: Spot
    hand: Side | None = None

    @model_validator(mode="after")
    def _bracket_fits(self) -> Self:
        if self.saw == "unclear":
            if self.after is not None and self.after.frame >= self.by.frame:
                raise ValueError(f"after ({self.after.frame}) must be before by ({self.by.frame})")
        elif self.after is not None:
            raise ValueError(f"a look that saw it {self.saw} is one frame, without after")
        return self


class Reading(Frozen):
    """The display as read after the run, in seconds as it shows them."""

    kind: Literal["reading"] = "reading"
    run: RunId
    display: str = Field(pattern=r"^\d{1,4}(\.\d{1,6})?$")
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
    saw: Literal["kept", "broken", "unclear"]
    at: Spot


class ClockSettled(Frozen):
    """A contradiction of display and picture settled, with the reason."""

    kind: Literal["clock-settled"] = "clock-settled"
    run: RunId
    reason: Words


class Note(Frozen):
    """A remark at a frame."""

    kind: Literal["note"] = "note"
    run: RunId | None = None
    text: Words
    at: Spot


class Shown(Frozen):
    """Frames shown on the screen, as inclusive ranges."""

    kind: Literal["shown"] = "shown"
    ranges: tuple[tuple[Frame, Frame], ...] = Field(min_length=1)

    @field_validator("ranges")
    @classmethod
    def _in_order(cls, value: tuple[tuple[int, int], ...]) -> tuple[tuple[int, int], ...]:
        if any(first > last for first, last in value):
            raise ValueError("a range ends before it begins")
        return value


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
    | ClockSettled
    | Note
    | Shown
    | Retracted,
    Field(discriminator="kind"),
]


class Line(Frozen):
    """One line of the journal; ``replaces`` names the line that this one amends."""

    seq: int = Field(ge=1)
    at: AwareDatetime
    prev: Sha256
    entry: Entry
    replaces: int | None = Field(default=None, ge=1)

    @model_validator(mode="after")
    def _refers_back(self) -> Self:
        earlier = self.entry.seq if isinstance(self.entry, Retracted) else self.replaces
        if earlier is not None and earlier >= self.seq:
            raise ValueError(f"line {self.seq} refers to line {earlier}, which is not before it")
        return self

    @field_serializer("at")
    def _at(self, value: datetime) -> str:
        return rfc3339(value)


def rfc3339(moment: datetime) -> str:
    """A date and time in UTC as RFC 3339 writes it, to the microsecond."""
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")
