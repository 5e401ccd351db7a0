"""What the bench asks of the reviewer, and the pages that it shows."""

from collections.abc import Callable, Mapping
from functools import partial
from typing import Literal

from rich.text import Text

from keymaps.commands import Command
from sessions.docket.blindness import begins_blind
from sessions.docket.claims import ListedClaim
from sessions.errors import EntryRefused
from sessions.record.entries import Line
from sessions.rules.rulebook import OTHER
from sessions.ruling.report import report as ruling_report
from sessions.sanitize import sanitize
from tui.bench import finishing, places, rows, runs
from tui.bench.finishing import claim_words, may_know, read_in
from tui.bench.panels import checkpoint_line
from tui.bench.review import Review
from tui.bench.tagging import check_reads_display, check_within
from tui.footage.fitness import fitness, report
from tui.footage.footage import Footage
from tui.widgets.command_screen import CommandScreen, Handler
from tui.widgets.dialogs import AskScreen, ChooseScreen, ConfirmScreen, PageScreen

AFTER = (
    "A finished review is only changed once you say why, and the ruling prints your reason. A "
    "review that was begun blind shows its claim once it is finished and leaves no run open."
)

AMEND = (
    "This review is finished. What rests on it may have to be settled and issued anew. Why do you "
    "amend it?"
)


