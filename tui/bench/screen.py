"""The bench: the review screen. It forwards commands, and gathers what the panels show."""

import time
from collections.abc import Callable

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.message import Message

from keymaps.command import Where
from keymaps.keymap import Keymap
from sessions.docket.claims import ListedClaim
from sessions.errors import EntryRefused, FramecallError, ReviewClosed
from tui.bench.commands import DEEDS, UNSEEING
from tui.bench.drawing import draw_panels
from tui.bench.finishing import Unwatched
from tui.bench.finishing_dialogs import ask_to_amend
from tui.bench.lens_commands import LENS_DEEDS
from tui.bench.notices import awaited, flipping_stopped, footage_line, too_small
from tui.bench.panels import CupsPanel, LadderPanel, RunsPanel, StatusPanel, TimelinePanel
from tui.bench.places import go_on_watching
from tui.bench.player import Player
from tui.bench.reminder import Reminder
from tui.bench.requests import REQUESTS
from tui.bench.review import Review
from tui.bench.stretches import write_played
from tui.footage.footage import Footage
from tui.picture.lens import Lens
from tui.picture.source import PictureSource
from tui.widgets.command_screen import CommandScreen, bindings_of
from tui.widgets.frameview import FrameView
from tui.widgets.keysline import KeysLine
from tui.widgets.picturepane import PicturePane
from tui.widgets.pictures import Pictures

FLUSH_SECONDS = 2.0
"""How often frames shown are written down while nothing is tagged."""

TICK_SECONDS = 1 / 60
"""How often playing looks which frame is due."""

STRIP_SECONDS = 0.1
"""How often the strip looks for neighbours that have been decoded since."""

FLIPS = (1, 2, 4, 8)
"""Paces of flipping by itself, in pictures a second."""


