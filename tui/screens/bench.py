"""The bench: the review screen. It gathers what the panels show and forwards commands."""

import time
from collections.abc import Callable

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical
from textual.message import Message
from textual.screen import Screen

from keymaps.commands import COMMANDS
from keymaps.keymap import Keymap
from sessions.errors import EntryRefused, FramecallError
from tui.picture.cells import Painter
from tui.picture.compose import frame_cells, strip_cells
from tui.picture.source import Picture, PictureSource
from tui.review import rows
from tui.review.commands import DEEDS
from tui.review.desk import Desk
from tui.review.player import Player
from tui.screens.requests import REQUESTS
from tui.widgets.cellsview import CellsView
from tui.widgets.keysline import KeysLine
from tui.widgets.panels import CupsPanel, LadderPanel, RunsPanel, StatusPanel, TimelinePanel

FLUSH_SECONDS = 2.0
"""How often frames shown are written down while nothing is tagged."""

TICK_SECONDS = 1 / 60
"""How often playing looks which frame is due."""

STRIP_SECONDS = 0.1
"""How often the strip looks for neighbours that have been decoded since."""

NARROW, REACH = 100, (2, 3)
"""The strip shows this many neighbours on either side, in less than so many columns and in more."""

MOVES = frozenset(c.id for c in COMMANDS.values() if c.group.name == "MOVE")
FREE = MOVES | {"run.next", "run.previous", "ladder.next", "ladder.previous", "hand"}
FREE |= {"cup.next", "cup.previous", "undo", "redo", "ladder.list", "ruling", "help", "settle"}


