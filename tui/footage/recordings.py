"""Where footage consists of several recordings, put one after the other.

Within one recording the clock of decoding never runs back, and never far ahead. Whole files that
were written one behind the other are told apart by their heads; streams that were joined without
new heads, by their clocks. Limits were tried on 343 clips of one recording without a false joint.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tui.footage.intake import boxes

Integers = npt.NDArray[np.int64]
Booleans = npt.NDArray[np.bool_]

NO_STAMP = -(1 << 62)
"""Stands for a time stamp that a packet does not have; it never leaves the index."""

_EBML = b"\x1a\x45\xdf\xa3"
_WRAP = 1 << 33  # program and transport streams count time in 33 bits (ISO/IEC 13818-1, 2.4.3.7)
_AHEAD_SECONDS, _AHEAD_STEPS = 10, 10
_DERIVED_SECONDS = 1
_RETURN = 8  # packets within which a stamp that is off the line comes back to it
_WRAPPING = ("mpegts", "mpeg")


def byte_parts(path: Path) -> tuple[tuple[int, int], ...]:
    """The ranges of bytes of the whole files that a file consists of; one for an ordinary file."""
    total = path.stat().st_size
    with path.open("rb") as file:
        head = file.read(12)
    if head[:4] == _EBML:
        starts = list(_ebml_heads(path, total))
    elif head[:4] == b"RIFF":
        starts = list(_riff_heads(path, total))
    elif head[4:8] in (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip"):
        starts = list(_iso_heads(path))
    else:
        starts = []
    starts = starts or [0]
    return tuple(zip(starts, [*starts[1:], total], strict=True))


def _iso_heads(path: Path) -> Iterator[int]:
    """Where files begin: at the first box, and at each head that comes after an index."""
    yield 0
    indexed = headed = False
    for start, _, kind in boxes(path):
        if indexed and (kind == b"ftyp" or (kind == b"moov" and not headed)):
            yield start
            indexed = False
        headed = kind == b"ftyp"
        indexed = indexed or kind == b"moov"


def _riff_heads(path: Path, total: int) -> Iterator[int]:
    """The heads of AVI files; a second one of type AVIX goes on with the first (OpenDML)."""
    at = 0
    with path.open("rb") as file:
        while at + 12 <= total:
            file.seek(at)
            head = file.read(12)
            if head[:4] != b"RIFF":
                return
            if head[8:] == b"AVI ":
                yield at
            size = int.from_bytes(head[4:8], "little")
            at += 8 + size + size % 2


def riff_is_cut(path: Path, part: tuple[int, int] | None) -> bool:
    """Whether an AVI file is shorter than it says, as where a recording or a copy broke off."""
    at, total = part or (0, path.stat().st_size)
    with path.open("rb") as file:
        while at + 12 <= total:
            file.seek(at)
            head = file.read(12)
            if head[:4] != b"RIFF":
                return False
            size = int.from_bytes(head[4:8], "little")
            at += 8 + size + size % 2
    return at > total + 1


def _ebml_heads(path: Path, total: int) -> Iterator[int]:
    """The heads of Matroska files (RFC 8794): elements follow each other, each with its size.

    An element of unknown size, as a live recording writes it, ends at the next head.
    """
    at = 0
    with path.open("rb") as file:
        while at + 12 <= total:
            file.seek(at)
            head = file.read(12)
            if head[:4] == _EBML:
                yield at
            if not head[4]:
                return
            length = 9 - head[4].bit_length()
            size = int.from_bytes(head[4 : 4 + length], "big") & ((1 << 7 * length) - 1)
            if size == (1 << 7 * length) - 1:
                following = _next_ebml(path, at + 12, total)
                if following is None:
                    return
                at = following
            else:
                at += 4 + length + size


def _next_ebml(path: Path, at: int, total: int) -> int | None:
    """The next head of a Matroska file: the mark of one, with the name of its kind behind it."""
    block = 1 << 20
    with path.open("rb") as file:
        while at < total:
            file.seek(at)
            data = file.read(block + 64)
            found = data.find(_EBML)
            while 0 <= found < block:
                if any(name in data[found : found + 64] for name in (b"matroska", b"webm")):
                    return at + found
                found = data.find(_EBML, found + 1)
            at += block
    return None


@dataclass(frozen=True, eq=False)
class Clock:
    """The stamps of the packets of one file, in decode order, by which joints are known.

    ``tables`` is whether the times come from an index of the whole file, which cannot run back.
    """

    container: str
    time_base: Fraction
    pts: Integers
    dts: Integers
    key: Booleans
    tables: bool

    def recordings(self) -> tuple[list[int], set[int]]:
        """The first packet of each recording, and the packets whose stamps are off by themselves.

        A stamp that is off, where those behind it are back on the line, is no joint.
        """
        stamps, known = self._line()
        if self.tables or len(known) < 2:
            return [0], set()
        steps = np.diff(stamps[known])
        rising = steps[steps > 0]
        usual = float(np.median(rising)) if len(rising) else 1.0
        most = float(np.percentile(rising, 95)) if len(rising) else usual
        far = max(_AHEAD_SECONDS / float(self.time_base), _AHEAD_STEPS * most)
        starts, off = [0], set[int]()
        at, last = 1, int(stamps[known[0]])
        while at < len(known):
            packet = int(known[at])
            step = self._step(last, int(stamps[packet]))
            if (step < -usual / 2 and not self._is_derived(packet, step)) or step > far:
                back = self._back_on_line(stamps, known, at, last, usual, far)
                if back is not None and not self.key[packet]:
                    off.update(known[at:back].tolist())
                    at = back
                    continue
                starts.append(packet)
            last = int(stamps[packet])
            at += 1
        return starts, off

    def unwrapped(self, stamps: Integers) -> Integers:
        """Stamps of one recording that go on where 33 bits were full; those missing stay so."""
        known = stamps != NO_STAMP
        if self.container not in _WRAPPING or not known.any():
            return stamps
        first = int(stamps[known][0])
        near = (stamps - first + _WRAP // 2) % _WRAP - _WRAP // 2 + first
        return np.where(known, near, NO_STAMP)

    def _line(self) -> tuple[Integers, Integers]:
        """The stamps that only rise within a recording, and the packets that have them."""
        if self.container.startswith("matroska"):
            # what is given as decoding time there is guessed: only the keys follow one another
            return self.pts, np.flatnonzero((self.pts != NO_STAMP) & self.key)
        stamps = np.where(self.dts == NO_STAMP, self.pts, self.dts)
        return stamps, np.flatnonzero(stamps != NO_STAMP)

    def _is_derived(self, packet: int, step: int) -> bool:
        """Whether a step back may be one of the stamps that are worked out from the pictures.

        In program streams damage makes them go back by a few pictures; a joint is at a key, or goes
        back by more.
        """
        little = -step * self.time_base < _DERIVED_SECONDS
        return self.container == "mpeg" and little and not self.key[packet]

    def _step(self, last: int, stamp: int) -> int:
        step = stamp - last
        if self.container in _WRAPPING:
            step = (step + _WRAP // 2) % _WRAP - _WRAP // 2
        return step

    def _back_on_line(
        self, stamps: Integers, known: Integers, at: int, last: int, usual: float, far: float
    ) -> int | None:
        """The place in ``known`` of the next stamp that lies where the line before went to."""
        for place in range(at + 1, min(at + 1 + _RETURN, len(known))):
            step = self._step(last, int(stamps[known[place]]))
            passed = int(known[place] - known[at - 1])
            if 0 < step < far and abs(step - usual * passed) < usual * (2 + passed / 2):
                return place
        return None
