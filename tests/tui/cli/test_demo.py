"""``framecall demo``: the list, and a clip drawn, tagged and opened."""

from pathlib import Path

import pytest

from tests.tui.cli.conftest import Call
from tui.app import FramecallApp
from tui.demo.score import scores


def test_every_clip_is_listed(framecall: Call) -> None:
    result = framecall("demo", "--list")
    assert (result.code, result.err) == (0, "")
    assert [line.split()[0] for line in result.out.splitlines()] == list(scores())


def test_an_unknown_clip_is_refused_and_nothing_is_built(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.cli.review.check_terminal", lambda: None)
    folder = tmp_path / "demo"
    assert '"none"' in framecall("demo", folder, "--clip", "none").sentence()
    assert not list(folder.glob("*.mp4"))


def test_the_demo_needs_a_terminal_before_it_draws_anything(
    framecall: Call, tmp_path: Path
) -> None:
    folder = tmp_path / "demo"
    assert "needs a terminal" in framecall("demo", folder).sentence()
    assert not folder.exists()


def test_a_clip_is_drawn_tagged_opened_and_ruled(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.cli.review.check_terminal", lambda: None)
    monkeypatch.setattr(FramecallApp, "run", lambda _: None)
    clip = "one-hand-take-down"
    for _ in range(2):
        assert framecall("demo", tmp_path, "--clip", clip, "--tagged").code == 0
    (session,) = tmp_path.glob("*.session.jsonl")
    result = framecall("rule", session)
    assert "FAULT [down.two-hands]" in result.out
    assert f"demo-{clip}" in result.out
