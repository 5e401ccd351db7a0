"""Building clips into a folder: whole or not at all, none twice, and clear words when it fails."""

import errno
import json
import os
import resource
import signal
import subprocess
import sys
from collections.abc import Callable
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

import pytest

from tests.tui.demo.filming import score
from tui.demo import build as building
from tui.demo.build import (
    ASIDE,
    MANIFEST,
    DemoError,
    build,
    digest_of,
    film,
    read_manifest,
    set_aside,
)
from tui.demo.painter import ScenePainter
from tui.demo.performance import perform
from tui.demo.score import RunScore, Score
from tui.demo.truth import Truth

SMALL = 0.125
ROOT = Path(__file__).parents[3]


@pytest.fixture(autouse=True)
def two_short_scores(monkeypatch: pytest.MonkeyPatch) -> dict[str, Score]:
    """Two scores of one run instead of the program's own, which take longer to build."""
    known = {
        "one": score(name="one"),
        "two": score(RunScore(fault="contact", frames=2), name="two"),
    }
    monkeypatch.setattr(building, "scores", lambda: known)
    return known


def built(folder: Path, names: list[str] | None = None) -> list[str]:
    """Build with one worker; gives the names that were really built."""
    told: list[str] = []
    build(folder, names, lambda name, done, frames: told.append(name), 1, scale=SMALL)
    return sorted(set(told))


def fails_with(code: int) -> Callable[..., None]:
    def film(painter: ScenePainter, path: Path, told: object) -> None:
        path.write_bytes(b"half a clip")
        raise OSError(code, "as the test says")

    return film


def test_every_clip_has_its_truth_beside_it(tmp_path: Path) -> None:
    paths = build(tmp_path / "new" / "folder", workers=1, scale=SMALL)
    assert [path.name for path in paths] == ["one.mp4", "two.mp4"]
    for path in paths:
        truth = Truth.model_validate_json(path.with_suffix(".truth.json").read_bytes())
        assert truth.clip == path.name
        assert truth.invented
        assert truth.size == (160, 90)


def test_nothing_but_clips_truths_and_the_manifest_is_left(tmp_path: Path) -> None:
    built(tmp_path, ["one"])
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        MANIFEST,
        "one.mp4",
        "one.truth.json",
    ]


def test_a_clip_that_is_there_is_not_built_again(tmp_path: Path) -> None:
    assert built(tmp_path) == ["one", "two"]
    assert built(tmp_path) == []


def test_a_changed_score_builds_its_clip_again_and_no_other(
    tmp_path: Path, two_short_scores: dict[str, Score]
) -> None:
    built(tmp_path)
    two_short_scores["two"] = score(RunScore(fault="contact", frames=3), name="two")
    assert built(tmp_path) == ["two"]


def test_changed_drawing_code_builds_every_clip_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    built(tmp_path)
    monkeypatch.setattr(building, "_code", lambda: "other code")
    assert built(tmp_path) == ["one", "two"]


def test_another_size_is_another_clip() -> None:
    assert digest_of(score(), 1.0) != digest_of(score(), 0.5)


@pytest.mark.parametrize("name", ["one.mp4", "one.truth.json", MANIFEST])
def test_a_damaged_or_missing_file_is_built_again(tmp_path: Path, name: str) -> None:
    built(tmp_path, ["one"])
    (tmp_path / name).write_bytes(b"x") if name == "one.mp4" else (tmp_path / name).unlink()
    assert built(tmp_path, ["one"]) == ["one"]


def test_a_manifest_that_is_no_manifest_counts_as_none(tmp_path: Path) -> None:
    (tmp_path / MANIFEST).write_text(json.dumps({"format": "something else"}))
    assert read_manifest(tmp_path).clips == {}


def test_clips_built_at_once_in_processes_are_those_built_one_by_one(tmp_path: Path) -> None:
    told: dict[str, tuple[int, int]] = {}

    def progress(name: str, done: int, frames: int) -> None:
        told[name] = (done, frames)

    at_once = build(tmp_path / "at once", None, progress, 2, scale=SMALL)
    one_by_one = build(tmp_path / "one by one", None, None, 1, scale=SMALL)
    assert [p.read_bytes() for p in at_once] == [p.read_bytes() for p in one_by_one]
    assert {name: done == frames for name, (done, frames) in told.items()} == {
        "one": True,
        "two": True,
    }


