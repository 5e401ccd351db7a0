"""Scores of the demo, tagged by keys alone in a pseudo-terminal, and ruled from the session."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from sessions.record.entries import Shown
from sessions.record.recording import read_session
from sessions.record.session import fold
from sessions.rules.events import load_event
from sessions.ruling.brackets import Outcome
from sessions.ruling.judge import rule
from tests.sessions.samples import as_lines
from tests.tui.pseudo_terminal import PseudoTerminal
from tests.tui.typing import Stroke, asked, strokes
from tui.bench.opening import session_path
from tui.demo.build import build, truth_path
from tui.demo.tagging import true_entries
from tui.demo.truth import Truth
from tui.footage.footage import Footage

pytestmark = pytest.mark.proof

TURNS_ON = {
    "contact-at-start": Outcome.REFUTED,
    "too-close-to-call": Outcome.UNPROVEN,
    "hands-on-two-stacks-cured": Outcome.PROVEN,
    "starting-over": Outcome.REFUTED,
}
"""Scores, and what becomes of the rule that the claimed run turns on."""


@pytest.fixture(scope="module")
def clips(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("clips")
    build(folder, list(TURNS_ON), workers=1, scale=0.25)
    return folder


@pytest.fixture
def terminal(tmp_path: Path, clips: Path, name: str) -> Iterator[PseudoTerminal]:
    event = _truth(clips, name).score.event
    bench = PseudoTerminal(
        ["review", str(clips / f"{name}.mp4"), "--event", event, "--picture", "halves"],
        tmp_path / "cache",
    )
    yield bench
    bench.close()


def _truth(clips: Path, name: str) -> Truth:
    return Truth.model_validate_json(truth_path(clips, name).read_bytes())


def _press(bench: PseudoTerminal, stroke: Stroke) -> None:
    """Go to the frame, wait until it is on the screen, and press the keys one by one."""
    if stroke.frame is not None and not bench.text.startswith(f"frame {stroke.frame}/"):
        bench.send(f"j{stroke.frame}\r")
        bench.shows_frame(stroke.frame)
    opening, *rest = stroke.parts
    bench.send(opening)
    bench.read()
    for part in rest:
        bench.shows("Which stack fell or slid")
        bench.send(part)
    if stroke.says:
        bench.shows(stroke.says)


@pytest.mark.parametrize("name", TURNS_ON)
def test_a_score_tagged_by_keys_gives_its_ruling_to_the_frame(
    name: str, clips: Path, terminal: PseudoTerminal
) -> None:
    truth, clip = _truth(clips, name), clips / f"{name}.mp4"
    footage = Footage.open(clip)
    entries = list(asked(true_entries(truth, footage.pts)))
    terminal.shows_frame(0)
    for stroke in strokes(entries, load_event(truth.score.event)):
        _press(terminal, stroke)
    terminal.send("\x11")
    assert terminal.code() == 0

    recording = read_session(session_path(clip))
    session = fold(recording.header, recording.lines)
    tagged = [line.entry for line in session.live if not isinstance(line.entry, Shown)]
    wanted = [entry for entry in entries if not isinstance(entry, Shown)]
    assert {repr(entry) for entry in tagged} == {repr(entry) for entry in wanted}
    # the keys leap from tag to tag; the rest of the footage is watched here
    watched = [entry for entry in entries if isinstance(entry, Shown)]
    assert watched
    ruling = rule(fold(recording.header, as_lines([*tagged, *watched])))
    claimed = next(r for r in ruling.runs if r.time == truth.score.claimed)
    assert claimed.standing == truth.score.outcome
    outcomes = {f.outcome for f in claimed.findings if f.rule == truth.score.rule}
    assert outcomes == {TURNS_ON[name]}
