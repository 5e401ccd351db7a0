"""The first line of a session file: what is judged, under which rules, by whom."""

from datetime import UTC, datetime
from fractions import Fraction
from functools import cached_property
from typing import Annotated, Literal, Self

from pydantic import (
    AfterValidator,
    AwareDatetime,
    Field,
    field_serializer,
    field_validator,
    model_validator,
)

from sessions.evidence.timecode import day_of, frame_of, label
from sessions.exact import exact
from sessions.rules.events import EventDefinition
from sessions.validation import Frozen

Code = Annotated[str, Field(min_length=1, max_length=80)]
Sha256 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


def _in_utc(moment: datetime) -> datetime:
    """The same instant in UTC, which the first and last days of the calendar may not have."""
    try:
        return moment.astimezone(UTC)
    except OverflowError:
        raise ValueError(f"{moment} is beyond the calendar in UTC") from None


Instant = Annotated[AwareDatetime, AfterValidator(_in_utc)]
"""A date and time with its zone, kept in UTC."""
MOST_FRAMES = 2**31
"""Frames of footage that a session can be of: 24 days at 1,000 a second."""
TimeStamp = Annotated[int, Field(ge=-(2**63), lt=2**63)]
"""A time stamp in units of the time base: containers hold 64 bits."""
Seal = Annotated[
    Sha256 | None,
    Field(description="SHA-256 of the line as it is without its seal, which comes last"),
]


