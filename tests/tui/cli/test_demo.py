"""``framecall demo``: the list, and a clip drawn, tagged and opened."""

import os
import pty
import select
from pathlib import Path

import pytest

from tests.tui.cli.conftest import Call
from tui.app import FramecallApp
from tui.cli.demo import forget_typed
from tui.demo.score import scores


def test_every_clip_is_listed(framecall: Call) -> None:
    result = framecall("demo", "--list")
    assert (result.code, result.err) == (0, "")
    assert [line.split()[0] for line in result.out.splitlines()] == list(scores())


def test_an_unknown_clip_is_refused_and_nothing_is_built(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.cli.start.check_terminal", lambda: None)
    folder = tmp_path / "demo"
    assert '"none"' in framecall("demo", folder, "--clip", "none").sentence()
    assert not list(folder.glob("*.mp4"))


def test_the_demo_needs_a_terminal_before_it_draws_anything(
    framecall: Call, tmp_path: Path
) -> None:
    folder = tmp_path / "demo"
    assert "needs a terminal" in framecall("demo", folder).sentence()
    assert not folder.exists()


@pytest.mark.parametrize(
    ("option", "value"), [("--clip", "none"), ("--picture", "oil"), ("--keymap", "dvorak")]
)
def test_what_is_wrong_in_the_command_is_named_before_the_missing_terminal(
    framecall: Call, tmp_path: Path, option: str, value: str
) -> None:
    folder = tmp_path / "demo"
    sentence = framecall("demo", folder, option, value).sentence()
    assert value in sentence
    assert "terminal" not in sentence
    assert not folder.exists()


def test_a_docket_is_not_drawn_for_a_way_of_drawing_that_there_is_not(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.cli.demo.make_docket", lambda _: pytest.fail("drawn"))
    assert "'oil'" in framecall("demo", tmp_path, "--docket", "--picture", "oil").sentence()


def test_a_clip_is_drawn_tagged_opened_and_ruled(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.cli.start.check_terminal", lambda: None)
    monkeypatch.setattr(FramecallApp, "run", lambda _: None)
    clip = "one-hand-take-down"
    for _ in range(2):
        assert framecall("demo", tmp_path, "--clip", clip, "--tagged").code == 0
    (session,) = tmp_path.glob("*.session.jsonl")
    result = framecall("rule", session)
    assert "FAULT [down.two-hands]" in result.out
    assert f"demo-{clip}" in result.out


def test_what_is_typed_while_clips_are_drawn_is_dropped() -> None:
    ours, theirs = pty.openpty()
    with open(theirs, encoding="ascii") as terminal:
        os.write(ours, b"nnn\n")
        assert select.select([theirs], [], [], 5)[0]
        forget_typed(terminal)
        assert not select.select([theirs], [], [], 0)[0]
    os.close(ours)


def test_nothing_is_dropped_where_nobody_types(tmp_path: Path) -> None:
    path = tmp_path / "typed"
    path.write_text("nnn")
    with path.open() as stream:
        forget_typed(stream)
        assert stream.read() == "nnn"
