"""Pictures on demand: cached, read ahead in the direction of travel, and within a memory bound."""

import threading
import time
from collections.abc import Callable
from dataclasses import replace

from av.video.frame import VideoFrame

from sessions.errors import FootageError
from tui.footage.colour import Painter
from tui.footage.decoder import Decoder
from tui.footage.footage import Footage
from tui.footage.picture import Picture, PictureMaker
from tui.footage.requests import Request, Requests
from tui.footage.shelf import Shelf

__all__ = ["Footage", "FrameStore", "Picture"]

_JOIN_SECONDS = 2.0

_PAINTED = 3
"""Whole pictures kept as RGB: the frame on the screen and one on either side."""


class FrameStore:
    """Pictures of one clip, for any number of threads.

    Two threads decode: one answers requests and reads ahead, the other fills in the frames before
    the playhead, a group at a time. Small pictures fit ``size`` (width, height in pixels, aspect
    kept, never enlarged); ``bound_mb`` bounds all that is kept, in units of 10^6 bytes.
    """

    def __init__(self, footage: Footage, size: tuple[int, int], bound_mb: float = 512) -> None:
        self.footage = footage
        self._pictures = PictureMaker(footage)
        self.on_ready: Callable[[int], None] | None = None
        """Called from a worker thread with the frame last wanted, once its picture is there."""
        self._changed = threading.Condition()
        self._repainting = threading.Lock()  # painting a frame changes it for a moment
        self._size = self._pictures.fitted(size)
        pixels = footage.width * footage.height
        self._shelf = Shelf(int(bound_mb * 1e6), pixels, _bytes_of(self._size))
        self._requests = Requests()
        self._wanted: int | None = None
        self._announced: int | None = None
        self._zoomed_at: int | None = None
        self._magnified = False
        self._painted: dict[int, Picture] = {}  # whole pictures shown last, the oldest first
        self._pictureless: set[int] = set()
        self._segment = range(0)  # frames that the background worker is about to deliver
        self._failure: FootageError | None = None
        self._closed = False
        self._threads = [
            threading.Thread(target=self._work, args=(job,), daemon=True, name=name)
            for name, job in (("seek", self._foreground_job), ("fill", self._background_job))
        ]
        for thread in self._threads:
            thread.start()

    def peek(self, frame: int) -> Picture | None:
        """The small picture of ``frame`` if it is at hand; returns at once."""
        with self._changed:
            return self._at_hand(self.footage.checked(frame))

    def want(self, frame: int) -> Picture | None:
        """Move the playhead to ``frame``; its small picture if at hand, else it is fetched.

        What was wanted before and is not there yet is dropped. ``on_ready`` is called when a
        picture that was not at hand has come.
        """
        with self._changed:
            self._move(self.footage.checked(frame))
            return self._at_hand(frame)

    def get(self, frame: int, timeout: float = 30.0) -> Picture:
        """The small picture of ``frame``, waiting for it; also moves the playhead there.

        Raises FootageError when it does not come within ``timeout`` seconds, when the store has
        been closed, and when the file can no longer be read.
        """
        with self._changed:
            self._move(self.footage.checked(frame))
            return self._at_hand(frame) or self._await(Request(frame, whole=False), timeout)

    def full(self, frame: int, timeout: float = 30.0) -> Picture:
        """The picture of ``frame`` with all its pixels, waiting for it; FootageError as ``get``."""
        with self._changed:
            self._zoomed_at = self.footage.checked(frame)
            kept = self._shelf.frames.get(frame)
            if kept is None:
                return self._await(Request(frame, whole=True), timeout)
        with self._repainting:
            return self._pictures.full(frame, kept, Painter(self.footage.orientation))

    def magnify(self, on: bool) -> None:
        """Keep and fetch whole frames around the playhead from now on, or no longer.

        While on, ``on_ready`` is called again once the whole of the wanted frame is there.
        """
        with self._changed:
            if on != self._magnified:
                self._magnified = on
                self._announced = None
                self._changed.notify_all()

    def peek_full(self, frame: int) -> Picture | None:
        """The picture of ``frame`` with all its pixels if it is at hand; never decodes."""
        with self._changed:
            kept = self._shelf.frames.get(self.footage.checked(frame))
            painted = self._painted.get(frame)
        if painted is not None or kept is None:
            return painted
        with self._repainting:
            picture = self._pictures.full(frame, kept, Painter(self.footage.orientation))
        with self._changed:
            self._painted[frame] = picture
            while len(self._painted) > _PAINTED:
                del self._painted[next(iter(self._painted))]
        return picture

    @property
    def failure(self) -> str | None:
        """Why no more pictures come, once the file can no longer be read."""
        return None if self._failure is None else str(self._failure)

    def resize(self, size: tuple[int, int]) -> None:
        """Make small pictures of another size from now on; those at hand are dropped."""
        with self._changed:
            self._size = self._pictures.fitted(size)
            self._shelf.clear(_bytes_of(self._size))
            self._announced = None
            self._changed.notify_all()

    @property
    def kept_bytes(self) -> int:
        """How many bytes of pictures are kept."""
        with self._changed:
            return self._shelf.bytes

    def close(self) -> None:
        """Stop both workers and let waiting callers go; returns within seconds whatever happens."""
        with self._changed:
            self._closed = True
            self._changed.notify_all()
        for thread in self._threads:
            if thread is not threading.current_thread():
                thread.join(_JOIN_SECONDS)

    # --- what callers do, under the lock ------------------------------------------------------

    def _move(self, frame: int) -> None:
        if frame != self._wanted:
            self._announced = None
        self._wanted = frame
        self._shelf.move(frame)
        self._changed.notify_all()

    def _at_hand(self, frame: int) -> Picture | None:
        picture = self._shelf.pictures.get(frame)
        if picture is None:
            return None
        # a flaw may have been found after the picture was made
        flaw = self.footage.ledger.flaw(frame)
        return picture if flaw == picture.flaw else replace(picture, flaw=flaw)

    def _await(self, request: Request, timeout: float) -> Picture:
        self._requests.add(request)
        self._changed.notify_all()
        end = time.monotonic() + timeout
        try:
            while request.picture is None:
                self._check_open()
                left = end - time.monotonic()
                if left <= 0:
                    raise FootageError(
                        f"frame {request.frame} of {self.footage.name} was not decoded within "
                        f"{timeout:g} s; try again, or copy the footage to a faster disk."
                    )
                self._changed.wait(left)
            return request.picture
        finally:
            self._requests.remove(request)

    def _check_open(self) -> None:
        if self._failure is not None:
            raise FootageError(str(self._failure))
        if self._closed:
            raise FootageError(f"{self.footage.name} has been closed; open it again.")

    # --- what is to be done next, under the lock ----------------------------------------------

    def _urgent(self) -> int | None:
        """The frame that somebody waits for, if the background worker is not about to bring it."""
        awaited = self._requests.urgent(self._segment)
        if awaited is not None:
            return awaited
        wanted = self._wanted
        if wanted is None or wanted in self._segment or not self._missing(wanted):
            return None
        return wanted

    def _foreground_job(self) -> int | None:
        urgent = self._urgent()
        if urgent is not None or self._wanted is None:
            return urgent
        if self._shelf.direction < 0 and self._shelf.gap_behind(self._missing) is not None:
            return None
        return self._shelf.gap_ahead(self.footage.frames, self._missing)

    def _background_job(self) -> int | None:
        self._segment = range(0)
        if self._wanted is None or self._urgent() is not None:
            return None
        frame = self._shelf.gap_behind(self._missing)
        if frame is None:
            return None
        index = self.footage.index
        first = index.first_frame(int(index.start_of[frame]))
        self._segment = range(max(first, self._wanted - self._shelf.behind), frame + 1)
        return frame

    def _missing(self, frame: int) -> bool:
        if frame not in self._shelf.pictures:
            return True
        zoomed = self._zoomed_at is not None and abs(self._zoomed_at - self._shelf.playhead) <= 1
        whole = (
            (zoomed or self._magnified)
            and self._shelf.keeps_frame(frame)
            and frame not in self._pictureless
        )
        return whole and frame not in self._shelf.frames

    # --- the workers --------------------------------------------------------------------------

    def _work(self, next_job: Callable[[], int | None]) -> None:
        painter = Painter(self.footage.orientation)
        decoder: Decoder | None = None
        try:
            while (frame := self._next(next_job)) is not None:
                decoder = decoder or self.footage.decoder()
                self._bring(frame, decoder, painter, next_job == self._background_job)
        except Exception as error:  # whatever it is, those who wait must hear of it
            self._fail(error)
        finally:
            if decoder is not None:
                decoder.close()

    def _next(self, next_job: Callable[[], int | None]) -> int | None:
        """The next frame to bring, waiting for one; None when the store is closed."""
        with self._changed:
            while not self._closed and self._failure is None:
                frame = next_job()
                if frame is not None:
                    return frame
                self._changed.wait()
        return None

    def _bring(self, frame: int, decoder: Decoder, painter: Painter, background: bool) -> None:
        """Decode ``frame``, shelving it and what is decoded on the way, until out of date."""
        with self._changed:
            kept = self._shelf.frames.get(frame)
            urgent = not background and self._urgent() == frame
        if kept is not None:
            with self._repainting:
                self._shelve(frame, kept, painter)
            return

        def out_of_date() -> bool:
            with self._changed:
                return self._closed or self._urgent() != (frame if urgent else None)

        def sink(number: int, whole: VideoFrame) -> None:
            self._shelve(number, whole, painter)
            if background:
                self._segment = range(number + 1, self._segment.stop)

        if not decoder.fetch(frame, sink, out_of_date) and self.footage.ledger.flaw(frame):
            self._shelve(frame, None, painter)

    def _shelve(self, frame: int, whole: VideoFrame | None, painter: Painter) -> None:
        """Paint what is wanted of ``frame`` (None: there is no picture of it) and hand it out."""
        with self._changed:
            size = self._size
            asked = self._requests.asked(frame)
            small_wanted = self._shelf.keeps_picture(frame) or False in asked
        small = self._pictures.small(frame, whole, painter, size) if small_wanted else None
        full = self._pictures.full(frame, whole, painter) if True in asked else None
        with self._changed:
            fitting = small if size == self._size else None
            if fitting is not None and self._shelf.keeps_picture(frame):
                self._shelf.put(fitting)
            self._requests.hand_out(frame, fitting, full)
            if whole is None:
                self._pictureless.add(frame)
            elif self._shelf.keeps_frame(frame):
                self._shelf.frames[frame] = whole
            here = not self._missing(frame)
            ready = here and self._wanted == frame and self._announced != frame
            if ready:
                self._announced = frame
            self._changed.notify_all()
        if ready and self.on_ready is not None:
            self.on_ready(frame)

    def _fail(self, error: Exception) -> None:
        words = f"{self.footage.name} can no longer be decoded ({error}); open it again."
        with self._changed:
            self._failure = error if isinstance(error, FootageError) else FootageError(words)
            self._changed.notify_all()


def _bytes_of(size: tuple[int, int]) -> int:
    return 3 * size[0] * size[1]
