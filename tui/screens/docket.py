"""The docket: all claims in the order of work, and the bench for the one that is opened."""

from collections.abc import Callable

from rich.text import Text
from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.message import Message
from textual.screen import Screen
from textual.worker import get_current_worker

from keymaps.keymap import Keymap
from keymaps.keys import display_key
from sessions.claims import ListedClaim
from sessions.contest import next_claim
from sessions.docket import Docket
from sessions.errors import FramecallError
from sessions.plain import plain
from tui.review.docket_rows import DocketRow, Sight, docket_rows
from tui.review.docket_view import DocketView
from tui.screens.dialogs import PageScreen
from tui.screens.docket_case import Abandoned, OpenCase, OpensCases
from tui.screens.docket_words import filter_line, help_page, keys_line, next_line, status_parts
from tui.widgets.docketlist import DocketList
from tui.widgets.panel import Panel
from tui.widgets.panels import StatusPanel

POLL_SECONDS = 2.0
"""How often the docket looks for what others have changed."""


class DocketScreen(Screen[None]):
    """Claims to choose from by typing; Enter opens one, and quitting its bench comes back here."""

    BINDINGS = [  # noqa: RUF012 - Textual's own way
        Binding("up", "move(-1)", "Up", show=False),
        Binding("down", "move(1)", "Down", show=False),
        Binding("pageup", "page(-1)", "Page up", show=False),
        Binding("pagedown", "page(1)", "Page down", show=False),
        Binding("home", "move(-1000000)", "First", show=False),
        Binding("end", "move(1000000)", "Last", show=False),
        Binding("enter", "open", "Open", show=False),
        Binding("tab", "next", "Next claim", show=False),
        Binding("escape", "clear", "Clear", show=False),
        Binding("backspace", "erase", "Erase", show=False),
        Binding("ctrl+q", "leave", "Quit", id="quit", show=False),
        Binding("f1", "help", "Help", id="help", show=False),
        Binding("ctrl+l", "redraw", "Redraw", id="redraw", show=False),
    ]
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (100, "-wide")]  # noqa: RUF012

    class Read(Message):
        """The docket was read anew; posted from the reading thread."""

        def __init__(self, rows: tuple[DocketRow, ...], next_up: str | None) -> None:
            super().__init__()
            self.rows, self.next_up = rows, next_up

    class Told(Message):
        """Something to be said; posted from a thread."""

        def __init__(self, words: str, *, error: bool = False, ends: bool = False) -> None:
            super().__init__()
            self.words, self.error, self.ends = words, error, ends

    class Opened(Message):
        """A claim is open; posted from the opening thread."""

        def __init__(self, case: OpenCase) -> None:
            super().__init__()
            self.case = case

    def __init__(self, docket: Docket, sight: Sight, open_case: OpensCases, keymap: Keymap) -> None:
        super().__init__()
        self.docket, self.sight, self.keymap = docket, sight, keymap
        self.view = DocketView()
        self.next_up: str | None = None
        self.message: tuple[str, bool] | None = None
        self._open_case = open_case
        self._is_reading = False
        self._is_busy = False
        commands = ("quit", "help", "redraw")
        self._taken = {key for command in commands for key in keymap.keys_for(command)}

    def compose(self) -> ComposeResult:
        """What is next above, the list, what is to be said, and the keys."""
        yield StatusPanel(id="where")
        yield StatusPanel(id="next")
        yield Panel(id="filter")
        yield DocketList(self.view, id="claims")
        yield StatusPanel(id="message")
        yield Panel(id="keys")

    def on_mount(self) -> None:
        """Show the docket as it was read, and follow it."""
        self._take(docket_rows(self.docket.placed, self.sight), self._next_up())
        self.action_next()
        self.set_interval(POLL_SECONDS, self.poll)

    def on_resize(self, _: events.Resize) -> None:
        """Draw for the new size."""
        self.call_after_refresh(self._draw)

    # -- following what others change

    def poll(self) -> None:
        """Read the docket anew, unless that is under way, or the bench is in front."""
        if self.is_active and not self._is_reading:
            self._is_reading = True
            self._read()

    @work(thread=True, group="read")
    def _read(self) -> None:
        try:
            changed = self.docket.refresh(self._progress("Reading sessions"))
            if changed:
                rows = docket_rows(self.docket.placed, self.sight)
                self.post_message(self.Read(rows, self._next_up()))
        except Abandoned:
            return
        except FramecallError as error:
            self.post_message(self.Told(str(error), error=True))
        finally:
            self._is_reading = False

    def _next_up(self) -> str | None:
        found = next_claim(self.docket.placed, self.sight.reviewer)
        return None if found is None else found.state.claim.claim

    def _progress(self, what: str) -> Callable[[int, int], None]:
        """Tells how far a thread has come; gives up where the program ends."""
        worker = get_current_worker()

        def tell(done: int, total: int) -> None:
            if worker.is_cancelled:
                raise Abandoned(f"{what} was given up.")
            if done % 100 == 0 and done < total:
                self.post_message(self.Told(f"{what}: {done} of {total}"))

        return tell

    def on_docket_screen_read(self, event: Read) -> None:
        """Take the rows as they are now."""
        self._take(event.rows, event.next_up)
        self._draw()

    def _take(self, rows: tuple[DocketRow, ...], next_up: str | None) -> None:
        self.next_up = next_up
        self.view.update(rows)

    def on_docket_screen_told(self, event: Told) -> None:
        """Say what a thread has to say."""
        if event.ends:
            self._is_busy = False
        self.say(event.words, error=event.error)

    # -- choosing

    def on_key(self, event: events.Key) -> None:
        """Every character typed narrows the list."""
        if event.is_printable and event.character and event.key not in self._taken:
            event.stop()
            event.prevent_default()
            self._search(self.view.typed + event.character)

    def on_paste(self, event: events.Paste) -> None:
        """Search for what is pasted, its first line."""
        self._search(self.view.typed + plain(event.text.partition("\n")[0]))

    def _search(self, typed: str) -> None:
        self.message = None
        self.view.search(typed)
        self._draw()

    def action_erase(self) -> None:
        """Take back the last character typed."""
        self._search(self.view.typed[:-1])

    def action_clear(self) -> None:
        """Show all claims again."""
        self._search("")

    def action_move(self, rows: int) -> None:
        """Choose a claim further down or up."""
        self.message = None
        self.view.move(rows)
        self._draw()

    def action_page(self, pages: int) -> None:
        """Choose a claim a page further down or up."""
        self.action_move(pages * self.query_one(DocketList).height)

    def action_next(self) -> None:
        """Choose the claim to look at next."""
        self.message = None
        if self.next_up is not None:
            self.view.search("")
            self.view.choose(self.next_up)
        self._draw()

    # -- opening

    def action_open(self) -> None:
        """Open the chosen claim's footage on the bench."""
        row = self.view.chosen
        if row is None or self._is_busy:
            return
        self._is_busy = True
        self.say(f"Opening {plain(row.claim.claim)}...")
        self._open(row.claim)

    @work(thread=True, group="open")
    def _open(self, claim: ListedClaim) -> None:
        worker = get_current_worker()

        def tell(words: str) -> None:
            if worker.is_cancelled:
                raise Abandoned("Opening was given up.")
            self.post_message(self.Told(words))

        try:
            self.post_message(self.Opened(self._open_case(claim, tell)))
        except FramecallError as error:
            self.post_message(self.Told(str(error), error=True, ends=True))

    def on_docket_screen_opened(self, event: Opened) -> None:
        """Show the bench; when it is left, close the claim."""
        self.message = None

        def left(_: None) -> None:
            self._close(event.case)

        self.app.push_screen(event.case.bench(), left)

    @work(thread=True, group="open")
    def _close(self, case: OpenCase) -> None:
        try:
            self.post_message(self.Told(case.close(), ends=True))
        except FramecallError as error:
            self.post_message(self.Told(str(error), error=True, ends=True))
        self.app.call_from_thread(self.poll)

    # -- the rest

    def action_help(self) -> None:
        """What the docket is, and its keys."""
        self.app.push_screen(PageScreen("The docket", Text(help_page(self.keymap))))

    def action_redraw(self) -> None:
        """Draw the screen anew."""
        self.app.refresh(layout=True)
        self._draw()

    def action_leave(self) -> None:
        """Leave the docket."""
        self.workers.cancel_node(self)
        self.dismiss()

    def say(self, words: str, *, error: bool = False) -> None:
        """Say something until the next key."""
        self.message = (words, error)
        self._draw()

    def on_screen_resume(self) -> None:
        """Draw what changed while the bench was in front."""
        self._draw()

    def _draw(self) -> None:
        if not self.is_active:
            return
        quit_key = display_key(self.keymap.keys_for("quit")[0])
        self.query_one("#where", StatusPanel).state(*status_parts(self.docket, self.sight))
        self.query_one("#next", StatusPanel).state(next_line(self.view.rows, self.next_up))
        self.query_one("#filter", Panel).show([filter_line(self.view)])
        self.query_one("#keys", Panel).show([keys_line(quit_key)])
        panel = self.query_one("#message", StatusPanel)
        if self.message is not None:
            panel.say(self.message[0], error=self.message[1])
        else:
            panel.state(
                self.view.chosen.note if self.view.chosen else "No claim holds these words."
            )
        self.query_one(DocketList).refresh()
