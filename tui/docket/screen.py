"""The docket: all claims in the order of work, and the bench for the one that is opened."""

from collections.abc import Callable

from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding
from textual.worker import get_current_worker

from keymaps.command import Where
from keymaps.keymap import Keymap
from sessions.docket.claim_state import ClaimState
from sessions.docket.claims import ListedClaim
from sessions.docket.docket import Docket
from sessions.docket.work_order import Placed
from sessions.errors import EntryRefused, FramecallError
from sessions.sanitize import sanitize
from tui.bench.panels import StatusPanel
from tui.docket.case import Abandoned, Deed, DocketDeeds, SameFootage, Tell
from tui.docket.claim_list import DocketList
from tui.docket.messages import Asked, Opened, Read, Reading, Told
from tui.docket.reading import DocketReader, rows_now
from tui.docket.requests import DEEDS, ask_to_take_over
from tui.docket.rows import Sight, as_seen
from tui.docket.view import DocketView
from tui.docket.words import (
    LIST_KEYS,
    NOTHING_FOUND,
    chosen_note,
    filter_line,
    keys_line,
    next_line,
    show_message,
    status_parts,
    taken_keys,
)
from tui.widgets.command_screen import CommandScreen, bindings_of
from tui.widgets.panel import Panel

POLL_SECONDS = 2.0
"""How often the docket looks for what others have changed."""