class BenchDialogs:
    """Asks on a ``screen`` for what a ``review`` needs.

    ``listed`` is its claim on the docket, and ``footage`` what is open, where they are known.
    """

    def __init__(
        self,
        screen: CommandScreen,
        review: Review,
        listed: ListedClaim | None = None,
        footage: Footage | None = None,
    ) -> None:
        self._screen, self._review = screen, review
        self._listed, self._footage = listed, footage

    def handlers(self) -> Mapping[str, Handler]:
        """The handlers of the commands that ask something or show a page, by command id."""
        return {
            "go_to": self._go_to,
            "reading": self._reading,
            "note": self._note,
            "accept": self._accept,
            "attempts_before": self._attempts_before,
            "capture_rate": self._capture_rate,
            "other_fault": self._other_fault,
            "not_shown": self._not_shown,
            "fumble.up": partial(self._fumble, "up"),
            "fumble.down": partial(self._fumble, "down"),
            "ladder.list": self._list_checkpoints,
            "ruling": self._ruling,
            "about": self._about,
            "finish": self._ask_to_finish,
        }

    def _ask(self, title: str, hint: str, take: Callable[[str], str | None]) -> None:
        """Ask for a line until it is taken or left, and say on the bench what came of it."""

        def answered(said: str | None) -> None:
            if said is not None:
                self._screen.attempt(lambda: said)

        self._screen.app.push_screen(AskScreen(title, hint, take), answered)

    def _go_to(self) -> None:
        hint = "A frame (412), frames on or back (+30), a time (1:23.5, 83.5s), 00:00:03:12."
        self._ask("Go to", hint, partial(places.go_to_place, self._review))

    def _reading(self) -> None:
        review = self._review
        review.check_open()
        run = review.needed_run()
        check_reads_display(review, review.frame)
        title = f"What does the display read after run {run.id}?"
        self._ask(title, "Seconds, such as 6.482.", partial(runs.read_display, review))

    def _note(self) -> None:
        self._review.check_open()
        title = f"Note at frame {self._review.frame}"
        self._ask(title, "No names: codes are enough.", partial(runs.add_note, self._review))

    def _accept(self) -> None:
        self._review.check_open()
        display, run = runs.check_contradicted(self._review), self._review.needed_run()
        title = f"Why do you accept {display} s in run {run.id}, which the picture contradicts?"
        hint = "Kept with the ruling; no names."
        self._ask(title, hint, partial(runs.accept_reading, self._review))

    def _attempts_before(self) -> None:
        self._review.check_open()
        title = "How many attempts were used before this footage begins, and how do you know?"
        hint = "Such as: 2, by the results list. 0 takes it back."
        self._ask(title, hint, partial(runs.attempts_before, self._review))

    def _capture_rate(self) -> None:
        self._review.check_open()
        title = "At how many frames a second was it taken, and how do you know?"
        hint = "Such as: 240, by the camera's settings. 0 takes it back."
        self._ask(title, hint, partial(runs.capture_rate, self._review))

    def _other_fault(self) -> None:
        review = self._review
        runs.check_other_fault(review)
        listed = [(rule, saw) for rule in runs.other_rules(review) for saw in runs.SAWS]
        lines = [f"{rule.title}: {runs.SAWS[saw]}" for rule, saw in listed]

        def chosen(index: int | None) -> None:
            if index is None:
                return
            rule, saw = listed[index]
            title = f"{rule.title}: what does frame {review.frame} show?"
            hint = "No names." if rule.id == OTHER else "No names; Enter alone adds nothing."
            self._ask(title, hint, lambda why: runs.other_fault(review, rule, saw, why))

        self._screen.app.push_screen(ChooseScreen("Which rule?", lines), chosen)

    def _not_shown(self) -> None:
        review = self._review
        review.check_open()
        listed = runs.lacks(review)

        def chosen(index: int | None) -> None:
            if index is None:
                return
            lack = listed[index]
            if lack.said is not None:
                line = lack.said
                self._screen.attempt(lambda: self._take_back(line, lack.words))
            else:
                self._screen.attempt(lambda: self._ask_lack(lack))

        title = "What does the footage not show?"
        self._screen.app.push_screen(ChooseScreen(title, [lack.words for lack in listed]), chosen)

    def _ask_lack(self, lack: runs.Lack) -> None:
        runs.check_lacks(self._review, lack)
        title = f"{lack.words}: why can it not be seen?"
        self._ask(title, "A reason.", partial(runs.not_shown, self._review, lack))

    def _take_back(self, line: Line, words: str) -> str:
        self._review.retract([line])
        return f"{words}."

    def _fumble(self, phase: Literal["up", "down"]) -> None:
        review = self._review
        review.check_open()
        check_within(review, review.frame)
        stacks = runs.fumble_stacks(review)

        def chosen(index: int | None) -> None:
            if index is not None:
                self._screen.attempt(lambda: runs.fumble(review, stacks[index], phase))

        title = f"Which stack fell or slid in the {phase} phase?"
        options = [stack.words for stack in stacks]
        self._screen.app.push_screen(
            ChooseScreen(title, options, runs.likely_stack(review)), chosen
        )

    def _list_checkpoints(self) -> None:
        review = self._review
        found = rows.checkpoints_of(review, review.counted_run())
        checkpoints = [checkpoint for checkpoint, _ in found]
        here = review.checkpoint
        at = checkpoints.index(here) if here in checkpoints else 0

        def chosen(index: int | None) -> None:
            if index is not None:
                review.chosen = checkpoints[index].id
                self._screen.changed(f"Chosen: {checkpoints[index].title}.")

        lines = [checkpoint_line(row) for _, row in found]
        self._screen.app.push_screen(ChooseScreen("Which checkpoint?", lines, at), chosen)

    def _ruling(self) -> None:
        self._review.check_read()
        self._screen.keep()  # what the ruling counts as shown is what was shown
        review = self._review
        parts = [
            claim_words(review, self._listed),
            ruling_report(review.ruling, None if self._footage is None else self._footage.damaged),
            finishing.unseen_text(review),
        ]
        page = Text("\n".join(part for part in parts if part))
        self._screen.app.push_screen(PageScreen("The ruling as it would be now", page))

    def _about(self) -> None:
        if self._footage is None:
            raise EntryRefused("Nothing is known of this footage here.")
        lines = report(fitness(self._footage)).splitlines()
        page = Text("\n".join(sanitize(line) for line in lines))
        self._screen.app.push_screen(PageScreen("The footage", page))

    # -- finishing

    def _ask_to_finish(self) -> None:
        """Show what is still open, and finish the review if the reviewer says so."""
        self._screen.keep()
        finishing.check_unfinished(self._review)

        def answered(yes: bool | None) -> None:
            if yes:
                self._screen.attempt(self._finish)

        page = self._still_open()
        self._screen.app.push_screen(
            ConfirmScreen("Finish this review?", page, "finish it", "not yet"), answered
        )

    def _still_open(self) -> Text:
        left = finishing.still_open(self._review, self._screen.keymap.first_key("accept"))
        lines = [f"Ruling now: {self._review.ruling.summary}", ""]
        lines += [
            "Still open:" if left else "Nothing is left open.",
            *(f"- {line}" for line in left),
        ]
        if accepted := finishing.accepted_readings(self._review):
            lines += [
                "",
                "Readings accepted with a reason:",
                *(f"- {line}" for line in accepted),
            ]
        return Text("\n".join([*lines, "", AFTER]))

    def _finish(self) -> str:
        review, listed = self._review, self._listed
        said = finishing.finish(review)
        if not may_know(review):
            return f"{said} The claim stays hidden until no run is left open."
        if not begins_blind(review.session.header) or listed is None:
            return said
        return f"{said} {claim_words(review, listed)}. {read_in(review, listed)}"


def ask_to_amend(
    screen: CommandScreen, review: Review, handler: Handler, command: Command | None
) -> None:
    """Ask why a finished review is amended, take it up again, and do what was asked for."""

    def answered(said: str | None) -> None:
        if said is not None:
            screen.attempt(lambda: " ".join(part for part in (handler(), said) if part), command)

    hint = "Printed in the ruling; no names."
    take = partial(finishing.reopen, review)
    screen.app.push_screen(AskScreen(AMEND, hint, take), answered)
