"""Pictures on demand: cached, read ahead in the direction of travel, and within a memory bound."""

import ctypes
import threading
import time
from collections.abc import Callable
from contextlib import suppress

from av.video.format import VideoFormat
from av.video.frame import VideoFrame

from sessions.errors import FootageError
from tui.footage.agenda import Agenda, Job, Request, Shelf
from tui.footage.decoder import Decoder
from tui.footage.footage import Footage
from tui.footage.picture import Painter, Picture, PictureMaker

__all__ = ["Footage", "FrameStore", "Picture"]

_JOIN_SECONDS = 2.0
_MARGIN = 128
"""How many columns, and lines, decoders add to a frame at most for their own use."""


class Worker:
    """Does the jobs that ``next_job`` names, one after the other, until the agenda is closed.

    ``painting`` is held while a frame is painted that others may paint, for which the frame is
    changed for a moment. ``tell`` is called with the frame wanted once its picture is at hand.
    """

    def __init__(
        self,
        name: str,
        agenda: Agenda,
        next_job: Callable[[], Job | None],
        painting: threading.Lock,
        tell: Callable[[int], None],
    ) -> None:
        self._agenda, self._next_job = agenda, next_job
        self._painting, self._tell = painting, tell
        self._pictures = PictureMaker(agenda.footage)
        self._painter = Painter()
        self._thread = threading.Thread(target=self._work, daemon=True, name=name)
        self._thread.start()

    def join(self, seconds: float) -> None:
        """Wait until the thread has ended, but not longer than ``seconds``."""
        if self._thread is not threading.current_thread():
            self._thread.join(seconds)

    def _work(self) -> None:
        decoder: Decoder | None = None
        try:
            while (job := self._next()) is not None:
                if decoder is not None and job.frame >= decoder.reach:
                    decoder.close()  # frames were numbered since it was made
                    decoder = None
                decoder = decoder or self._agenda.footage.decoder()
                self._bring(job, decoder)
                self._agenda.footage.read_on()
        except Exception as error:  # whatever it is, those who wait must hear of it
            self._fail(error)
        finally:
            if decoder is not None:
                decoder.close()

    def _next(self) -> Job | None:
        """The next job, waiting for one; None when the agenda is closed."""
        agenda = self._agenda
        with agenda.changed:
            while not agenda.closed and agenda.failure is None:
                job = self._next_job()
                if job is not None:
                    return job
                agenda.changed.wait()
        return None

    def _bring(self, job: Job, decoder: Decoder) -> None:
        """Decode the frame, or take it if it was decoded before, and shelve it."""
        with self._agenda.changed:
            kept = self._agenda.shelf.whole(job.frame)
        if kept is not None:
            with self._painting:
                self._shelve(job.frame, kept)
        elif self._decode(job, decoder) is False:  # not merely stopped on the way
            self._shelve(job.frame, None)

    def _decode(self, job: Job, decoder: Decoder) -> bool | None:
        """Decode up to the frame; whether it came, None where it was out of date before."""
        agenda = self._agenda

        def out_of_date() -> bool:
            with agenda.changed:
                return agenda.out_of_date(job)

        def sink(number: int, whole: VideoFrame) -> None:
            agenda.footage.check_kept()  # once its data was read: a later change is not in it
            with agenda.changed:
                aside = agenda.put_aside(job, number, whole)
            if not aside:
                self._shelve(number, whole)
            with agenda.changed:
                agenda.passed(job, number)

        return decoder.fetch(job.frame, sink, out_of_date, job.first)

    def _shelve(self, frame: int, whole: VideoFrame | None) -> None:
        """Paint what is wanted of ``frame`` (None: there is no picture of it) and hand it out."""
        agenda = self._agenda
        with agenda.changed:
            size, woven = agenda.size, agenda.woven
            asked = agenda.requests.asked(frame)
            small_wanted = agenda.shelf.keeps_picture(frame) or False in asked
        pictures, painter, small, full = self._pictures, self._painter, None, None
        if small_wanted:
            small = pictures.small(frame, whole, painter, size, woven=woven)
        if True in asked:
            full = pictures.full(frame, whole, painter, woven=woven)
        with agenda.changed:
            current = (size, woven) == (agenda.size, agenda.woven)
            agenda.take(frame, small if current else None, full)
            if whole is None:
                agenda.note_pictureless(frame)
            else:
                agenda.shelf.put_frame(frame, whole)
            ready = agenda.announced(frame)
            agenda.changed.notify_all()
        if ready:
            self._tell(frame)

    def _fail(self, error: Exception) -> None:
        agenda = self._agenda
        words = f"{agenda.footage.name} can no longer be decoded ({error}); open it again."
        with agenda.changed:
            agenda.failure = error if isinstance(error, FootageError) else FootageError(words)
            agenda.changed.notify_all()