class BenchScreen(CommandScreen):
    """One piece of footage under review. Commands come as ``action_do``."""

    where = Where.BENCH
    BINDINGS = bindings_of(Where.BENCH)
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (160, "-wide")]  # noqa: RUF012

    class FrameReady(Message):
        """A frame was decoded; posted from the decoding thread."""

        def __init__(self, frame: int) -> None:
            super().__init__()
            self.frame = frame

    def __init__(
        self,
        review: Review,
        source: PictureSource,
        pictures: Pictures,
        keymap: Keymap,
        lens: Lens,
        clock: Callable[[], float] = time.monotonic,
        listed: ListedClaim | None = None,
        footage: Footage | None = None,
    ) -> None:
        super().__init__()
        self.footage = footage
        self.review, self.keymap, self.lens, self.listed = review, keymap, lens, listed
        review.key_of = keymap.first_key
        self.source, self.pictures, self.clock = source, pictures, clock
        self.pane = PicturePane(source, pictures, lens, review.frames, id="left")
        facts = review.session.header.footage
        self.player = Player(
            lambda frame: facts.seconds(review.stamp(frame)), review.frame_at, review.frames
        )
        self._reminder, self._unwatched = Reminder(), Unwatched(review)
        self._pace, self._drawing = FLIPS[1], False
        self.message: tuple[str, bool] | None = None

    def compose(self) -> ComposeResult:
        """The panels, top to bottom."""
        yield StatusPanel(id="where")
        with Horizontal(id="middle"):
            yield self.pane
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
        self.source.on_ready = self._frame_decoded
        self.changed(" ".join(filter(None, (self.pictures.note, footage_line(self)))))
        self.set_interval(FLUSH_SECONDS, self.flush)
        self.set_interval(STRIP_SECONDS, self._draw_strip)
        self._ticks = self.set_interval(TICK_SECONDS, self._tick, pause=True)
        self._flips = self.set_interval(1 / self._pace, self._flip_on, pause=True)

    def on_resize(self, _: events.Resize) -> None:
        """Draw for the new size."""
        self.call_after_refresh(self._draw_all)

    def on_screen_resume(self) -> None:
        """Draw what changed under a dialog."""
        self._draw_soon()

    # -- commands

    def action_do(self, command_id: str) -> None:
        """Do a command of the registry."""
        if command_id in LENS_DEEDS:
            LENS_DEEDS[command_id](self.lens, self.review)
            self.changed()
            return
        screen_deed = getattr(self, f"_do_{command_id.replace('.', '_')}", None)
        if screen_deed is not None:
            screen_deed()
            return
        if self._is_flipping and command_id not in UNSEEING:  # which of the two was meant?
            self._do_flip_run()
            self.changed(flipping_stopped(self.review.frame), error=True)
            return
        self.review.speed = self.player.speed_text.rstrip("x") if self.player.is_playing else None
        self.player.pause()
        self._flips.pause()
        if command_id != "flip":
            self.review.flip_base = None
        if command_id in REQUESTS:
            self.attempt(lambda: REQUESTS[command_id](self), command_id)
        else:
            self.attempt(lambda: DEEDS[command_id](self.review), command_id)

    def attempt(self, deed: Callable[[], str | None], command_id: str | None = None) -> None:
        """Do something, and say what came of it; what is refused changes nothing."""
        try:
            if command_id is not None and command_id not in UNSEEING:
                self._check_seen()
            reminder = self._reminder.before(command_id, self.review, self.pane.doubt(self.keymap))
            said = deed()
            if reminder:
                self._reminder.said(self.review.run_id)
            self.lens.follow(self.review.checkpoint.kind if self.review.checkpoint else None)
            notice = self._unwatched.after(self.review)
            self.changed(" ".join(part for part in (said, notice, reminder) if part))
        except ReviewClosed:
            ask_to_amend(self, self.review, deed, lambda again: self.attempt(again, command_id))
        except FramecallError as error:
            self.changed(str(error), error=True)

    def _check_seen(self) -> None:
        if words := too_small(self):
            raise EntryRefused(words)
        if not self.pane.shows(self.review.frame):
            raise EntryRefused(awaited(self.review.frame))

    def _do_play(self) -> None:
        self._play(1)

    def _do_play_reverse(self) -> None:
        self._play(-1)

    def _do_play_whole(self) -> None:
        self._flips.pause()
        self.review.flip_base = None
        self.player.toggle_whole(self.review.frame, self.clock())
        self._ticks.resume()
        self.changed()

    def _do_unwatched_next(self) -> None:
        self.player.pause()
        self.attempt(lambda: self._go_on_watching(), "unwatched.next")

    def _go_on_watching(self) -> str:
        """Go on with what nobody watched, and play every frame of it."""
        said = go_on_watching(self.review)
        self._do_play_whole()
        return said

    def _do_play_faster(self) -> None:
        self._change_speed(1)

    def _do_play_slower(self) -> None:
        self._change_speed(-1)

    def _do_flip_run(self) -> None:
        """Flip by itself, or stop doing so on the frame it began from."""
        if self._is_flipping:
            self._flips.pause()
            if self.review.flip_base is not None:
                self.review.flip()
            self.changed()
            return
        self.player.pause()
        self._flips.resume()
        self.changed(f"Flipping {self._pace} times a second.")

    def _do_strip_step(self) -> None:
        self.pane.change_spacing()
        self.changed(f"The strip shows every {self.pane.spacing}. frame.")

    def _do_redraw(self) -> None:
        for view in self.query(FrameView):
            view.invalidate()
        self.app.refresh(layout=True)
        self._draw_all()

    def keep(self) -> None:
        """Write down what was shown and played last."""
        self.player.pause()
        self.flush()

    # -- playing and flipping

    def _play(self, direction: int) -> None:
        self._flips.pause()
        self.review.flip_base = None
        self.player.toggle(direction, self.review.frame, self.clock())
        self._ticks.resume()
        self.changed()

    def _change_speed(self, steps: int) -> None:
        if self._is_flipping:
            at = FLIPS.index(self._pace) + steps
            self._pace = FLIPS[max(0, min(at, len(FLIPS) - 1))]
            self._flips.stop()
            self._flips = self.set_interval(1 / self._pace, self._flip_on)
            self.changed(f"Flipping {self._pace} times a second.")
            return
        self.player.change_speed(steps, self.review.frame, self.clock())
        self.changed(f"Speed {self.player.speed_text}.")

    @property
    def _is_flipping(self) -> bool:
        return self._flips._active.is_set()

    def _flip_on(self) -> None:
        self.review.flip()
        self._draw_soon()

    def _tick(self) -> None:
        if not self.player.is_playing:
            self._ticks.pause()
            return
        if self.player.is_whole and not self.pane.shows(self.review.frame):
            return
        frame = self.player.frame_due(self.clock())
        if frame != self.review.frame:
            self.review.go(frame)
            self._draw_soon()

    # -- drawing

    def changed(self, message: str | None = None, *, error: bool = False) -> None:
        """Something changed: say so, and draw."""
        self.message = (message, error) if message else None
        self._draw_soon()

    def _draw_soon(self) -> None:
        """Draw once, after all keys that wait are dealt with."""
        self.source.want(self.review.frame)
        if not self._drawing:
            self._drawing = True
            self.call_next(self._draw)

    def _frame_decoded(self, frame: int) -> None:
        self.post_message(self.FrameReady(frame))

    def on_bench_screen_frame_ready(self, event: FrameReady) -> None:
        """Show the frame, if it is still the one wanted."""
        if event.frame == self.review.frame and not self._drawing:
            self._drawing = True
            self.call_next(self._draw)

    def on_frame_view_ready(self, _: FrameView.Ready) -> None:
        """The terminal has room again: show the position as it is now."""
        self._draw()

    def _draw_all(self) -> None:
        self.query_one(KeysLine).show_keymap(self.keymap)
        self.pane.forget()
        said, refused = self.message or (None, False)
        self.changed(None if refused else said)  # what was refused for want of room may be in order

    def _draw(self) -> None:
        self._drawing = False
        self.pane.draw(self.review.frame)
        # Behind a dialog nobody sees a frame; it counts once the dialog is left.
        in_sight = self.app.screen is self and not too_small(self)
        if in_sight and self.pane.shows(self.review.frame):
            self.review.seen.show(self.review.frame)
            self.player.drew(self.review.frame)
        self._draw_strip()
        draw_panels(self)

    def _draw_strip(self) -> None:
        self.pane.draw_strip(self.review.frame)

    def flush(self) -> None:
        """Write down the frames shown and played since the last time."""
        try:
            self.review.flush_seen()
            write_played(self.player, self.review)
        except FramecallError as error:
            self.changed(str(error), error=True)
