"""Panels draw what they are given, cut to their width."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import pytest
from rich.text import Text
from textual.app import App, ComposeResult
from textual.widget import Widget

from keymaps.commands import COMMANDS
from keymaps.keymap import Keymap
from sessions.ruling.ruling import Standing
from tui.bench.panels import CupsPanel, LadderPanel, RunsPanel, TimelinePanel
from tui.bench.rows import CupRow, LadderRow, RunRow, State, TimelineRow
from tui.widgets.panels import MARKS, KeysLine, Panel, StatusPanel


class Host(App[None]):
    CSS = "#it { width: 100%; height: 100%; }"

    def __init__(self, widget: Widget) -> None:
        super().__init__()
        self.widget = widget

    def compose(self) -> ComposeResult:
        yield self.widget


@asynccontextmanager
async def shown(widget: Widget, width: int, height: int) -> AsyncIterator[None]:
    async with Host(widget).run_test(size=(width, height)) as pilot:
        await pilot.pause()
        yield


def lines(widget: Widget) -> list[str]:
    return [widget.render_line(y).text for y in range(widget.size.height)]


def ladder(count: int, chosen: int | None = None) -> list[LadderRow]:
    return [
        LadderRow("due" if n == chosen else "open", f"Step {n}", str(n), n == chosen)
        for n in range(count)
    ]


@pytest.mark.parametrize("chosen", [0, 1, 7, 18, 19])
async def test_the_step_that_is_next_is_always_in_sight(chosen: int) -> None:
    panel = LadderPanel(id="it")
    async with shown(panel, 30, 8):
        panel.show_rows(ladder(20, chosen))
        visible = lines(panel)
    first = int(visible[1].split()[-2])
    above, below = f"  ↑{first}" if first else "", f"  ↓{13 - first}" if first < 13 else ""
    assert visible[0].strip() == f"Ladder 0/20 tagged{above}{below}"
    assert f"▸ Step {chosen} " in "\n".join(visible)
    assert sum("Step" in line for line in visible) == 7


async def test_a_complete_ladder_shows_its_end() -> None:
    panel = LadderPanel(id="it")
    rows = [LadderRow("proven", f"Step {n}", "", chosen=False) for n in range(20)]
    async with shown(panel, 30, 8):
        panel.show_rows(rows)
        visible = lines(panel)
    assert visible[0].strip() == "Ladder 20/20 tagged  ↑13"
    assert "Step 19" in visible[-1]


@pytest.mark.parametrize("state", list(MARKS))
async def test_every_state_has_a_mark_of_its_own(state: State) -> None:
    panel = LadderPanel(id="it")
    async with shown(panel, 30, 3):
        panel.show_rows([LadderRow(state, "Step", "7", chosen=False)])
        assert lines(panel)[1].startswith(f"{MARKS[state][0]} Step")
    assert len({mark for mark, _ in MARKS.values()}) == len(MARKS)


@pytest.mark.parametrize("width", [10, 17, 30])
async def test_a_long_title_gives_way_to_its_frames(width: int) -> None:
    panel = LadderPanel(id="it")
    async with shown(panel, width, 3):
        panel.show_rows([LadderRow("proven", "A very long title of a step", "12", chosen=False)])
        line = lines(panel)[1]
    assert "…" in line
    assert line.rstrip().endswith("12")
    assert len(line) == width


async def test_a_run_with_nothing_to_tag_says_so() -> None:
    panel = LadderPanel(id="it")
    async with shown(panel, 40, 3):
        panel.show_rows([])
        assert [line.strip() for line in lines(panel)[:2]] == ["Ladder", "Nothing is due."]


def run_row(number: int, here: bool = False) -> RunRow:
    return RunRow(number, f"attempt {number}", Standing.OPEN, "6.482", "5-…", here)


@pytest.mark.parametrize("here", [1, 5, 9])
async def test_the_run_worked_on_is_marked_and_in_sight(here: int) -> None:
    panel = RunsPanel(id="it")
    async with shown(panel, 40, 4):
        panel.show_rows([run_row(n, n == here) for n in range(1, 10)])
        visible = lines(panel)
    assert visible[0].strip() == "Runs 9"
    (marked,) = [line for line in visible if line.startswith("▸")]
    assert marked.split() == ["▸", str(here), "attempt", str(here), "open", "6.482", "5-…"]


async def test_a_run_that_does_not_count_shows_no_standing() -> None:
    panel = RunsPanel(id="it")
    async with shown(panel, 40, 3):
        panel.show_rows([RunRow(1, "warm-up", Standing.UNCOUNTED, "", "0-9", here=True)])
        assert lines(panel)[1].split() == ["▸", "1", "warm-up", "0-9"]


async def test_cups_show_marks_and_the_number_of_the_one_at_hand() -> None:
    panel = CupsPanel(id="it")
    states: list[State] = ["proven", "open", "unproven", "fault"]
    async with shown(panel, 40, 1):
        panel.show_rows([CupRow(n, state, n == 2) for n, state in enumerate(states, 1)])
        assert lines(panel)[0].strip() == "Marks 1/4 ✓2≈✗"


def time_line(frames: int, position: int = 0, **parts: object) -> TimelineRow:
    fields: dict[str, object] = {"seen": (), "runs": (), "ticks": ()} | parts
    return TimelineRow(frames=frames, position=position, **fields)  # type: ignore[arg-type]


@pytest.mark.parametrize("frames", [1, 7, 20, 100, 100_000])
async def test_the_time_line_shows_runs_tags_and_what_was_seen(frames: int) -> None:
    panel = TimelinePanel(id="it")
    last = frames - 1
    row = time_line(frames, last, seen=((0, last),), runs=((0, last, True),), ticks=((0, "fault"),))
    async with shown(panel, 20, 2):
        panel.show_row(row)
        above, below = lines(panel)
    assert above[0] == "✗"
    assert above.count("━") == min(frames, 20) - 1 or frames < 20
    assert set(below) <= {"█", " "}
    assert below[0] == "█"


async def test_the_shares_seen_are_told_apart() -> None:
    panel = TimelinePanel(id="it")
    async with shown(panel, 4, 2):
        panel.show_row(time_line(40, seen=((0, 9), (10, 15), (20, 20))))
        assert lines(panel)[1] == "█▄▂ "


async def test_a_run_that_does_not_count_is_drawn_otherwise() -> None:
    panel = TimelinePanel(id="it")
    async with shown(panel, 4, 2):
        panel.show_row(time_line(40, 39, runs=((0, 19, False),)))
        assert lines(panel)[0] == "┄┄··"


async def test_a_status_line_parts_its_parts_and_leaves_empty_ones_out() -> None:
    panel = StatusPanel(id="it")
    async with shown(panel, 40, 1):
        panel.state("one", "", "two")
        assert lines(panel)[0].strip() == "one │ two"
        panel.say("[b]not markup[/b]", error=True)
        assert lines(panel)[0].strip() == "[b]not markup[/b]"


@pytest.mark.parametrize(
    "words",
    [
        "a frame of that run",
        "漢字 " * 9,
        "漢字" * 19,
        "e\u0301 " * 30,
        "C-01 漢字漢字漢字漢字 and more",
    ],
)
async def test_a_message_goes_on_in_the_next_line_however_wide_its_characters(words: str) -> None:
    panel = StatusPanel(id="it")
    async with shown(panel, 20, 5):
        panel.say(words)
        said = "".join(lines(panel))
        assert "…" not in said
        assert "".join(said.split()) == "".join(words.split())


async def test_a_line_wider_than_the_panel_is_cut_and_marked() -> None:
    panel = Panel(id="it")
    async with shown(panel, 10, 2):
        panel.show([Text("x" * 50), Text("漢字漢字漢字")])
        first, second = lines(panel)
    assert first == "xxxxxxxxx…"
    assert second.rstrip().endswith("…")


async def test_the_same_lines_are_not_drawn_again(monkeypatch: pytest.MonkeyPatch) -> None:
    panel = Panel(id="it")
    async with shown(panel, 10, 2):
        drawn: list[int] = []
        monkeypatch.setattr(panel, "refresh", lambda: drawn.append(1))
        panel.show([Text("one")])
        panel.show([Text("one")])
        panel.show([Text("two")])
    assert len(drawn) == 2


@pytest.mark.parametrize("width", [5, 20, 80, 200])
async def test_as_many_keys_as_fit_whole_are_shown(keymap: Keymap, width: int) -> None:
    panel = KeysLine(id="it")
    async with shown(panel, width, 1):
        panel.show_keymap(keymap, ["help", "due.in_order", "run.end", "undo"])
        line = lines(panel)[0]
    assert "…" not in line
    if width >= 20:
        assert line.startswith("? help")
    if width == 200:
        assert COMMANDS["undo"].short in line
