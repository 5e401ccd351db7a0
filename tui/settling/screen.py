"""The settling screen: the differences of two reviews one by one, both sides in sight."""

from collections.abc import Callable, Mapping, Sequence
from functools import partial

from rich.text import Text
from textual.app import ComposeResult

from keymaps.commands import Where
from keymaps.keymap import Keymap
from sessions.record.entries import Played, Shown
from tui.bench.review_screen import ReviewScreen
from tui.bench.screen import BenchScreen
from tui.footage.footage import Footage
from tui.picture.lens import Lens
from tui.picture.source import PictureSource
from tui.settling import rows
from tui.settling.panels import AroundPanel, DisputesPanel, HalvesPanel, SidesPane
from tui.settling.settlement import Settlement
from tui.widgets.command_screen import Handler, bindings_of, one_table
from tui.widgets.dialogs import AskScreen, ConfirmScreen, PageScreen
from tui.widgets.panels import KeysLine, StatusPanel
from tui.widgets.pictures import Pictures

SHOWN = (
    "help", "settle.first", "settle.second", "settle.again", "settle.finish", "settle.next",
    "settle.previous", "lens", "pair.difference", "palette", "quit",
)  # fmt: skip
"""The commands whose keys are in sight, as far as the line has room."""

TAKING = ("settle.first", "settle.second")
"""The commands that take what is said on the left, and on the right."""

REMARKS = (
    "These differ too, but need no settling: brackets in frames (not yet, surely] that differ "
    "although both found the same, what only some looked at, and what follows from the rest."
)

NO_REASON = "Tagged anew, but no reason was given: take a side, or look again and say why."


