"""Commands that ask the reviewer something, or show a page."""

from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

from rich.text import Text

from keymaps.card import screen_card
from sessions.errors import EntryRefused
from sessions.record.entries import Line
from sessions.rules.rulebook import OTHER
from sessions.ruling.report import report as ruling_report
from sessions.sanitize import sanitize
from tui.bench import places, rows, runs
from tui.bench.blind import claim_words
from tui.bench.finishing import unseen_text
from tui.bench.finishing_dialogs import ask_to_finish
from tui.bench.panels import checkpoint_line
from tui.bench.review import Review
from tui.bench.run_bounds import check_reads_display, check_within
from tui.footage.fitness import fitness, report
from tui.widgets.dialogs import AskScreen, ChooseScreen, PageScreen

if TYPE_CHECKING:
    from tui.bench.screen import BenchScreen

Request = Callable[["BenchScreen"], None]


def _ask(screen: "BenchScreen", title: str, hint: str, take: Callable[[str], str | None]) -> None:
    """Ask for a line until it is taken or left, and say on the bench what came of it."""

    def answered(said: str | None) -> None:
        if said is not None:
            screen.attempt(lambda: said)

    screen.app.push_screen(AskScreen(title, hint, take), answered)


def _go_to(screen: "BenchScreen") -> None:
    hint = "A frame (412), step (+30), time (1:23.5, 83.5s) or time code (00:00:03:12)."
    _ask(screen, "Go to", hint, partial(places.go_to_place, screen.review))


def _reading(screen: "BenchScreen") -> None:
    screen.review.check_open()
    run = screen.review.needed_run()
    check_reads_display(screen.review, screen.review.frame)
    title = f"What does the display read after run {run.id}?"
    _ask(screen, title, "Seconds, such as 6.482.", partial(runs.read_display, screen.review))


def _note(screen: "BenchScreen") -> None:
    screen.review.check_open()
    title = f"Note at frame {screen.review.frame}"
    _ask(screen, title, "No names: codes are enough.", partial(runs.add_note, screen.review))


def _accept(screen: "BenchScreen") -> None:
    screen.review.check_open()
    display, run = runs.check_contradicted(screen.review), screen.review.needed_run()
    title = f"Why do you accept {display} s in run {run.id}, which the picture contradicts?"
    _ask(screen, title, "A reason.", partial(runs.accept_reading, screen.review))


def _attempts_before(screen: "BenchScreen") -> None:
    screen.review.check_open()
    title = "How many attempts were used before this footage begins, and how do you know?"
    hint = "Such as: 2, by the results list. 0 takes it back."
    _ask(screen, title, hint, partial(runs.attempts_before, screen.review))


def _other_fault(screen: "BenchScreen") -> None:
    review = screen.review
    runs.check_other_fault(review)
    listed = [(rule, saw) for rule in runs.other_rules(review) for saw in runs.SAWS]
    lines = [f"{rule.title}: {runs.SAWS[saw]}" for rule, saw in listed]

    def chosen(index: int | None) -> None:
        if index is None:
            return
        rule, saw = listed[index]
        title = f"{rule.title}: what does frame {review.frame} show?"
        hint = "No names." if rule.id == OTHER else "No names; Enter alone adds nothing."
        _ask(screen, title, hint, lambda why: runs.other_fault(review, rule, saw, why))

    screen.app.push_screen(ChooseScreen("Which rule?", lines), chosen)


def _not_shown(screen: "BenchScreen") -> None:
    review = screen.review
    review.check_open()
    listed = runs.lacks(review)

    def chosen(index: int | None) -> None:
        if index is None:
            return
        lack = listed[index]
        if lack.said is not None:
            line = lack.said
            screen.attempt(lambda: _take_back(review, line, lack.words))
            return
        screen.attempt(lambda: _ask_lack(screen, lack))

    title = "What does the footage not show?"
    screen.app.push_screen(ChooseScreen(title, [lack.words for lack in listed]), chosen)


def _ask_lack(screen: "BenchScreen", lack: runs.Lack) -> None:
    runs.check_lacks(screen.review, lack)
    title = f"{lack.words}: why can it not be seen?"
    _ask(screen, title, "A reason.", partial(runs.not_shown, screen.review, lack))


def _take_back(review: Review, line: Line, words: str) -> str:
    review.retract([line])
    return f"{words}."


def _fumble(phase: Literal["up", "down"], screen: "BenchScreen") -> None:
    screen.review.check_open()
    check_within(screen.review, screen.review.frame)
    stacks = runs.fumble_stacks(screen.review)

    def chosen(index: int | None) -> None:
        if index is not None:
            screen.attempt(lambda: runs.fumble(screen.review, stacks[index], phase))

    title = f"Which stack fell or slid in the {phase} phase?"
    options = [stack.words for stack in stacks]
    screen.app.push_screen(ChooseScreen(title, options, runs.likely_stack(screen.review)), chosen)


def _list_checkpoints(screen: "BenchScreen") -> None:
    review = screen.review
    found = rows.checkpoints_of(review, review.counted_run())
    checkpoints, lines = (
        [checkpoint for checkpoint, _ in found],
        [checkpoint_line(row) for _, row in found],
    )
    here = review.checkpoint
    at = checkpoints.index(here) if here in checkpoints else 0

    def chosen(index: int | None) -> None:
        if index is not None:
            review.chosen = checkpoints[index].id
            screen.changed(f"Chosen: {checkpoints[index].title}.")

    screen.app.push_screen(ChooseScreen("Which checkpoint?", lines, at), chosen)


def _ruling(screen: "BenchScreen") -> None:
    review = screen.review
    parts = [claim_words(review, screen.listed), ruling_report(review.ruling), unseen_text(review)]
    page = Text("\n".join(part for part in parts if part))
    screen.app.push_screen(PageScreen("The ruling as it would be now", page))


def _about(screen: "BenchScreen") -> None:
    if screen.footage is None:
        raise EntryRefused("Nothing is known of this footage here.")
    lines = report(fitness(screen.footage)).splitlines()
    page = Text("\n".join(sanitize(line) for line in lines))
    screen.app.push_screen(PageScreen("The footage", page))


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
        "accept": _accept,
        "attempts_before": _attempts_before,
        "other_fault": _other_fault,
        "not_shown": _not_shown,
        "fumble.up": partial(_fumble, "up"),
        "fumble.down": partial(_fumble, "down"),
        "ladder.list": _list_checkpoints,
        "ruling": _ruling,
        "about": _about,
        "finish": ask_to_finish,
        "help": _help,
        "palette": _palette,
    }
)
"""Requests by command id."""
