"""The docket: all claims in the order of work, and the bench for the one that is opened."""

from collections.abc import Callable
from contextlib import suppress

from rich.text import Text
from textual import events, work
from textual._styles_cache import StylesCache
from textual.app import ComposeResult
from textual.binding import Binding
from textual.message import Message
from textual.worker import get_current_worker

from keymaps.commands import Where
from keymaps.keymap import Keymap
from sessions.docket.docket import Docket
from sessions.docket.work_order import Placed, next_claim
from sessions.errors import EntryRefused, FramecallError
from sessions.sanitize import sanitize
from tui.docket.dialogs import DocketDialogs
from tui.docket.opening import Abandoned, DocketWork, Job, OpenCase, SameFootage, Tell
from tui.docket.panels import DocketList, filter_line
from tui.docket.rows import DocketRow, DocketView, Sight, docket_rows
from tui.docket.words import (
    LIST_KEYS,
    NOTHING_FOUND,
    SHOWN,
    chosen_note,
    help_page,
    next_line,
    status_parts,
    taken_keys,
)
from tui.widgets.command_screen import CommandScreen, bindings_of, one_table
from tui.widgets.dialogs import PageScreen
from tui.widgets.panels import KeysLine, Panel, StatusPanel

AT_ONCE = 100
"""Sessions from one word on how far reading has come to the next."""


class Progress(Message, namespace="docket_screen"):
    """So many sessions are read, of how many; ``None`` once they all are."""

    def __init__(self, sessions: tuple[int, int] | None) -> None:
        super().__init__()
        self.sessions = sessions


class Read(Message, namespace="docket_screen"):
    """The docket was read anew; posted from the reading thread."""

    def __init__(self, rows: tuple[DocketRow, ...], next_up: str | None) -> None:
        super().__init__()
        self.rows, self.next_up = rows, next_up


class Told(Message, namespace="docket_screen"):
    """Something to be said; ``ends`` is whether what was begun is over."""

    def __init__(self, words: str, *, error: bool = False, ends: bool = False) -> None:
        super().__init__()
        self.words, self.error, self.ends = words, error, ends


class Asked(Message, namespace="docket_screen"):
    """What is to be asked before a claim is opened; posted from the opening thread."""

    def __init__(self, found: SameFootage) -> None:
        super().__init__()
        self.found = found


class Opened(Message, namespace="docket_screen"):
    """A claim is open; posted from the opening thread."""

    def __init__(self, case: OpenCase) -> None:
        super().__init__()
        self.case = case


def rows_now(docket: Docket, sight: Sight) -> Read:
    """The rows as the docket is arranged now, and the claim to look at next."""
    found = next_claim(docket.placed, sight.reviewer)
    next_up = None if found is None else found.state.claim.claim
    return Read(docket_rows(docket.placed, sight), next_up)


class DocketReader:
    """Reads a docket as one reviewer may see it.

    ``post`` takes what is to be told, from any thread; reading is given up once ``is_given_up``.
    """

    def __init__(
        self,
        docket: Docket,
        sight: Sight,
        post: Callable[[Message], object],
        is_given_up: Callable[[], bool],
    ) -> None:
        self._docket, self._sight = docket, sight
        self._post, self._is_given_up = post, is_given_up
        self._told = docket.placed

    def read(self) -> None:
        """Read what has changed, and tell of it; while that is much, of how far it has come."""
        try:
            if self._docket.refresh(self._follow):
                self._post(rows_now(self._docket, self._sight))
        except Abandoned:
            return
        except FramecallError as error:
            self._post(Told(str(error), error=True))
        self._post(Progress(None))

    def _follow(self, done: int, total: int) -> None:
        if self._is_given_up():
            raise Abandoned("Reading the sessions was given up.")
        if done % AT_ONCE == 0 and done < total:
            self._post(Progress((done, total)))
        if self._docket.placed is not self._told:
            self._told = self._docket.placed
            self._post(rows_now(self._docket, self._sight))


POLL_SECONDS = 2.0
"""How often the docket looks for what others have changed."""


class DocketScreen(CommandScreen):
    """Claims to choose from by typing; Enter opens one, and quitting its bench comes back here."""

    where = Where.DOCKET
    BINDINGS = [  # noqa: RUF012 - Textual's own way
        *(Binding(key, action, show=False) for key, action in LIST_KEYS.items()),
        *bindings_of(Where.DOCKET),
    ]

    def __init__(self, docket: Docket, sight: Sight, work: DocketWork, keymap: Keymap) -> None:
        super().__init__()
        self.docket, self.sight, self.keymap = docket, sight, keymap
        self.view = DocketView()
        self.next_up: str | None = None
        self._dialogs = DocketDialogs(self, docket, sight, work, self.chosen, self.begin)
        self.handlers = one_table(self.where, self._dialogs.handlers(), self.handlers_everywhere())
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
        yield KeysLine(id="keys")

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

    def on_docket_screen_progress(self, event: Progress) -> None:
        """Say how far reading has come; after the first time, choose what is next."""
        self._reading = event.sessions
        if event.sessions is None and self._awaits_next:
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

    # -- what takes long

    def chosen(self) -> Placed:
        """The chosen claim as it stands; raises EntryRefused where none is found."""
        row = self.view.chosen
        found = None if row is None else self.docket.find(row.claim.claim)
        if found is None:
            raise EntryRefused(NOTHING_FOUND)
        return found

    def begin(self, words: str, job: Job) -> str | None:
        """Do one thing at a time, in a thread; returns what to say."""
        if self._is_busy:
            return None if self.message is None else self.message[0]
        self._is_busy = True
        self._run(job)
        return words

    @work(thread=True, group="open")
    def _run(self, job: Job) -> None:
        try:
            done = job(self._teller())
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
        self._come_up(lambda: self._dialogs.ask_to_take_over(event.found))

    def on_docket_screen_opened(self, event: Opened) -> None:
        """Show the claim; when its screen is left, close it."""

        def left(_: None) -> None:
            self.call_after_refresh(forget_screens_left)
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

    def show_help(self) -> None:
        """Show what the docket shows, and its keys."""
        self.app.push_screen(PageScreen("The docket", Text(help_page(self.keymap))))

    def draw_soon(self) -> None:
        """Draw all as it is now."""
        self.draw()

    def on_screen_resume(self) -> None:
        """Draw what changed while another screen was in front; show what was opened meanwhile."""
        self.draw()
        if self._held is not None:
            self._come_up(self._held)

    def draw(self) -> None:
        """Draw all as it is now."""
        if not self.is_active or not self.is_up:
            return
        self.query_one("#where", StatusPanel).state(
            *status_parts(self.docket, self.sight, self.view.rows, self._reading)
        )
        self.query_one("#next", StatusPanel).state(
            next_line(self.view.rows, self.next_up, is_reading=self._reading is not None)
        )
        self.query_one("#filter", Panel).show([filter_line(self.view)])
        self.query_one(KeysLine).show_keymap(self.keymap, SHOWN, ("Tab", "next"))
        note = chosen_note(self.docket.folder, self.view.chosen)
        panel = self.query_one("#message", StatusPanel)
        if self.message is not None:
            panel.say(self.message[0], error=self.message[1])
        else:
            panel.state(note)
        self.query_one(DocketList).refresh()


def forget_screens_left() -> None:
    """Drop what the terminal library keeps of screens that were left: with them, their pictures.

    Nothing public does that; where the library keeps nothing any more, nothing is done.
    """
    kept = getattr(StylesCache, "get_inner_outer", None)
    with suppress(AttributeError):
        kept.cache_clear()  # type: ignore[union-attr]