class SettlingScreen(ReviewScreen):
    """Two finished reviews side by side."""

    where = Where.SETTLING
    BINDINGS = bindings_of(Where.SETTLING)
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (100, "-wide"), (160, "-widest")]  # noqa: RUF012

    pane: SidesPane

    def __init__(
        self,
        settlement: Settlement,
        source: PictureSource,
        pictures: Pictures,
        keymap: Keymap,
        lens: Lens,
        footage: Footage | None = None,
    ) -> None:
        review = settlement.review
        super().__init__(review, source, pictures, keymap, lens)
        self.settlement, self.footage = settlement, footage
        self.pane = SidesPane(source, pictures, lens, review.frames, self.showing, id="sides")
        self._taking = [keymap.first_key(command) for command in TAKING]
        self.handlers = one_table(
            self.where,
            self._handlers_of_settling(),
            self.handlers_of_lens(),
            self.handlers_everywhere(),
        )

    def compose(self) -> ComposeResult:
        """Status, the question, both pictures and what is said of them, brackets and list."""
        yield StatusPanel(id="where")
        yield StatusPanel(id="question")
        yield HalvesPanel(id="frames")
        yield self.pane
        yield HalvesPanel(id="captions")
        yield AroundPanel(id="around")
        yield DisputesPanel(id="disputes")
        yield StatusPanel(id="message")
        yield KeysLine(id="keys")

    # -- commands

    def _handlers_of_settling(self) -> Mapping[str, Handler]:
        return {
            "settle.next": partial(self._move, 1),
            "settle.previous": partial(self._move, -1),
            "settle.first": partial(self._ask_to_take, 0),
            "settle.second": partial(self._ask_to_take, 1),
            "settle.again": self._look_again,
            "settle.others": self.settlement.show_others,
            "settle.remarks": self._show_remarks,
            "settle.finish": self._ask_to_finish,
            "undo": self.settlement.undo,
            "redo": self.settlement.redo,
            "save_elsewhere": self.review.save_elsewhere,
        }

    @property
    def frames_judged(self) -> Sequence[int]:
        """The frames that the two sides name."""
        return self.settlement.frames

    def _move(self, differences: int) -> None:
        self.settlement.move(differences)
        self.lens.follow(self.review.checkpoint.kind if self.review.checkpoint else None)

    def _ask_to_take(self, place: int) -> None:
        self.settlement.check_open()
        title = rows.why_taken(self.settlement, place)
        self._ask(title, partial(self.settlement.take, place))

    def _ask(self, title: str, take: Callable[[str], str], left: str | None = None) -> None:
        """Ask for a reason; ``left`` is what to say where none is given."""

        def answered(said: str | None) -> None:
            if said is not None or left is not None:
                self.changed(left if said is None else said, error=said is None)

        hint = "Kept with the ruling; no names."
        self.app.push_screen(AskScreen(title, hint, take), answered)

    def _look_again(self) -> None:
        """The bench at the difference; it is left as any bench, and then asks for the reason."""
        if self.settlement.disputes:
            self.settlement.check_open()
        before = len(self.review.lines)
        bench = BenchScreen(
            self.review,
            self.source,
            self.pictures,
            self.keymap,
            self.lens,
            footage=self.footage,
        )
        self.app.push_screen(bench, lambda _: self._back_from_bench(before))

    def _back_from_bench(self, before: int) -> None:
        self.showing.forget()
        tagged = [
            line
            for line in self.review.lines[before:]
            if not isinstance(line.entry, Shown | Played)
        ]
        if not tagged:
            self.changed("Nothing was tagged anew.")
        elif self.settlement.current is None:
            self.changed()
        else:
            title = rows.why_anew(self.settlement)
            self._ask(title, self.settlement.looked_again, NO_REASON)

    def _show_remarks(self) -> None:
        lines = rows.remark_lines(self.settlement) or ["Nothing else differs."]
        page = Text("\n\n".join([REMARKS, *lines]))
        self.app.push_screen(PageScreen("What needs no settling", page))

    def _ask_to_finish(self) -> None:
        self.settlement.check_settled()
        lines = [f"Ruling now: {self.review.ruling.summary}", ""]
        lines += [f"- {row.title}: {row.outcome}" for row in rows.dispute_rows(self.settlement)]

        def answered(yes: bool | None) -> None:
            if yes:
                self.attempt(self.settlement.finish)

        page = Text("\n".join(lines))
        self.app.push_screen(
            ConfirmScreen("Finish settling?", page, "finish it", "not yet"), answered
        )

    # -- drawing

    def want(self) -> None:
        """Take the two frames in hand; they are asked for one after the other as they are drawn."""
        self.pane.sides = self.settlement.frames

    def draw(self) -> None:
        """Draw both pictures, and what is said of them."""
        if not self.is_active or not self.is_up:
            return
        self.source.magnify(not self.lens.is_whole)
        if (missing := self.pane.missing) is not None:
            self.source.want(missing)  # the source remembers only the last wish
        self.pane.draw_sides()
        if not self.too_small:
            self.showing.seen(*self.pane.sides)
        self._draw_words()

    def _draw_words(self) -> None:
        settlement = self.settlement
        place, left, *others = rows.status_parts(settlement)
        parts = [place, left, self.pane.words, self.lens.words(), *others]
        self.query_one("#where", StatusPanel).state(*parts, self.pictures.words)
        self.query_one("#question", StatusPanel).state(rows.question(settlement))
        self.query_one("#frames", HalvesPanel).show_frames(rows.frame_labels(settlement))
        self.query_one("#captions", HalvesPanel).show_captions(
            rows.captions(settlement), self._taking
        )
        self.query_one(AroundPanel).show_around(rows.around(settlement))
        self.query_one(DisputesPanel).show_rows(rows.dispute_rows(settlement))
        self.draw_keys(SHOWN)
        panel = self.query_one("#message", StatusPanel)
        ruling = f"Ruling now: {self.review.ruling.summary}"
        if self.message is not None:
            panel.say(self.message[0], ruling, error=self.message[1])
        elif words := self.too_small or self.source.failure:
            panel.say(words, error=True)
        else:
            panel.state(ruling)
