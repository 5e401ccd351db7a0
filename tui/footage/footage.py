"""A clip of footage: what it is, and when each of its frames is shown."""

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from pathlib import Path

import numpy as np

from sessions.errors import FootageError
from tui.footage.cache import FileIdentity, Progress, cache_folder, changed, fingerprint, keep
from tui.footage.decoder import Decoder
from tui.footage.facts import Facts, facts_of, probe, steady_rate
from tui.footage.flaws import Checks, Flaw, FlawLedger, Pass
from tui.footage.index import FootageIndex
from tui.footage.indexing import index_of
from tui.footage.intake import check_file
from tui.footage.picture import Orientation


@dataclass(frozen=True, eq=False)
class Footage:
    """An opened clip: its fingerprint, its index and its facts. Decodes nothing by itself."""

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
    ledger: FlawLedger
    """The flaws found so far; pictures enter theirs as they are decoded."""
    track: int | None = None
    """The picture track that is judged, from 1; None where the file has no other."""
    checks: Checks = field(default_factory=Checks)
    """What decoding all of it once has found so far."""
    checks_file: Path | None = None
    """Where that is kept."""

    @classmethod
    def open(
        cls,
        path: Path | str,
        cache_dir: Path | None = None,
        progress: Progress | None = None,
        track: int | None = None,
    ) -> "Footage":
        """Take in a video file; FootageError, in one sentence, if it cannot be judged.

        Fingerprint and index are kept in ``cache_dir`` (default: the user's cache folder).
        ``track`` is the picture track, from 1, where the file has several; None takes the one
        that the file marks as its default, else the largest.
        """
        path, folder = Path(path), cache_dir or cache_folder()
        check_file(path)
        identity = FileIdentity.of(path)
        seen = probe(path, track)
        number = seen.track if seen.tracks > 1 else None
        sha256 = fingerprint(path, folder, progress)
        index = index_of(path, sha256, folder, progress, number)
        if not index.frames:
            raise FootageError(f"{path} holds no frame that is shown; ask for the original.")
        width, height = seen.orientation.turned(seen.size)
        ledger = FlawLedger(index)
        kept = folder / "checks" / f"{sha256}{'' if number is None else f'-{number}'}.json"
        try:
            checks = Checks.recalled(kept.read_bytes(), ledger, index.frames)
        except OSError:
            checks = None
        return cls(
            path=path,
            identity=identity,
            sha256=sha256,
            index=index,
            facts=facts_of(seen, index),
            width=width,
            height=height,
            orientation=seen.orientation,
            ledger=ledger,
            track=number,
            checks=checks or Checks(),
            checks_file=kept,
        )

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
        return self.index.frames

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
        stamp = seconds // self.time_base
        return max(0, int(np.searchsorted(self.index.pts, stamp, "right")) - 1)

    @property
    def steady_rate(self) -> Fraction | None:
        """The rate in frames a second that every time stamp keeps, if there is one."""
        return steady_rate(self.index, self.facts.nominal_rate)

    @property
    def time_doubt(self) -> str:
        """Why the time stamps do not tell when frames were taken; empty where they do."""
        return self.index.lost_somewhere

    def arrival(self, frame: int) -> str:
        """What was passed over from the frame before to this one: a joint or a gap; else empty."""
        if frame in self._joints:
            return "another recording begins here"
        missing = self._gaps.get(frame)
        return f"after a gap of {round(missing * 1000)} ms" if missing is not None else ""

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
            self.path, self.index, self.ledger, self.identity, hurries=hurries, track=self.track
        )

    def check_kept(self) -> None:
        """FootageError if the file that decoders have open was written to since."""
        if self.identity.is_overwritten:
            raise changed(self.path)

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
