"""From real footage through the bench to a ruling: a hand that comes to a cube on a table.

The footage shows no stacking; what is tagged is what it does show. The fingertips first show in
picture 25 and the hand is clear of the cube in picture 26, by eye.
"""

import json
from fractions import Fraction
from pathlib import Path

import pytest

from tests.tui.pseudo_terminal import PseudoTerminal
from tui.__main__ import main
from tui.bench.opening import session_path

pytestmark = pytest.mark.proof

FRAME = Fraction(1001, 30000)
START, STOP = 25, 217


def _go(bench: PseudoTerminal, frame: int, keys: str, says: str) -> None:
    bench.send(f"j{frame}\r")
    bench.shows_frame(frame)
    bench.send(keys)
    bench.shows(says)


def test_the_time_of_a_hand_on_real_footage_is_bounded_by_its_own_stamps(
    visp_cube_clip: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    clip = tmp_path / "cube.mp4"
    clip.symlink_to(visp_cube_clip)
    bench = PseudoTerminal(["review", str(clip), "--event", "3-3-3"], tmp_path / "cache")
    try:
        bench.shows("Begin a run")
        bench.shows_frame(0)
        bench.send("(")
        bench.shows("Run 1 begun")
        _go(bench, START, "o", "sighted at frame 25")
        _go(bench, STOP, "p", f"sighted at frame {STOP}")
        bench.send("06.482\r")
        bench.shows("reads 6.482")
        bench.send(")")
        bench.shows("ended at frame 217")
        bench.send("\x11")
        assert bench.code() == 0
    finally:
        bench.close()

    assert main(["rule", str(session_path(clip)), "--json"]) == 1  # the ladder is not looked at
    [run] = json.loads(capsys.readouterr().out)["runs"]
    shortest, longest = (Fraction(value) for value in run["by_picture"])
    # A first sight of each end n pictures apart bounds the time by (n - 1) T and (n + 1) T.
    assert abs(shortest - (STOP - START - 1) * FRAME) < Fraction(1, 1_000_000)
    assert abs(longest - (STOP - START + 1) * FRAME) < Fraction(1, 1_000_000)
    [clock] = [f for f in run["findings"] if f["checkpoint"] == "clock"]
    assert clock["outcome"] == "refuted"  # 192 pictures at 30000/1001 are no 6.482 s
    assert run["begins"]["timecode"] == "00:00:00;00"
