"""What an officer is told of footage: what was found, where, and what it means."""

import threading
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from tests.tui.footage import clips, hard
from tests.tui.footage.clips import Clip
from tests.tui.footage.conftest import MakeClip, OpenClip
from tui.footage.facts import USUAL_RATES, steady_rate
from tui.footage.fitness import Fitness, fitness, report
from tui.footage.flaws import BackgroundPass
from tui.footage.footage import Footage
from tui.footage.index import FootageIndex


def checked(footage: Footage) -> Fitness:
    footage.check()
    return fitness(footage)


def kinds(told: Fitness) -> dict[str, tuple[tuple[int, int], ...]]:
    """The kinds of notes that ask for care, and the frames of each."""
    return {note.kind: note.frames for note in told.notes if note.weight != "to know"}


@pytest.fixture
def still(monkeypatch: pytest.MonkeyPatch) -> None:
    """Files made for a test are not taken for ones that are still being written."""
    monkeypatch.setattr("tui.footage.fitness.changed_just_now", lambda path: False)


pytestmark = pytest.mark.usefixtures("still")


def test_nothing_is_held_against_sound_footage(clip: MakeClip, opened: OpenClip) -> None:
    told = checked(opened(clip("mp4")))
    assert kinds(told) == {}
    assert told.line == "Footage: nothing found against it. One frame is 16.7 ms (60 a second)."
    assert told.doubt == "One frame is 16.7 ms: two things closer than that cannot be told apart."
    assert (told.frames, told.seconds, told.checked) == (300, "5.000", True)
    assert told.facts["Picture"] == "320 x 180 pixels"
    assert told.facts["Frames declared"] == "300"


def test_footage_that_was_not_decoded_throughout_says_so(clip: MakeClip, opened: OpenClip) -> None:
    told = fitness(opened(clip("mp4")))
    assert told.line.endswith("Not yet decoded throughout.")
    assert "Not every frame was decoded" in report(told)


@pytest.mark.parametrize(
    ("name", "kind", "frames"),
    [
        ("dropped frames", "gaps", ((51, 51), (91, 91))),
        ("edit list", "hidden pictures", ()),
        ("variable frame rate", "gaps", None),
    ],
)
def test_what_is_found_is_told_with_its_frames(
    name: str,
    kind: str,
    frames: tuple[tuple[int, int], ...] | None,
    clip: MakeClip,
    opened: OpenClip,
) -> None:
    found = kinds(checked(opened(clip(name))))
    assert kind in found
    assert frames in (None, found[kind])


def test_a_joint_and_lost_pictures_are_not_to_be_trusted(
    clip: MakeClip, tmp_path: Path, opened: OpenClip
) -> None:
    source = clip("mkv").path
    two = opened(Clip(hard.joined(tmp_path / "two.mkv", source, source), (), ()))
    told = checked(two)
    assert kinds(told) == {"joints": ((150, 150),)}
    assert told.worst == "not to be trusted"
    assert two.arrival(150) == "another recording begins here"
    assert two.arrival(149) == ""
    gap = opened(clip("dropped frames"))
    assert gap.arrival(51) == "after a gap of 50 ms"


def test_damage_is_told_and_kept_for_the_next_opening(
    clip: MakeClip, tmp_path: Path, opened: OpenClip
) -> None:
    made = clips.damage(clip("MJPEG, mov"), tmp_path / "a.mov", clips.zero([34, 61]))
    footage = opened(made)
    assert kinds(checked(footage)) == {"damaged pictures": ((34, 34), (61, 61))}
    again = opened(made)
    assert again.checks.done
    assert again.ledger.flaws() == footage.ledger.flaws()
    (kept,) = (tmp_path / "cache" / "checks").iterdir()
    kept.write_bytes(b"{}")
    assert not opened(made).checks.done


def test_repeated_and_frozen_pictures_are_found(tmp_path: Path, opened: OpenClip) -> None:
    numbers = [*range(10), 9, *range(10, 20), *[19] * 5, *range(20, 30)]
    footage = opened(clips.write(tmp_path / "a.mkv", numbers, codec="ffv1", options={}))
    found = kinds(checked(footage))
    assert found == {"repeated pictures": ((10, 10),), "frozen pictures": ((21, 25),)}


def test_slow_motion_is_told_by_the_rate_of_capture(tmp_path: Path, opened: OpenClip) -> None:
    path, source = tmp_path / "a.mkv", tmp_path / "b.mkv"
    clips.write(source, range(10), rate=30, options=clips.h264())
    with av.open(str(source)) as inp, av.open(str(path), "w") as out:
        out.metadata["com.invented.capture.fps"] = "240.000000"
        made = out.add_stream_from_template(inp.streams.video[0])
        for packet in inp.demux(inp.streams.video[0]):
            if packet.size:
                packet.stream = made
                out.mux(packet)
    footage = opened(Clip(path, (), ()))
    assert footage.facts.capture_rate == 240
    (note,) = [note for note in fitness(footage).notes if note.kind == "slow motion"]
    assert "8 times slower than life" in note.found


def test_the_larger_of_two_tracks_is_judged_unless_another_is_named(tmp_path: Path) -> None:
    path = tmp_path / "two.mkv"
    with av.open(str(path), "w") as out:
        small, large = (out.add_stream("libx264", rate=30) for _ in range(2))
        for stream, size in ((small, (64, 48)), (large, (128, 96))):
            stream.width, stream.height = size
            stream.pix_fmt = "yuv420p"
        for n in range(10):
            for stream, level in ((small, 50), (large, 200)):
                grey = np.full((stream.height, stream.width, 3), level, np.uint8)
                frame = av.VideoFrame.from_ndarray(grey, "rgb24")
                frame.pts, frame.time_base = n, Fraction(1, 30)
                out.mux(stream.encode(frame))
        for stream in (small, large):
            out.mux(stream.encode(None))
    judged = Footage.open(path, tmp_path / "cache")
    assert (judged.track, judged.width) == (2, 128)
    (note,) = [note for note in fitness(judged).notes if note.kind == "several tracks"]
    assert note.found == "2 picture tracks; number 2 is judged"
    other = Footage.open(path, tmp_path / "cache", track=1)
    assert (other.track, other.width, other.frames) == (1, 64, 10)
    assert other.check() == judged.check() == ()


@pytest.mark.parametrize("rate", USUAL_RATES)
@pytest.mark.parametrize("unit", [1000, 90000])
def test_a_rate_is_named_rightly_on_a_coarse_clock(rate: Fraction, unit: int) -> None:
    stamps = np.array([round(n * unit / rate) for n in range(600)])
    index = FootageIndex(
        Fraction(1, unit), stamps, stamps, np.ones(600, int), np.ones(600, bool),
        np.zeros(600, bool), usual_step=round(unit / rate),
    )  # fmt: skip
    assert steady_rate(index, None) == rate
    assert steady_rate(index, Fraction(7)) == rate


def test_the_pass_in_the_background_ends_when_it_is_closed(
    clip: MakeClip, opened: OpenClip
) -> None:
    footage = opened(clip("mp4"))
    BackgroundPass(footage).close()
    assert not [thread for thread in threading.enumerate() if thread.name == "check"]