def test_an_unknown_clip_is_refused_with_the_names_that_there_are(tmp_path: Path) -> None:
    with pytest.raises(DemoError, match=r'no demo clip "three"; take one of one, two\.'):
        build(tmp_path, ["three"])


@pytest.mark.parametrize(
    ("code", "words"),
    [
        (errno.ENOSPC, "is full; make room there"),
        (errno.EROFS, "may not be written to; name another folder"),
        (errno.EIO, r"cannot be built in .* \(as the test says\); name another"),
    ],
)
def test_a_folder_that_takes_nothing_is_told_in_one_sentence_and_left_clean(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int, words: str
) -> None:
    monkeypatch.setattr(building, "film", fails_with(code))
    with pytest.raises(DemoError, match=words):
        build(tmp_path, ["one"], workers=1, scale=SMALL)
    assert list(tmp_path.iterdir()) == []


def test_a_worker_that_was_ended_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def ended(painter: ScenePainter, path: Path, told: object) -> None:
        raise BrokenProcessPool

    monkeypatch.setattr(building, "film", ended)
    with pytest.raises(DemoError, match="was ended from outside"):
        build(tmp_path, ["one"], workers=1, scale=SMALL)


def test_a_film_that_the_disk_does_not_take_is_no_clip(tmp_path: Path) -> None:
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, hard))
    try:
        with pytest.raises(OSError, match="File too large"):
            film(ScenePainter(perform(score()), SMALL), tmp_path / "clip.mp4", lambda done: None)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert not (tmp_path / "clip.mp4").exists()


def test_a_file_in_the_place_of_the_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(DemoError, match=r"cannot be built in .*file"):
        build(tmp_path / "file", ["one"], workers=1, scale=SMALL)


def test_what_an_ended_build_left_is_removed_at_the_next_start(tmp_path: Path) -> None:
    left = tmp_path / f"{ASIDE}left"
    left.mkdir()
    (left / ".one.partial.mp4").write_bytes(b"half a clip")
    built(tmp_path, ["one"])
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        MANIFEST,
        "one.mp4",
        "one.truth.json",
    ]


def test_what_a_build_that_still_runs_has_made_is_left_alone(tmp_path: Path) -> None:
    with set_aside(tmp_path) as aside:
        (aside / "of-the-other").touch()
        built(tmp_path, ["one"])
        assert (aside / "of-the-other").exists()
    assert not aside.exists()


ENDINGS = [
    (signal.SIGINT, 2),
    (signal.SIGTERM, 1),
    pytest.param(signal.SIGHUP, 2, marks=pytest.mark.proof),
    pytest.param(signal.SIGKILL, 2, marks=pytest.mark.proof),
]
BUILDING = """
import signal
# A shell starts what it runs in the background with SIGINT ignored, nohup ignores SIGHUP, and
# whatever a process ignores its children ignore as well: the script heeds all three.
signal.signal(signal.SIGINT, signal.default_int_handler)
signal.signal(signal.SIGTERM, signal.SIG_DFL)
signal.signal(signal.SIGHUP, signal.SIG_DFL)
import sys
from tests.tui.demo.filming import score
from tui.demo import build as building
from tui.demo.score import RunScore

if __name__ == "__main__":
    known = {name: score(*[RunScore()] * 9, name=name) for name in ("one", "two")}
    building.scores = lambda: known
    tell = lambda name, done, frames: print(name, done, flush=True)
    building.build(sys.argv[1], progress=tell, workers=int(sys.argv[2]), scale=0.25)
"""


@pytest.mark.parametrize(("number", "workers"), ENDINGS)
def test_a_build_that_is_ended_leaves_no_process_and_no_half_file(
    tmp_path: Path, number: signal.Signals, workers: int
) -> None:
    script, folder = tmp_path / "building.py", tmp_path / "demo"
    script.write_text(BUILDING)
    with subprocess.Popen(
        [sys.executable, script, folder, str(workers)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as ran:
        assert ran.stdout is not None
        assert ran.stdout.readline().split()[0] in (b"one", b"two")
        ran.send_signal(number)
        # end of file: the workers, which hold the same pipe, have ended as well
        ran.stdout.read()
    assert ran.returncode != 0
    left = [path.name for path in folder.iterdir()]
    assert [name for name in left if not name.startswith(ASIDE)] == []
    if number is not signal.SIGKILL:
        assert left == []
    built(folder, ["one"])
    assert {path.name for path in folder.iterdir()} == {MANIFEST, "one.mp4", "one.truth.json"}
