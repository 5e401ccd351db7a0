"""A thread that decodes and paints what is due."""

import threading
from collections.abc import Callable

from av.video.frame import VideoFrame

from sessions.errors import FootageError
from tui.footage.agenda import Agenda, Job
from tui.footage.colour import Painter
from tui.footage.decoder import Decoder
from tui.footage.picture import PictureMaker


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
        self._painter = Painter(agenda.footage.orientation)
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
                decoder = decoder or self._agenda.footage.decoder()
                self._bring(job, decoder)
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
            size = agenda.size
            asked = agenda.requests.asked(frame)
            small_wanted = agenda.shelf.keeps_picture(frame) or False in asked
        small = self._pictures.small(frame, whole, self._painter, size) if small_wanted else None
        full = self._pictures.full(frame, whole, self._painter) if True in asked else None
        with agenda.changed:
            agenda.take(frame, small if size == agenda.size else None, full)
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
