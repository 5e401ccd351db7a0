"""Short invented clips for these tests: performed, filmed, and decoded again in plain order."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import av
import numpy as np
import numpy.typing as npt

from tui.demo.build import film
from tui.demo.layout import Point
from tui.demo.painter import ScenePainter
from tui.demo.performance import Performance, perform
from tui.demo.score import RunScore, Score
from tui.demo.truth import TrueMoment, TrueRun, Truth, witness

Luma = npt.NDArray[np.uint8]


def score(*runs: RunScore, **changes: Any) -> Score:
    """A score with plain details and these runs (one clean run, without any)."""
    details: dict[str, Any] = {
        "name": "for-a-test",
        "title": "For a test",
        "event": "3-3-3",
        "competitor": "LQ-999",
        "claimed": "1.000",
        "claimed_run": 1,
        "outcome": "stands",
        "expected": "As the test says.",
        "runs": runs or (RunScore(),),
    }
    return Score.model_validate({**details, **changes})


@dataclass(frozen=True)
class Clip:
    """A clip on disk, with what is true of it and its decoded brightness, one array a frame."""

    path: Path
    performance: Performance
    truth: Truth
    frames: list[Luma]
    scale: float

    @property
    def run(self) -> TrueRun:
        """The clip's first run."""
        return self.truth.runs[0]

    def moment(self, name: str) -> TrueMoment:
        """A moment of the first run."""
        return self.run.moments[name]

    def patch(self, frame: int, centre: Point, half: tuple[int, int]) -> npt.NDArray[np.float64]:
        """The brightness around a place of the full picture; sizes in pixels of that picture."""
        x, y, w, h = (round(v * self.scale) for v in (*centre, *half))
        return self.frames[frame][y - h : y + h, x - w : x + w].astype(np.float64)

    def change(self, frame: int, since: int, centre: Point, half: tuple[int, int]) -> float:
        """The mean difference in brightness around a place, between two frames."""
        difference = self.patch(frame, centre, half) - self.patch(since, centre, half)
        return float(np.abs(difference).mean())


def filmed(wanted: Score, folder: Path, scale: float = 0.5) -> Clip:
    """Perform, film and decode a score."""
    performance = perform(wanted)
    path = folder / f"{wanted.name}.mp4"
    film(ScenePainter(performance, scale), path, lambda done: None)
    with av.open(str(path)) as container:
        decoded = [
            frame.to_ndarray()[: frame.height].astype(np.uint8)
            for frame in container.decode(video=0)
        ]
    return Clip(path, performance, witness(performance, scale), decoded, scale)