class FootageFacts(Frozen):
    """The footage as it was at intake.

    ``time_base`` is in seconds, written as a fraction; ``first_pts`` and ``last_pts`` are the time
    stamps of the first and the last frame (none where it is not known); ``nominal_rate``, in frames
    a second, only where the time stamps keep it throughout; ``gaps`` counts the gaps in time.
    ``start_timecode`` is the label that the recorder gave the first frame. ``track`` numbers the
    picture track from 1, where the file holds several.

    ``scan`` says what the frames are that are numbered: "frames" are whole pictures; with "fields"
    each field of a picture of two is a frame, in the order that the picture itself tells, with
    "top" and "bottom" in this order throughout. ``whole`` says that what an edit list hides is
    numbered too. Numbers mean the same only where track, ``scan`` and ``whole`` are the same.

    ``joints`` names the first frame of each further recording, where the footage is several that
    were put one after the other. After a joint the time stamps go on by one usual interval, so
    that they still rise; how much time went by there is not known. ``time_doubt`` says why the
    time stamps do not tell when frames were recorded; it is empty where nothing speaks against
    them.

    ``capture_rate`` is how many frames a second were taken, where the file tells of slow motion.
    ``said_rate`` is what a reviewer says of it, and ``said_source`` how they know; both stand in no
    header, only in what a session comes to.

    ``sha256`` is empty only in the header of a session that was begun while its footage was still
    being read; ``frames``, ``last_pts``, ``nominal_rate``, ``gaps``, ``joints`` and ``time_doubt``
    are then what was known of the footage by that time.
    """

    name: str
    size_bytes: int = Field(ge=1)
    sha256: Annotated[str, Field(pattern=r"^([0-9a-f]{64})?$")]
    frames: int = Field(ge=1, le=MOST_FRAMES)
    time_base: str
    first_pts: TimeStamp
    last_pts: TimeStamp | None = None
    nominal_rate: str | None = None
    container: str = ""
    codec: str = ""
    decoder: str = ""
    declared_frames: int | None = None
    gaps: int = 0
    start_timecode: str | None = Field(default=None, pattern=r"^\d\d:\d\d:\d\d[:;]\d\d$")
    track: int | None = Field(default=None, ge=1)
    scan: Literal["frames", "fields", "top", "bottom"] = "frames"
    whole: bool = False
    joints: tuple[Annotated[int, Field(ge=1)], ...] = ()
    time_doubt: str = ""
    capture_rate: str | None = None
    said_rate: str | None = None
    said_source: str = ""

    @field_validator("joints")
    @classmethod
    def _rises(cls, value: tuple[int, ...]) -> tuple[int, ...]:
        if list(value) != sorted(set(value)):
            raise ValueError("the joints are not in rising order")
        return value

    @field_validator("time_base", "nominal_rate", "capture_rate", "said_rate")
    @classmethod
    def _is_fraction(cls, value: str | None) -> str | None:
        if value is not None and exact(value) <= 0:
            raise ValueError(f'"{value}" is not above 0')
        return value

    def timecode(self, frame: int) -> str | None:
        """The time code of a frame, where the footage keeps a rate of at least one a second."""
        rate = self._label_rate
        if rate is None or rate < 1:
            return None
        return label(frame // self._per_label + self._first_label, rate, drops=self._drops)

    def frame_of(self, timecode: str) -> int | None:
        """The first frame that bears a time code; ``None`` where no frame does."""
        rate = self._label_rate
        if rate is None or rate < 1:
            return None
        found = frame_of(timecode, rate, drops=self._drops)
        if found is None:
            return None
        # labels begin again after a day
        return (found - self._first_label) % day_of(rate, drops=self._drops) * self._per_label

    def counts_as(self, other: "FootageFacts") -> bool:
        """Whether a frame's number means the same in both: the same bytes, counted alike."""
        mine = (self.sha256, self.track, self.scan, self.whole)
        return mine == (other.sha256, other.track, other.scan, other.whole)

    def joint_between(self, first: int, last: int) -> int | None:
        """The first joint that lies after frame ``first`` and not after frame ``last``."""
        return next((joint for joint in self.joints if first < joint <= last), None)

    @property
    def _drops(self) -> bool:
        return self.start_timecode is None or ";" in self.start_timecode

    @cached_property
    def _first_label(self) -> int:
        """How many labels of the day come before that of the first frame."""
        rate = self._label_rate
        if self.start_timecode is None or rate is None:
            return 0
        return frame_of(self.start_timecode, rate, drops=self._drops) or 0

    @property
    def _per_label(self) -> int:
        """How many frames bear one label: time codes number pictures, not their fields."""
        return 1 if self.scan == "frames" else 2

    @property
    def _label_rate(self) -> Fraction | None:
        return None if self._rate is None else self._rate / self._per_label

    @property
    def rate(self) -> Fraction | None:
        """Frames a second, where the footage keeps one rate throughout."""
        return self._rate

    @cached_property
    def _rate(self) -> Fraction | None:
        return exact(self.nominal_rate) if self.nominal_rate else None

    def seconds(self, pts: int) -> Fraction:
        """Seconds from the first frame to a time stamp, as the footage is shown."""
        return (pts - self.first_pts) * self._tick

    def lived(self, pts: int) -> Fraction:
        """Seconds that went by, from the first frame to a time stamp, where pictures were taken."""
        return self.seconds(pts) / self.slowed

    @cached_property
    def slowed(self) -> Fraction:
        """How many times slower than life the footage is shown; 1 where nothing says so."""
        taken = self.said_rate or self.capture_rate
        return exact(taken) / self._rate if taken and self._rate else Fraction(1)

    @property
    def slowed_words(self) -> str:
        """That times are not those of the time stamps, and who says so; empty where they are."""
        if self.slowed == 1 and self.said_rate is None:
            return ""
        said = f"the reviewer says ({self.said_source})" if self.said_rate else "the file says"
        return (
            f"taken at {self.said_rate or self.capture_rate} frames a second and shown at "
            f"{self.nominal_rate}, as {said}: times are the stamps' divided by {self.slowed}"
        )

    @cached_property
    def _tick(self) -> Fraction:
        return exact(self.time_base)


class FileState(Frozen):
    """In which state a file was read: nanoseconds since 1970, and its number on its disk.

    ``modified_ns`` is when its content changed last, ``changed_ns`` when anything of it did.
    """

    modified_ns: int
    changed_ns: int
    inode: int


class Claim(Frozen):
    """The claim in question: codes, not names, are enough."""

    id: Code | None = None
    competitor: Code | None = None
    time: str | None = Field(default=None, pattern=r"^\d{1,4}(\.\d{1,6})?$")


class Header(Frozen):
    """The first line: what is judged, under which rules, by whom.

    ``reading`` stands only where the session was begun while the footage was still being read: it
    says which state of the file that was. A line of the kind "footage-read" completes the header.
    """

    format: Literal["framecall-session"] = "framecall-session"
    version: Literal[2] = 2
    made: Instant
    program: str
    footage: FootageFacts
    event: EventDefinition
    claim: Claim = Claim()
    reviewer: Code
    reading: FileState | None = None
    seal: Seal = None

    @model_validator(mode="after")
    def _is_whole_or_says_not(self) -> Self:
        if self.footage.said_rate is not None:
            raise ValueError("what a reviewer says of the capture rate is an entry")
        if bool(self.footage.sha256) == (self.reading is not None):
            raise ValueError(
                "either the fingerprint of the footage is known, or the header says which state "
                "of the file was being read"
            )
        return self

    @field_serializer("made")
    def _made(self, value: datetime) -> str:
        return rfc3339(value)


def rfc3339(moment: datetime) -> str:
    """A date and time in UTC as RFC 3339 writes it, to the microsecond."""
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")
