"""A clip of footage: what it is, and when each of its frames is shown."""

import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from pathlib import Path

import numpy as np

from sessions.errors import FootageError
from sessions.evidence.frames import FrameSet
from sessions.record.header import FootageFacts
from tui.footage.cache import (
    FileIdentity,
    Progress,
    cache_folder,
    changed,
    fingerprint,
    keep,
    kept_fingerprint,
)
from tui.footage.decoder import Decoder
from tui.footage.facts import Facts, Probe, facts_of, probe, scanned_of, steady_rate
from tui.footage.fields import TOP_FIRST, WHOLE, Lines, Scan, orders, scan_of
from tui.footage.flaws import Checks, Flaw, FlawLedger, Pass
from tui.footage.growing import FirstReading
from tui.footage.index import FootageIndex
from tui.footage.indexing import index_of
from tui.footage.intake import check_file
from tui.footage.picture import Orientation

_SLOWED = Fraction(21, 20)  # a capture rate that is higher by a twentieth is slow motion
_SMALL = 64_000_000
"""Up to this many bytes, footage is read whole in a moment before it is shown."""


@dataclass(eq=False)
class Footage:
    """An opened clip: its fingerprint, its index and its facts. Decodes nothing by itself.

    One that was begun, not opened, may still be read: ``index`` and ``facts`` are then what is
    known of it so far, and ``sha256`` is empty.
    """

    path: Path
    identity: FileIdentity
    sha256: str
    index: FootageIndex
    facts: Facts
    width: int
    """Pixels across, as displayed after rotation."""
    height: int
    """Pixels down, as displayed after rotation."""
    orientation: Orientation
    probed: Probe
    """What its first picture told."""
    ledger: FlawLedger
    """The flaws found so far; pictures enter theirs as they are decoded."""
    track: int | None = None
    """The picture track that is judged, from 1; None where the file has no other."""
    scan: Scan = "frames"
    """Whether it is stepped by frame or by field; frames of fields are numbered one by one."""
    whole: bool = False
    """Whether what an edit list hides is shown."""
    read: FootageIndex | None = None
    """The index of whole pictures, as it was read."""
    shapes: dict[int, str] = field(default_factory=dict)
    """In what other shape than the first one the picture of a frame is, in words; by frame."""
    checks: Checks = field(default_factory=Checks)
    """What decoding all of it once has found so far."""
    checks_file: Path | None = None
    """Where that is kept."""
    reading: FirstReading | None = None
    """What reads it still, or did so; None where it was known from before."""
    listeners: list[Callable[[], None]] = field(default_factory=list)
    """Called from another thread when more frames have their numbers, when all was read, and
    when the reading was broken off."""

    @classmethod
    def open(
        cls,
        path: Path | str,
        cache_dir: Path | None = None,
        progress: Progress | None = None,
        track: int | None = None,
        scan: Scan | None = None,
        *,
        whole: bool = False,
    ) -> "Footage":
        """Take in a video file; FootageError, in one sentence, if it cannot be judged.

        Fingerprint and index are kept in ``cache_dir`` (default: the user's cache folder).
        ``track`` is the picture track, from 1, where the file has several; None takes the one
        that the file marks as its default, else the largest. ``scan`` is whether it is stepped by
        frame or by field; None does as the first pictures say. ``whole`` shows also what an edit
        list hides.
        """
        path, folder = Path(path), cache_dir or cache_folder()
        check_file(path)
        identity = FileIdentity.of(path)
        seen = probe(path, track, whole=whole)
        number = seen.track if seen.tracks > 1 else None
        sha256 = fingerprint(path, folder, progress)
        index = index_of(path, sha256, folder, progress, number, whole)
        if not index.frames:
            raise FootageError(f"{path} holds no frame that is shown; ask for the original.")
        footage = cls._of(path, identity, seen, index, scan, whole=whole)
        footage._finish(sha256, folder)
        return footage

    @classmethod
    def counted_as(
        cls, judged: FootageFacts, path: Path, progress: Progress | None = None
    ) -> "Footage":
        """The file at ``path``, its frames counted as in the session that says ``judged``."""
        return cls.open(
            path, progress=progress, track=judged.track, scan=judged.scan, whole=judged.whole
        )

    @classmethod
    def begin(
        cls,
        path: Path | str,
        cache_dir: Path | None = None,
        progress: Progress | None = None,
        track: int | None = None,
        scan: Scan | None = None,
        *,
        whole: bool = False,
    ) -> "Footage":
        """As ``open``, but the rest of the file is read behind, once its first frames are known.

        Where it was read before, where it is read in a moment, and where the order of its frames
        is known only at its end, it is whole when this returns.
        """
        path, folder = Path(path), cache_dir or cache_folder()
        check_file(path)
        identity = FileIdentity.of(path)
        if identity.size <= _SMALL or kept_fingerprint(identity, folder) is not None:
            return cls.open(path, folder, progress, track, scan, whole=whole)
        seen = probe(path, track, whole=whole)
        number = seen.track if seen.tracks > 1 else None
        footage: Footage | None = None

        def tell() -> None:
            if footage is not None:
                footage._grow(folder)

        reading = FirstReading(path, folder, number, tell, whole=whole)
        reading.wait(whole=False, progress=progress)
        index = reading.readout.index
        assert index is not None
        footage = cls._of(path, identity, seen, index, scan, whole=whole)
        footage.reading = reading
        footage._grow(folder)
        return footage

    @classmethod
    def _of(
        cls,
        path: Path,
        identity: FileIdentity,
        seen: Probe,
        read: FootageIndex,
        scan: Scan | None,
        *,
        whole: bool,
    ) -> "Footage":
        scan = scan or scan_of(scanned_of(read, seen.scanned))
        index = _stepped(read, seen, scan)
        width, height = seen.orientation.turned(seen.size)
        return cls(
            path=path,
            identity=identity,
            sha256="",
            index=index,
            facts=facts_of(seen, index),
            width=width,
            height=height,
            orientation=seen.orientation,
            ledger=FlawLedger(index),
            track=seen.track if seen.tracks > 1 else None,
            scan=scan,
            whole=whole,
            read=read,
            probed=seen,
        )

    def _finish(self, sha256: str, folder: Path) -> None:
        """Take in the fingerprint, and the checks that are kept under it."""
        number = "" if self.track is None else f"-{self.track}"
        number += "-whole" if self.whole else ""
        number += "" if self.scan == "frames" else f"-{self.scan}"
        self.checks_file = folder / "checks" / f"{sha256}{number}.json"
        with suppress(OSError):
            content = self.checks_file.read_bytes()
            self.checks = Checks.recalled(content, self.ledger, self.index.frames) or self.checks
        self.sha256 = sha256

    def _grow(self, folder: Path) -> None:
        """Take in what was read since, and say so."""
        with self._growing:
            reading, index = self.reading, self.reading.readout.index if self.reading else None
            if reading is None or index is None:
                return
            if index is not self.read:
                self.read, index = index, _stepped(index, self.probed, self.scan)
                self.ledger.grow(index)
                self.index, self.facts = index, facts_of(self.probed, index)
                for name in ("_joints", "_gaps", "steady_rate"):
                    self.__dict__.pop(name, None)
            if reading.readout.sha256 and not self.sha256:
                self._finish(reading.readout.sha256, folder)
        for listener in tuple(self.listeners):
            listener()

    @property
    def is_whole(self) -> bool:
        """Whether all of it was read, so that it has its fingerprint."""
        return bool(self.sha256)

    @property
    def failure(self) -> str:
        """Why the reading was broken off, in a sentence; empty where it was not."""
        return "" if self.reading is None else self.reading.readout.failure

    @property
    def reading_words(self) -> str:
        """How far it has been read, in words; empty once it is whole."""
        if self.is_whole or self.reading is None:
            return ""
        return f"read to frame {self.frames - 1}, {self.reading.percent} %"

    def read_on(self) -> None:
        """Have the rest read: its first picture is there."""
        if self.reading is not None:
            self.reading.go_on()

    def wait(self, progress: Progress | None = None) -> None:
        """Wait until it is whole; FootageError where the reading is broken off."""
        if self.reading is not None:
            self.reading.wait(whole=True, progress=progress)
            while not self.is_whole:
                time.sleep(0.001)  # the thread that read it takes it in

    def close(self) -> None:
        """Read no further."""
        if self.reading is not None:
            self.reading.close()

    @property
    def name(self) -> str:
        """The name of the file, without its folder."""
        return self.path.name

    @property
    def size_bytes(self) -> int:
        """The size of the file in bytes."""
        return self.identity.size

    @property
    def pixel_aspect(self) -> Fraction:
        """Width by height of one pixel, as displayed after rotation."""
        stored = self.facts.sample_aspect_ratio
        return 1 / stored if self.orientation.rotation % 180 else stored

    @property
    def frames(self) -> int:
        """How many frames are shown; they are numbered from 0."""
        return self.index.numbered

    @property
    def time_base(self) -> Fraction:
        """The unit of the time stamps in seconds."""
        return self.index.time_base

    def pts(self, frame: int) -> int:
        """The presentation time stamp of ``frame``, in units of ``time_base``."""
        return int(self.index.pts[self.checked(frame)])

    def time(self, frame: int) -> Fraction:
        """When ``frame`` begins to be shown, in seconds on the footage's own clock."""
        return self.pts(frame) * self.time_base

    def frame_at(self, seconds: Fraction) -> int:
        """The frame shown at ``seconds`` on the footage's own clock.

        Before the first frame it is the first, after the last the last.
        """
        stamp, index = seconds // self.time_base, self.index
        numbered = index.pts[: index.numbered]
        return max(0, int(np.searchsorted(numbered, stamp, "right")) - 1)

    @cached_property
    def steady_rate(self) -> Fraction | None:
        """The rate in frames a second that every time stamp keeps, if there is one."""
        return steady_rate(self.index, self.facts.nominal_rate)

    @property
    def capture_rate(self) -> str | None:
        """Frames a second that were taken, where the file tells of more than it shows."""
        shown, taken = self.steady_rate or self.facts.nominal_rate, self.facts.capture_rate
        return str(taken) if shown and taken and taken >= shown * _SLOWED else None

    @property
    def time_doubt(self) -> str:
        """Why the time stamps do not tell when frames were taken; empty where they do."""
        if self.is_whole and self.capture_rate and self.steady_rate is None:
            return "the file tells of slow motion, and its frames do not come at a steady rate"
        return self.index.lost_somewhere

    @property
    def steps_by_field(self) -> bool:
        """Whether its frames are fields, where pictures are of two."""
        return self.index.fields is not None

    def lines(self, frame: int) -> Lines | None:
        """The field that a frame shows; None where it is a whole picture."""
        kind = int(self.index.lines[self.checked(frame)])
        return None if kind == WHOLE else "top" if kind == TOP_FIRST else "bottom"

    def frame_words(self, frame: int) -> str:
        """What kind of picture a frame is, where not all are whole and of one shape."""
        words = list[str]()
        if self.steps_by_field:
            lines = self.lines(frame)
            words.append("whole picture" if lines is None else f"{lines} field")
        if frame in self.shapes:
            words.append(self.shapes[frame])
        return ", ".join(words)

    def arrival(self, frame: int) -> str:
        """What was passed over from the frame before to this one: a joint or a gap; else empty."""
        if frame in self._joints:
            return "another recording begins here"
        missing = self._gaps.get(frame)
        return f"after a gap of {round(missing * 1000)} ms" if missing is not None else ""

    @cached_property
    def _growing(self) -> threading.Lock:
        return threading.Lock()

    @cached_property
    def _joints(self) -> frozenset[int]:
        return frozenset(self.index.joints)

    @cached_property
    def _gaps(self) -> dict[int, Fraction]:
        return dict(self.facts.gaps)

    def checked(self, frame: int) -> int:
        """``frame`` itself; IndexError if the clip has no such frame."""
        if not 0 <= frame < self.frames:
            raise IndexError(f"{self.name} has frames 0 to {self.frames - 1}, not {frame}")
        return frame

    def decoder(self, *, hurries: bool = True) -> Decoder:
        """A new decoder for the clip; FootageError if the file has changed since it was opened.

        One that ``hurries`` not uses one thread, and knows all of each picture that it gives.
        """
        return Decoder(
            self.path,
            self.index,
            self.ledger,
            self.identity,
            hurries=hurries,
            track=self.track,
            whole=self.whole,
        )

    def check_kept(self) -> None:
        """FootageError if the file that decoders have open was written to since."""
        if self.identity.is_overwritten:
            raise changed(self.path)

    @property
    def damaged(self) -> FrameSet:
        """The frames that are not to be trusted, as far as that is found by now."""
        return FrameSet.of([(flaw.first, flaw.last) for flaw in self.ledger.flaws()])

    def check(
        self,
        progress: Callable[[int, int], None] | None = None,
        stop: Callable[[], bool] = lambda: False,
    ) -> tuple[Flaw, ...]:
        """Decode every frame once, by one thread, and list the flaws found.

        ``progress`` is told frames of frames. Ended early by ``stop``, it lists what has been
        found until then; once it is through, what it found is kept for the next opening.
        """
        if not self.checks.done and Pass(self).run(progress, stop) and self.checks_file:
            keep(self.checks_file, self.checks.encoded(self.ledger))
        return self.ledger.flaws()


def _stepped(read: FootageIndex, seen: Probe, scan: Scan) -> FootageIndex:
    """The index by frame or by field."""
    order = orders(scanned_of(read, seen.scanned), scan)
    return read if order is None else read.by_field(order)