class DocketScreen(CommandScreen):
    """Claims to choose from by typing; Enter opens one, and quitting its bench comes back here."""

    where = Where.DOCKET
    BINDINGS = [  # noqa: RUF012 - Textual's own way
        *(Binding(key, action, show=False) for key, action in LIST_KEYS.items()),
        *bindings_of(Where.DOCKET),
    ]

    def __init__(self, docket: Docket, sight: Sight, deeds: DocketDeeds, keymap: Keymap) -> None:
        super().__init__()
        self.docket, self.sight, self.keymap = docket, sight, keymap
        self.view = DocketView()
        self.next_up: str | None = None
        self.message: tuple[str, bool] | None = None
        self.deeds = deeds
        self._is_reading = False
        self._is_busy = False
        self._reading: tuple[int, int] | None = None
        self._awaits_next = False
        self._taken = taken_keys(keymap)
        self._held: Callable[[], object] | None = None

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
        self.on_docket_screen_read(rows_now(self.docket, self.sight))
        self.action_next()
        self.set_interval(POLL_SECONDS, self.poll)
        if self.docket.due:
            self._reading, self._awaits_next = (0, self.docket.due), True
            self.poll()

    def on_resize(self, _: events.Resize) -> None:
        """Draw for the new size."""
        self.call_after_refresh(self.draw)

    # -- following what others change

    def poll(self) -> None:
        """Read the docket anew, unless that is under way, or the bench is in front."""
        if self.is_active and not self._is_reading:
            self._is_reading = True
            self._read()

    @work(thread=True, group="read")
    def _read(self) -> None:
        worker = get_current_worker()
        reader = DocketReader(
            self.docket, self.sight, self.post_message, lambda: worker.is_cancelled
        )
        try:
            reader.read()
        finally:
            self._is_reading = False

    def _teller(self) -> Tell:
        """Says how far a thread has come; gives up where the program ends."""
        worker = get_current_worker()

        def tell(words: str) -> None:
            if worker.is_cancelled:
                raise Abandoned("What was begun was given up.")
            self.post_message(Told(words))

        return tell

    def on_docket_screen_read(self, event: Read) -> None:
        """Take the rows as they are now."""
        self.next_up = event.next_up
        self.view.update(event.rows)
        self.draw()

    def on_docket_screen_reading(self, event: Reading) -> None:
        """Say how far reading has come; after the first time, choose what is next."""
        self._reading = event.progress
        if event.progress is None and self._awaits_next:
            self.action_next()
        self.draw()

    def on_docket_screen_told(self, event: Told) -> None:
        """Say what a thread has to say."""
        if event.ends:
            self._is_busy = False
        self.changed(event.words, error=event.error)

    # -- choosing

    def on_key(self, event: events.Key) -> None:
        """Every character typed narrows the list."""
        if event.is_printable and event.character and event.key not in self._taken:
            event.stop()
            event.prevent_default()
            self._search(self.view.typed + event.character)

    def on_paste(self, event: events.Paste) -> None:
        """Search for what is pasted, its first line."""
        self._search(self.view.typed + sanitize(event.text.partition("\n")[0]))

    def _search(self, typed: str) -> None:
        self.message, self._awaits_next = None, False
        self.view.search(typed)
        self.draw()

    def action_erase(self) -> None:
        """Take back the last character typed."""
        self._search(self.view.typed[:-1])

    def action_clear(self) -> None:
        """Show all claims again."""
        self._search("")

    def action_move(self, rows: int) -> None:
        """Choose a claim further down or up."""
        self.message, self._awaits_next = None, False
        self.view.move(rows)
        self.draw()

    def action_page(self, pages: int) -> None:
        """Choose a claim a page further down or up."""
        self.action_move(pages * self.query_one(DocketList).height)

    def action_next(self) -> None:
        """Choose the claim to look at next."""
        self.message, self._awaits_next = None, False
        if self.next_up is not None:
            self.view.search("")
            self.view.choose(self.next_up)
        self.draw()

    # -- commands, and what takes long

    def action_do(self, command_id: str) -> None:
        """Do a command of the registry."""
        self.attempt(lambda: DEEDS[command_id](self))

    def attempt(self, deed: Callable[[], None]) -> None:
        """Do something; what is refused is said, and changes nothing."""
        try:
            deed()
        except FramecallError as error:
            self.changed(str(error), error=True)

    def chosen(self) -> Placed:
        """The chosen claim as it stands; raises EntryRefused where none is found."""
        row = self.view.chosen
        found = None if row is None else self.docket.find(row.claim.claim)
        if found is None:
            raise EntryRefused(NOTHING_FOUND)
        return found

    def review(self, claim: ListedClaim, take_over: bool | None = None) -> None:
        """Open a claim's footage on the bench; ``take_over`` as in ``DocketDeeds``."""
        others = (one for one in self.docket.placed if one.state.claim.claim != claim.claim)
        seen = as_seen(claim, self.sight.waiting(others))
        self.begin(
            f"Opening {sanitize(claim.claim)}...",
            lambda tell: self.deeds.review(seen, tell, take_over),
        )

    def settle(self, state: ClaimState, *, anew: bool = False) -> None:
        """Open the reviews of a claim to settle them."""
        name = sanitize(state.claim.claim)
        self.begin(
            f"Opening {name} to settle...", lambda tell: self.deeds.settle(state, anew, tell)
        )

    def begin(self, words: str, deed: Deed) -> None:
        """Do one thing at a time, in a thread."""
        if not self._is_busy:
            self._is_busy = True
            self.changed(words)
            self._run(deed)

    @work(thread=True, group="open")
    def _run(self, deed: Deed) -> None:
        try:
            done = deed(self._teller())
        except FramecallError as error:
            self.post_message(Told(str(error), error=True, ends=True))
            return
        if isinstance(done, str):
            self.post_message(Told(done, ends=True))
            self.app.call_from_thread(self.poll)
        elif isinstance(done, SameFootage):
            self.post_message(Asked(done))
        else:
            self.post_message(Opened(done))

    def on_docket_screen_asked(self, event: Asked) -> None:
        """Ask what has to be known before a claim is opened."""
        self._is_busy = False
        self._come_up(lambda: ask_to_take_over(self, event.found))

    def on_docket_screen_opened(self, event: Opened) -> None:
        """Show the claim; when its screen is left, close it."""

        def left(_: None) -> None:
            self._run(lambda _: event.case.close())

        self._come_up(lambda: self.app.push_screen(event.case.screen(), left))

    def _come_up(self, show: Callable[[], object]) -> None:
        """Show what is ready, once no dialog is in front that keys are being typed into."""
        if not self.is_active:
            self._held = show
            return
        self.message, self._held = None, None
        self.draw()
        show()

    # -- the rest

    def leave(self) -> None:
        """Leave the docket."""
        self.workers.cancel_node(self)
        self.dismiss()

    def changed(self, message: str | None = None, *, error: bool = False) -> None:
        """Something changed: say so until the next key, and draw."""
        self.message = (message, error) if message else None
        self.draw()

    def on_screen_resume(self) -> None:
        """Draw what changed while another screen was in front; show what was opened meanwhile."""
        self.draw()
        if self._held is not None:
            self._come_up(self._held)

    def draw(self) -> None:
        """Draw all as it is now."""
        if not self.is_active:
            return
        self.query_one("#where", StatusPanel).state(
            *status_parts(self.docket, self.sight, self.view.rows, self._reading)
        )
        self.query_one("#next", StatusPanel).state(
            next_line(self.view.rows, self.next_up, is_reading=self._reading is not None)
        )
        self.query_one("#filter", Panel).show([filter_line(self.view)])
        keys = self.query_one("#keys", Panel)
        keys.show([keys_line(self.keymap, keys.size.width)])
        note = chosen_note(self.docket.folder, self.view.chosen)
        show_message(self.query_one("#message", StatusPanel), self.message, note)
        self.query_one(DocketList).refresh()