class FrameStore:
    """Pictures of one clip, for any number of threads.

    Two threads decode: one answers requests and reads ahead, the other fills in the frames before
    the playhead, a group at a time. Small pictures fit ``size`` (width, height in pixels, aspect
    kept, never enlarged); ``bound_mb`` bounds all that is kept, in units of 10^6 bytes. The frames
    that the decoders themselves build on come on top.
    """

    def __init__(self, footage: Footage, size: tuple[int, int], bound_mb: float = 512) -> None:
        self.footage = footage
        self._pictures = PictureMaker(footage)
        self.on_ready: Callable[[int], None] | None = None
        """Called from a worker thread with the frame last wanted, once its picture is there."""
        self._painting = threading.Lock()
        fitting = self._pictures.fitted(size)
        shelf = Shelf(int(bound_mb * 1e6), frame_bytes(footage), _small_bytes(fitting))
        self._agenda = Agenda(footage, shelf, fitting)
        self._changed = self._agenda.changed
        jobs = {"seek": self._agenda.foreground_job, "fill": self._agenda.background_job}
        footage.listeners.append(self.look_further)
        self._workers = [
            Worker(name, self._agenda, next_job, self._painting, self._tell)
            for name, next_job in jobs.items()
        ]

    def peek(self, frame: int) -> Picture | None:
        """The small picture of ``frame`` if it is at hand; returns at once."""
        with self._changed:
            return self._agenda.at_hand(self.footage.checked(frame))

    def want(self, frame: int) -> Picture | None:
        """Move the playhead to ``frame``; its small picture if at hand, else it is fetched.

        What was wanted before and is not there yet is dropped. ``on_ready`` is called when a
        picture that was not at hand has come.
        """
        with self._changed:
            self._agenda.move(self.footage.checked(frame))
            return self._agenda.at_hand(frame)

    def get(self, frame: int, timeout: float = 30.0) -> Picture:
        """The small picture of ``frame``, waiting for it; also moves the playhead there.

        Raises FootageError when it does not come within ``timeout`` seconds, when the store has
        been closed, and when the file can no longer be read.
        """
        with self._changed:
            return self.want(frame) or self._await(Request(frame, whole=False), timeout)

    def full(self, frame: int, timeout: float = 30.0) -> Picture:
        """The picture of ``frame`` with all its pixels, waiting for it; FootageError as ``get``."""
        with self._changed:
            self._agenda.zoom(self.footage.checked(frame))
            kept = self._agenda.shelf.whole(frame)
            if kept is None:
                return self._await(Request(frame, whole=True), timeout)
        return self._painted(frame, kept)

    def magnify(self, on: bool) -> None:
        """Keep and fetch whole frames around the playhead from now on, or no longer.

        While on, ``on_ready`` is called again once the whole of the wanted frame is there.
        """
        with self._changed:
            self._agenda.magnify(on)

    def weave(self, on: bool) -> None:
        """Show both fields of each picture from now on, or one by one; drops what is at hand."""
        with self._changed:
            self._agenda.woven = on
            self._agenda.shelf.clear(_small_bytes(self._agenda.size))
            self._agenda.announce_anew()

    def peek_full(self, frame: int) -> Picture | None:
        """The picture of ``frame`` with all its pixels if it is at hand; never decodes."""
        shelf = self._agenda.shelf
        with self._changed:
            kept = shelf.whole(self.footage.checked(frame))
            painted = shelf.painted(frame)
        if painted is not None or kept is None:
            return painted
        picture = self._painted(frame, kept)
        with self._changed:
            shelf.put_painted(picture)
        return picture

    def look_further(self) -> None:
        """Note that more frames have their numbers, so that they can be read in advance."""
        with self._changed:
            self._changed.notify_all()

    @property
    def failure(self) -> str | None:
        """Why no more pictures come, once the file can no longer be read."""
        failure = self._agenda.failure
        return None if failure is None else str(failure)

    def resize(self, size: tuple[int, int]) -> None:
        """Make small pictures of another size from now on; those at hand are dropped."""
        with self._changed:
            self._agenda.size = self._pictures.fitted(size)
            self._agenda.shelf.clear(_small_bytes(self._agenda.size))
            self._agenda.announce_anew()

    @property
    def kept_bytes(self) -> int:
        """How many bytes of pictures are kept."""
        with self._changed:
            return self._agenda.shelf.bytes

    def close(self) -> None:
        """Stop both workers and let waiting callers go; returns within seconds whatever happens."""
        if self.look_further in self.footage.listeners:
            self.footage.listeners.remove(self.look_further)
        with self._changed:
            self._agenda.closed = True
            self._changed.notify_all()
        for worker in self._workers:
            worker.join(_JOIN_SECONDS)
        with self._changed:
            self._agenda.shelf.empty()
        _give_back()

    def _painted(self, frame: int, whole: VideoFrame) -> Picture:
        with self._painting:
            woven = self._agenda.woven
            return self._pictures.full(frame, whole, Painter(), woven=woven)

    def _tell(self, frame: int) -> None:
        if self.on_ready is not None:
            self.on_ready(frame)

    def _await(self, request: Request, timeout: float) -> Picture:
        end = time.monotonic() + timeout
        with self._changed, self._agenda.waiting(request):
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

    def _check_open(self) -> None:
        if self._agenda.failure is not None:
            raise FootageError(str(self._agenda.failure))
        if self._agenda.closed:
            raise FootageError(f"{self.footage.name} has been closed; open it again.")


def _give_back() -> None:
    """Give the memory of pictures back to the system, where its C library can be asked to.

    Else what one clip took stays with the program, in pieces too small for the next one.
    """
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).malloc_trim(0)


def _small_bytes(size: tuple[int, int]) -> int:
    return 3 * size[0] * size[1]


def frame_bytes(footage: Footage) -> int:
    """What a decoded frame of the footage takes at most."""
    bits = VideoFormat(footage.facts.pixel_format).padded_bits_per_pixel
    return (footage.width + _MARGIN) * (footage.height + _MARGIN) * bits // 8
