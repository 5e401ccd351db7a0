"""A review on a small invented piece of footage, and a source of plain pictures."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from keymaps.keymap import Keymap, load_keymap
from sessions.record.header import FootageFacts, Header
from sessions.record.journal import Journal
from sessions.rules.events import load_event
from tests.tui.pseudo_terminal import PseudoTerminal, Start
from tui.bench.review import Review
from tui.footage.writer import VideoWriter

FRAMES = 600
PICTURE = (320, 180)
"""Width and height of the pictures, in pixels."""
RATE = 60


@dataclass(eq=False)
class PlainPicture:
    frame: int
    pixels: NDArray[np.uint8]
    source_size: tuple[int, int] = PICTURE
    flaw: str | None = None


@dataclass
class PlainSource:
    """Every frame is there at once: a bright bar that moves a pixel a frame."""

    on_ready: Callable[[int], None] | None = None
    absent: set[int] = field(default_factory=set)
    flawed: dict[int, str] = field(default_factory=dict)
    wanted: list[int] = field(default_factory=list)
    magnified: bool = False
    failure: str | None = None
    made: dict[int, PlainPicture] = field(default_factory=dict)

    def want(self, frame: int) -> None:
        self.wanted.append(frame)

    def peek(self, frame: int) -> PlainPicture | None:
        if frame in self.absent:
            return None
        if frame not in self.made:
            self.made[frame] = self._picture(frame)
        return self.made[frame]

    def _picture(self, frame: int) -> PlainPicture:
        pixels = np.full((180, 320, 3), (30, 60, 90), np.uint8)
        pixels[:, frame % 320 : frame % 320 + 12] = (240, 200, 40)
        return PlainPicture(frame, pixels, flaw=self.flawed.get(frame))

    def magnify(self, on: bool) -> None:
        self.magnified = on

    def weave(self, on: bool) -> None:
        self.woven = on

    def peek_full(self, frame: int) -> PlainPicture | None:
        return self.peek(frame) if self.magnified else None

    def close(self) -> None:
        pass


def header(event: str = "3-6-3", frames: int = FRAMES) -> Header:
    return Header(
        made=datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC),
        program="framecall test",
        footage=FootageFacts(
            name="invented.mp4",
            size_bytes=1000,
            sha256="ab" * 32,
            frames=frames,
            time_base="1/60",
            first_pts=0,
            nominal_rate="60",
        ),
        event=load_event(event),
        reviewer="R1",
    )


def ticking() -> Callable[[], datetime]:
    """A clock that goes on by a second each time it is asked."""
    now = datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC)

    def tick() -> datetime:
        nonlocal now
        now += timedelta(seconds=1)
        return now

    return tick


def frame_at(seconds: Fraction) -> int:
    return max(0, min(int(seconds * RATE), FRAMES - 1))


@pytest.fixture
def make_review(tmp_path: Path) -> Iterator[Callable[..., Review]]:
    """Makes desks on new sessions, and closes their journals."""
    journals: list[Journal] = []

    def make(event: str = "3-6-3") -> Review:
        path = tmp_path / f"{len(journals)}.session.jsonl"
        journals.append(Journal.create(path, header(event), ticking()))
        return Review(journals[-1], lambda frame: frame, frame_at)

    yield make
    for journal in journals:
        journal.close()


@pytest.fixture
def review(make_review: Callable[..., Review]) -> Review:
    return make_review()


@pytest.fixture
def source() -> PlainSource:
    return PlainSource()


@pytest.fixture
def keymap() -> Keymap:
    return load_keymap("qwerty", user_file=None)


CLIP_FRAMES, CLIP_RATE = 240, 30


@pytest.fixture(scope="session")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Footage that a decoder takes: 240 small pictures at 30 a second, a bar moving over them."""
    path = tmp_path_factory.mktemp("footage") / "invented.mp4"
    with VideoWriter(path, (64, 48), CLIP_RATE, options={"preset": "ultrafast"}) as writer:
        for frame in range(CLIP_FRAMES):
            pixels = np.full((48, 64, 3), (30, 60, 90), np.uint8)
            pixels[:, frame % 60 : frame % 60 + 4] = (240, 200, 40)
            writer.write(pixels)
    return path


@pytest.fixture(scope="session")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder for what the program keeps between its calls, away from the user's own."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture
def start(cache: Path) -> Iterator[Start]:
    """Starts the program in terminals, and ends what is left of it."""
    terminals: list[PseudoTerminal] = []

    def begin(*arguments: str | Path, **options: Any) -> PseudoTerminal:
        made = PseudoTerminal([str(a) for a in arguments], cache, **options)
        terminals.append(made)
        return made

    yield begin
    for terminal in terminals:
        terminal.close()


@dataclass
class Clock:
    """A clock of seconds that a test sets forward."""

    now: float = 100.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()
