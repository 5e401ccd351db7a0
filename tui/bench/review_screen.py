"""What the bench and the settling screen share: the pictures of some footage, and its review."""

from abc import abstractmethod
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import ClassVar

from textual import events
from textual.message import Message

from keymaps.commands import COMMANDS, Command, Where
from keymaps.keymap import Keymap
from sessions.errors import EntryRefused, FramecallError, ReviewClosed
from tui.bench.commands import LENS_HANDLERS, LensHandler
from tui.bench.dialogs import ask_to_amend
from tui.bench.review import Review
from tui.picture.lens import Lens
from tui.picture.source import PictureSource
from tui.widgets.command_screen import CommandScreen, Handler
from tui.widgets.frameview import FrameView
from tui.widgets.panels import KeysLine
from tui.widgets.picturepane import PicturePane, Showing
from tui.widgets.pictures import Pictures

LEAST_SIZE = (80, 24)
"""Columns and rows below which nothing can be judged."""


class ReviewScreen(CommandScreen):
    """Draws frames, and refuses what is said of them before they are seen."""

    where: ClassVar[Where]
    pane: PicturePane

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
        *told: Callable[[int], object],
    ) -> None:
        super().__init__()
        self.review, self.source, self.pictures = review, source, pictures
        self.keymap, self.lens = keymap, lens
        self.showing = Showing(review.seen.show, *told)
        self._is_to_draw = False

    def on_mount(self) -> None:
        """Begin decoding."""
        self.source.on_ready = self._frame_decoded
        self.changed(self.first_words())

    def on_resize(self, _: events.Resize) -> None:
        """Draw for the new size."""
        self.call_after_refresh(self._draw_all)

    def on_screen_resume(self) -> None:
        """Draw what changed under a dialog, or on another screen of the same footage."""
        self.source.on_ready = self._frame_decoded
        self.draw_soon()

    # -- commands

    def handlers_of_lens(self) -> Mapping[str, Handler]:
        """The handlers of the commands that look closer, as far as this screen knows them."""
        return {
            command_id: partial(self._look_closer, handler)
            for command_id, handler in LENS_HANDLERS.items()
            if self.where in COMMANDS[command_id].screens
        }

    def _look_closer(self, handler: LensHandler) -> None:
        handler(self.lens, self.review)

    def perform(self, handler: Handler, command: Command | None) -> str | None:
        """Do it once what it speaks of is seen."""
        if command is not None and command.of_frame:
            self._check_seen()
        return handler()

    def refused_as_closed(
        self, error: ReviewClosed, handler: Handler, command: Command | None
    ) -> None:
        """Ask why a finished review is amended, and do it then."""
        ask_to_amend(self, self.review, handler, command)

    @property
    @abstractmethod
    def frames_judged(self) -> Sequence[int]:
        """The frames on which a command speaks, from left to right."""

    def _check_seen(self) -> None:
        """Raises EntryRefused where these frames cannot be seen: nobody can judge by them."""
        if words := self.too_small:
            raise EntryRefused(words)
        if not self.showing.shows(*self.frames_judged):
            raise EntryRefused(awaited(*self.frames_judged))

    @property
    def too_small(self) -> str:
        """Why nothing can be judged in this terminal; empty where it can."""
        columns, lines = self.size
        if columns >= LEAST_SIZE[0] and lines >= LEAST_SIZE[1]:
            return ""
        return f"{columns} by {lines} is too small to judge by; make the terminal 80 by 24 or more."

    def redraw(self) -> str | None:
        """Draw the whole screen anew; what was said stays, unless it was refused."""
        for view in self.query(FrameView):
            view.invalidate()
        self._draw_all()
        return super().redraw()

    def keep(self) -> None:
        """Write down what was shown last."""
        self.flush()

    def flush(self) -> None:
        """Write down the frames shown since the last time."""
        try:
            self.write_seen()
        except FramecallError as error:
            self.changed(str(error), error=True)

    def write_seen(self) -> None:
        """Write down the frames shown since the last time; raises FramecallError."""
        self.review.flush_seen()

    # -- drawing

    def first_words(self) -> str:
        """What is to be said as the screen opens."""
        return self.pictures.note

    def draw_soon(self) -> None:
        """Draw once, after all keys that wait are dealt with."""
        self.want()
        self._draw_next()

    def _draw_next(self) -> None:
        if not self._is_to_draw:
            self._is_to_draw = True
            self.call_next(self._draw_now)

    def _draw_now(self) -> None:
        self._is_to_draw = False
        self.draw()

    @abstractmethod
    def want(self) -> None:
        """Ask for the frames that are to be shown."""

    @abstractmethod
    def draw(self) -> None:
        """Draw the screen as it is now."""

    def draw_keys(self, commands: Sequence[str]) -> None:
        """Draw the line of keys, as many of these commands as fit."""
        self.query_one(KeysLine).show_keymap(self.keymap, commands)

    def _frame_decoded(self, frame: int) -> None:
        self.post_message(self.FrameReady(frame))

    def on_review_screen_frame_ready(self, event: FrameReady) -> None:
        """Show the frame, if it is still one of those wanted."""
        if event.frame in self.frames_judged:
            self._draw_next()

    def on_frame_view_ready(self, _: FrameView.Ready) -> None:
        """The terminal has room again: show the position as it is now."""
        self.draw()

    def _draw_all(self) -> None:
        self.showing.forget()
        said, refused = self.message or (None, False)
        self.changed(None if refused else said)  # what was refused for want of room may be in order


def awaited(*frames: int) -> str:
    """Why nothing is said of frames before they are to be seen."""
    if len(frames) == 1:
        return f"Frame {frames[0]} is not on the screen yet; wait for it."
    return f"Frames {' and '.join(map(str, frames))} are not on the screen yet; wait for them."
