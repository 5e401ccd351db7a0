"""The settling screen: steps through the differences of two reviews, both sides in sight."""

from collections.abc import Callable

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.message import Message

from keymaps.card import screen_card
from keymaps.command import Where
from keymaps.keymap import Keymap
from sessions.errors import EntryRefused, FramecallError, ReviewClosed
from sessions.record.entries import Played, Shown
from tui.bench.finishing_dialogs import ask_to_amend
from tui.bench.lens_commands import LENS_DEEDS
from tui.bench.notices import too_small
from tui.bench.panels import StatusPanel
from tui.bench.screen import BenchScreen
from tui.footage.footage import Footage
from tui.picture.lens import Lens
from tui.picture.source import PictureSource
from tui.settling import rows
from tui.settling.panels import AroundPanel, DisputesPanel, HalvesPanel
from tui.settling.pictures import SidesPane
from tui.settling.settlement import Settlement
from tui.widgets.command_screen import CommandScreen, bindings_of
from tui.widgets.dialogs import AskScreen, ConfirmScreen, PageScreen
from tui.widgets.frameview import FrameView
from tui.widgets.keysline import KeysLine
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


class SettlingScreen(CommandScreen):
    """Two finished reviews side by side. Commands come as ``action_do``."""

    where = Where.SETTLING
    BINDINGS = bindings_of(Where.SETTLING)
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (100, "-wide"), (160, "-widest")]  # noqa: RUF012

    class FrameReady(Message):
        """A frame was decoded; posted from the decoding thread."""

    def __init__(
        self,
        settlement: Settlement,
        source: PictureSource,
        pictures: Pictures,
        keymap: Keymap,
        lens: Lens,
        footage: Footage | None = None,
    ) -> None:
        super().__init__()
        self.footage = footage
        self.settlement, self.review = settlement, settlement.review
        self.source, self.pictures, self.keymap, self.lens = source, pictures, keymap, lens
        self.pane = SidesPane(source, pictures, lens, self.review.frames, id="sides")
        self.message: tuple[str, bool] | None = None
        self._taking = [keymap.first_key(command) for command in TAKING]
        self._drawing = False

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

    def on_mount(self) -> None:
        """Begin decoding."""
        self.source.on_ready = self._frame_decoded
        self.changed(self.pictures.note)

    def on_resize(self, _: events.Resize) -> None:
        """Draw for the new size."""
        self.call_after_refresh(self._draw_all)

    def on_screen_resume(self) -> None:
        """Draw what changed under a dialog, or on the bench."""
        self.source.on_ready = self._frame_decoded
        self._draw_soon()

    # -- commands

    def action_do(self, command_id: str) -> None:
        """Do a command of the registry."""
        if command_id in LENS_DEEDS:
            LENS_DEEDS[command_id](self.lens, self.review)
            self.changed()
            return
        deed: Callable[[], None] = getattr(self, f"_do_{command_id.replace('.', '_')}")
        self.attempt(deed)

    def attempt(self, deed: Callable[[], str | None]) -> None:
        """Do something, and say what came of it; what is refused changes nothing."""
        try:
            self.changed(deed())
        except ReviewClosed:
            ask_to_amend(self, self.review, deed, self.attempt)
        except FramecallError as error:
            self.changed(str(error), error=True)

    def _do_settle_next(self) -> None:
        self._move(1)

    def _do_settle_previous(self) -> None:
        self._move(-1)

    def _move(self, steps: int) -> None:
        self.settlement.move(steps)
        self.lens.follow(self.review.checkpoint.kind if self.review.checkpoint else None)

    def _do_settle_first(self) -> None:
        self._ask_to_take(0)

    def _do_settle_second(self) -> None:
        self._ask_to_take(1)

    def _ask_to_take(self, place: int) -> None:
        self.settlement.check_open()
        self._check_seen()
        title = rows.why_taken(self.settlement, place)
        self._ask(title, lambda reason: self.settlement.take(place, reason))

    def _check_seen(self) -> None:
        """Raises EntryRefused where the two frames cannot be seen: nobody can decide by them."""
        if words := too_small(self):
            raise EntryRefused(words)
        if not self.pane.shows_sides:
            first, second = self.settlement.frames
            raise EntryRefused(
                f"Frames {first} and {second} are not on the screen yet; wait for them."
            )

    def _ask(self, title: str, take: Callable[[str], str], left: str | None = None) -> None:
        """Ask for a reason; ``left`` is what to say where none is given."""

        def answered(said: str | None) -> None:
            if said is not None or left is not None:
                self.changed(left if said is None else said, error=said is None)

        hint = "Kept with the ruling; no names."
        self.app.push_screen(AskScreen(title, hint, take), answered)

    def _do_settle_again(self) -> None:
        """The bench at the difference; it is left as any bench, and then asks for the reason."""
        if self.settlement.disputes:
            self.settlement.check_open()
        before = len(self.review.lines)
        review, lens = self.review, self.lens
        bench = BenchScreen(
            review, self.source, self.pictures, self.keymap, lens, footage=self.footage
        )
        self.app.push_screen(bench, lambda _: self._back_from_bench(before))

    def _back_from_bench(self, before: int) -> None:
        self.pane.forget()
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

    def _do_settle_others(self) -> None:
        self.settlement.show_others()

    def _do_settle_remarks(self) -> None:
        lines = rows.remark_lines(self.settlement) or ["Nothing else differs."]
        page = Text("\n\n".join([REMARKS, *lines]))
        self.app.push_screen(PageScreen("What needs no settling", page))

    def _do_settle_finish(self) -> None:
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

    def _do_help(self) -> None:
        width = min(100, self.size.width - 8)
        page = Text(screen_card(self.keymap, self.where, width), no_wrap=True)
        self.app.push_screen(PageScreen(f"Keys ({self.keymap.title})", page))

    def _do_palette(self) -> None:
        self.app.action_command_palette()

    def _do_redraw(self) -> None:
        for view in self.query(FrameView):
            view.invalidate()
        self.app.refresh(layout=True)
        self._draw_all()

    def keep(self) -> None:
        """Write down what was shown last."""
        try:
            self.settlement.review.flush_seen()
        except FramecallError as error:
            self.changed(str(error), error=True)

    # -- drawing

    def changed(self, message: str | None = None, *, error: bool = False) -> None:
        """Something changed: say so, and draw."""
        self.message = (message, error) if message else None
        self._draw_soon()

    def _draw_soon(self) -> None:
        """Draw once, after all keys that wait are dealt with."""
        self.pane.sides = self.settlement.frames
        if not self._drawing:
            self._drawing = True
            self.call_next(self._draw)

    def _frame_decoded(self, _: int) -> None:
        self.post_message(self.FrameReady())

    def on_settling_screen_frame_ready(self, _: FrameReady) -> None:
        """Show the frames, or ask for the other one."""
        self._draw_soon()

    def on_frame_view_ready(self, _: FrameView.Ready) -> None:
        """The terminal has room again."""
        self._draw_soon()

    def _draw_all(self) -> None:
        self.query_one(KeysLine).show_keymap(self.keymap, SHOWN)
        self.pane.forget()
        self._draw_soon()

    def _want(self) -> None:
        """Ask for the frame that is not at hand; the source remembers only the last wish."""
        if (missing := self.pane.missing) is not None:
            self.source.want(missing)

    def _draw(self) -> None:
        self._drawing = False
        if not self.is_active:
            return
        self.source.magnify(not self.lens.is_whole)
        self._want()
        if self.pane.draw_sides() and not too_small(self):
            for frame in self.pane.sides:
                self.review.seen.show(frame)
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
        panel = self.query_one("#message", StatusPanel)
        if self.message is not None:
            panel.say(self.message[0], error=self.message[1])
        elif words := too_small(self) or self.source.failure:
            panel.say(words, error=True)
        else:
            panel.state(f"Ruling now: {self.review.ruling.summary}")
