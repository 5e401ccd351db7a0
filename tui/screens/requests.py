"""Commands that ask the reviewer something, or show a page."""

from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

from rich.text import Text

from keymaps.card import screen_card
from sessions.report import report
from tui.review import places, rows, runs
from tui.review.blind import claim_words
from tui.review.finishing import unseen_text
from tui.review.within import check_reads_display, check_within
from tui.screens.dialogs import AskScreen, ChooseScreen, PageScreen
from tui.screens.finishing import ask_to_finish
from tui.widgets.panels import step_line

if TYPE_CHECKING:
    from tui.screens.bench import BenchScreen

Request = Callable[["BenchScreen"], None]


def _ask(screen: "BenchScreen", title: str, hint: str, take: Callable[[str], str | None]) -> None:
    """Ask for a line until it is taken or left, and say on the bench what came of it."""

    def answered(said: str | None) -> None:
        if said is not None:
            screen.attempt(lambda: said)

    screen.app.push_screen(AskScreen(title, hint, take), answered)


def _go_to(screen: "BenchScreen") -> None:
    hint = "A frame (412), step (+30), time (1:23.5, 83.5s) or time code (00:00:03:12)."
    _ask(screen, "Go to", hint, partial(places.go_to_place, screen.desk))


def _reading(screen: "BenchScreen") -> None:
    screen.desk.check_open()
    run = screen.desk.needed_run()
    check_reads_display(screen.desk, screen.desk.frame)
    title = f"What does the display read after run {run.id}?"
    _ask(screen, title, "Seconds, such as 6.482.", partial(runs.read_display, screen.desk))


def _note(screen: "BenchScreen") -> None:
    screen.desk.check_open()
    title = f"Note at frame {screen.desk.frame}"
    _ask(screen, title, "No names: codes are enough.", partial(runs.add_note, screen.desk))


def _settle(screen: "BenchScreen") -> None:
    screen.desk.check_open()
    run = screen.desk.needed_run()
    title = f"Why is run {run.id} to be ruled although display and picture disagree?"
    _ask(screen, title, "A reason.", partial(runs.settle_clock, screen.desk))


def _fumble(phase: Literal["up", "down"], screen: "BenchScreen") -> None:
    screen.desk.check_open()
    check_within(screen.desk, screen.desk.frame)
    stacks = runs.fumble_stacks(screen.desk)

    def chosen(index: int | None) -> None:
        if index is not None:
            screen.attempt(lambda: runs.fumble(screen.desk, stacks[index], phase))

    title = f"Which stack fell or slid in the {phase} phase?"
    options = [stack.words for stack in stacks]
    screen.app.push_screen(ChooseScreen(title, options, runs.likely_stack(screen.desk)), chosen)


def _list_steps(screen: "BenchScreen") -> None:
    desk = screen.desk
    found = rows.steps_of(desk, desk.counted_run())
    steps, lines = [step for step, _ in found], [step_line(row) for _, row in found]
    here = desk.step
    at = steps.index(here) if here in steps else 0

    def chosen(index: int | None) -> None:
        if index is not None:
            desk.chosen = steps[index].id
            screen.changed(f"Chosen: {steps[index].title}.")

    screen.app.push_screen(ChooseScreen("Which step?", lines, at), chosen)


def _ruling(screen: "BenchScreen") -> None:
    desk = screen.desk
    parts = [claim_words(desk, screen.listed), report(desk.ruling), unseen_text(desk)]
    page = Text("\n".join(part for part in parts if part))
    screen.app.push_screen(PageScreen("The ruling as it would be now", page))


def _help(screen: "BenchScreen") -> None:
    width = min(100, screen.size.width - 8)
    page = Text(screen_card(screen.keymap, screen.where, width), no_wrap=True)
    screen.app.push_screen(PageScreen(f"Keys ({screen.keymap.title})", page))


def _palette(screen: "BenchScreen") -> None:
    screen.app.action_command_palette()


REQUESTS: Mapping[str, Request] = MappingProxyType(
    {
        "go_to": _go_to,
        "reading": _reading,
        "note": _note,
        "settle": _settle,
        "fumble.up": partial(_fumble, "up"),
        "fumble.down": partial(_fumble, "down"),
        "ladder.list": _list_steps,
        "ruling": _ruling,
        "finish": ask_to_finish,
        "help": _help,
        "palette": _palette,
    }
)
"""Requests by command id."""