class BenchScreen(Screen[None]):
    """One piece of footage under review. Commands come as ``action_do``."""

    BINDINGS = [  # noqa: RUF012 - Textual's own way
        Binding("f24", f"do('{command.id}')", command.label, id=command.id, show=False)
        for command in COMMANDS.values()
    ]

    class FrameReady(Message):
        """A frame was decoded; posted from the decoding thread."""

        def __init__(self, frame: int) -> None:
            super().__init__()
            self.frame = frame

    def __init__(
        self,
        desk: Desk,
        source: PictureSource,
        painter: Painter,
        keymap: Keymap,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        super().__init__()
        self.desk = desk
        self.keymap = keymap
        self._source = source
        self._painter = painter
        self._clock = clock
        footage = desk.session.header.footage
        self._player = Player(
            lambda frame: footage.seconds(desk.stamp(frame)), desk.frame_at, desk.frames
        )
        self._drawing = False
        self._on_screen: Picture | None = None
        self._scale = 0.0
        self._message: tuple[str, bool] | None = None

    def compose(self) -> ComposeResult:
        """The panels, top to bottom."""
        yield StatusPanel(id="where")
        with Horizontal(id="middle"):
            with Vertical(id="left"):
                yield CellsView(id="frame")
                yield CellsView(id="strip")
            with Vertical(id="right"):
                yield LadderPanel(id="ladder")
                yield RunsPanel(id="runs")
                yield CupsPanel(id="cups")
        yield TimelinePanel(id="timeline")
        yield StatusPanel(id="ruling")
        yield StatusPanel(id="message")
        yield KeysLine(id="keys")

    def on_mount(self) -> None:
        """Begin decoding and the clocks."""
        self._source.on_ready = self._frame_decoded
        self._source.want(self.desk.frame)
        self.set_interval(FLUSH_SECONDS, self._flush)
        self.set_interval(STRIP_SECONDS, self._draw_strip)
        self._ticks = self.set_interval(TICK_SECONDS, self._tick, pause=True)

    def on_resize(self, _: events.Resize) -> None:
        """Draw for the new size."""
        self.call_after_refresh(self._draw_all)

    def on_screen_resume(self) -> None:
        """Draw what changed under a dialog."""
        self.changed()

    # -- commands

    def action_do(self, command_id: str) -> None:
        """Do a command of the registry."""
        if command_id != "flip":
            self.desk.flip_base = None
        if command_id in REQUESTS:
            self.attempt(lambda: REQUESTS[command_id](self), needs_picture=command_id not in FREE)
        elif command_id in DEEDS:
            needed = command_id not in FREE
            self._player.pause()
            self.attempt(lambda: DEEDS[command_id](self.desk), needs_picture=needed)
        else:
            getattr(self, f"_do_{command_id.replace('.', '_')}")()

    def attempt(self, deed: Callable[[], str | None], *, needs_picture: bool = False) -> None:
        """Do something, and say what came of it; what is refused changes nothing."""
        try:
            if needs_picture and not self._shows_position:
                raise EntryRefused(
                    f"Frame {self.desk.frame} is not on the screen yet; wait for it."
                )
            self.changed(deed())
        except FramecallError as error:
            self.changed(str(error), error=True)

    @property
    def _shows_position(self) -> bool:
        return self._on_screen is not None and self._on_screen.frame == self.desk.frame

    def _do_play(self) -> None:
        self._play(1)

    def _do_play_reverse(self) -> None:
        self._play(-1)

    def _do_play_faster(self) -> None:
        self._player.change_speed(1, self.desk.frame, self._clock())
        self.changed(f"Speed {self._player.speed_text}.")

    def _do_play_slower(self) -> None:
        self._player.change_speed(-1, self.desk.frame, self._clock())
        self.changed(f"Speed {self._player.speed_text}.")

    def _do_palette(self) -> None:
        self.app.action_command_palette()

    def _do_redraw(self) -> None:
        self.app.refresh(layout=True)
        self.refresh(layout=True, recompose=False)

    def _do_quit(self) -> None:
        self._flush()
        self.app.exit()

    # -- playing

    def _play(self, direction: int) -> None:
        self._player.toggle(direction, self.desk.frame, self._clock())
        self._ticks.resume()
        self.changed()

    def _tick(self) -> None:
        if not self._player.is_playing:
            self._ticks.pause()
            return
        frame = self._player.frame_due(self._clock())
        if frame != self.desk.frame:
            self.desk.go(frame)
            self.changed()

    # -- drawing

    def changed(self, message: str | None = None, *, error: bool = False) -> None:
        """Something changed: draw once, after all keys that wait are dealt with."""
        self._message = (message, error) if message else None
        self._source.want(self.desk.frame)
        if not self._drawing:
            self._drawing = True
            self.call_next(self._draw)

    def _frame_decoded(self, frame: int) -> None:
        self.post_message(self.FrameReady(frame))

    def on_bench_screen_frame_ready(self, event: FrameReady) -> None:
        """Show the frame, if it is still the one wanted."""
        if event.frame == self.desk.frame and not self._drawing:
            self._drawing = True
            self.call_next(self._draw)

    def _draw_all(self) -> None:
        self.query_one(KeysLine).show_keymap(self.keymap)
        self._on_screen = None
        self.changed()

    def _draw(self) -> None:
        self._drawing = False
        self._draw_frame()
        self._draw_strip()
        self._draw_panels()

    def _draw_frame(self) -> None:
        view = self.query_one("#frame", CellsView)
        picture = self._source.peek(self.desk.frame)
        columns, height = view.size
        if picture is None or picture is self._on_screen or not columns or not height:
            return
        cells, fitted = frame_cells(picture.pixels, columns, height, self._painter)
        self._scale = fitted.scale * picture.source_size[1] / picture.pixels.shape[0]
        self._on_screen = picture
        self.desk.seen.show(picture.frame)
        view.show(cells)

    def _draw_strip(self) -> None:
        view = self.query_one("#strip", CellsView)
        columns, height = view.size
        if not columns or not height:
            return
        reach = REACH[columns >= NARROW]
        frames = [self.desk.frame + offset for offset in range(-reach, reach + 1)]
        pictures = [
            self._source.peek(frame) if 0 <= frame < self.desk.frames else None for frame in frames
        ]
        pixels = [None if picture is None else picture.pixels for picture in pictures]
        view.show(strip_cells(pixels, columns, height, self._painter))

    def _draw_panels(self) -> None:
        desk = self.desk
        self.query_one("#where", StatusPanel).state(*self._where())
        self.query_one(LadderPanel).show_rows(rows.ladder_rows(desk))
        self.query_one(RunsPanel).show_rows(rows.run_rows(desk))
        self.query_one(CupsPanel).show_rows(rows.cup_rows(desk))
        self.query_one(TimelinePanel).show_row(rows.timeline(desk))
        ruling = self.query_one("#ruling", StatusPanel)
        ruling.state(f"Ruling now: {desk.ruling.summary}", rows.run_explanation(desk))
        message = self.query_one("#message", StatusPanel)
        flaw = self._on_screen.flaw if self._on_screen is not None else None
        if flaw:
            message.say(f"DAMAGED PICTURE, not to be trusted: {flaw}", error=True)
        elif self._message is not None:
            message.say(self._message[0], error=self._message[1])
        else:
            message.state(rows.due_text(desk))

    def _where(self) -> list[str]:
        desk, playing = self.desk, self._player
        scale = f"{self._scale:.1f} px/sub-cell"
        parts = [rows.place_text(desk), rows.number_text(desk), scale]
        if not self._shows_position:
            parts.append("reading...")
        if playing.is_playing:
            parts.append(f"playing {playing.speed_text}")
        if desk.flip_base is not None:
            parts.append(f"flip with {desk.flip_base}")
        if desk.anchor is not None:
            parts.append(f"not yet in {desk.anchor}")
        if desk.hand is not None:
            parts.append(f"{desk.hand} hand")
        parts.append(self._painter.name)
        return parts

    def _flush(self) -> None:
        """Write down the frames shown since the last time."""
        try:
            self.desk.flush_seen()
        except FramecallError as error:
            self.changed(str(error), error=True)
