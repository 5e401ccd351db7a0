"""What is wanted of a clip, what is at hand of it, and what is to be brought next."""

import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Literal

from av.video.frame import VideoFrame

from sessions.errors import FootageError
from tui.footage.footage import Footage
from tui.footage.picture import Picture

# -- the pictures at hand, within a memory bound

_BEHIND_WEIGHT = 1.2  # a picture behind the direction of travel counts as this much farther away
_MOST_FRAMES = 9
_MOST_PASSING = 48
_MOST_PAINTED = 3  # the frame on the screen and one on either side


class Shelf:
    """Keeps what is nearest the playhead; not thread-safe, its owner locks.

    ``bound`` is in bytes, ``frame_bytes`` what a whole frame takes at most. Half of the bound goes
    to small pictures, a quarter to whole frames around the playhead, an eighth to whole pictures,
    and an eighth to frames that were decoded on the way to another and wait to be painted. Those
    also take what is not yet filled of the first half.
    """

    def __init__(self, bound: int, frame_bytes: int, small_bytes: int) -> None:
        self._bound = bound
        self._most_frames = min(_MOST_FRAMES, bound // 4 // frame_bytes)
        self._frame_bytes = frame_bytes
        self.playhead = 0
        self.direction = 1
        self.pictures: dict[int, Picture] = {}
        self.frames: dict[int, VideoFrame] = {}
        self._passing: dict[int, VideoFrame] = {}
        self._painted: dict[int, Picture] = {}  # the one asked for last at the end
        self._bytes = 0
        self.clear(small_bytes)

    def clear(self, small_bytes: int) -> None:
        """Drop the small pictures; those to come have ``small_bytes`` bytes each."""
        self.pictures.clear()
        self._painted.clear()
        self._bytes = 0
        self._capacity = max(1, self._bound // 2 // small_bytes)
        self._small_bytes = small_bytes
        self.ahead, self.behind = self._capacity // 3, self._capacity // 2

    def empty(self) -> None:
        """Drop all pictures and frames."""
        for kept in (self.pictures, self.frames, self._passing, self._painted):
            kept.clear()
        self._bytes = 0

    @property
    def bytes(self) -> int:
        """The size of all that is kept, in bytes."""
        whole = (*self.frames.values(), *self._passing.values())
        painted = sum(picture.pixels.nbytes for picture in self._painted.values())
        return self._bytes + painted + sum(_size(frame) for frame in whole)

    @property
    def reach(self) -> int:
        """How many frames to either side of the playhead are kept whole; -1 if none are."""
        return (self._most_frames - 1) // 2

    @property
    def room(self) -> int:
        """How many frames may wait to be painted, those that do included."""
        free = (self._capacity - len(self.pictures)) * self._small_bytes
        return min(_MOST_PASSING, (self._bound // 8 + max(0, free)) // self._frame_bytes)

    @property
    def full(self) -> bool:
        """Whether no more frames may wait to be painted."""
        return len(self._passing) >= self.room

    def move(self, frame: int) -> None:
        """Set the playhead."""
        if frame != self.playhead:
            self.direction = 1 if frame > self.playhead else -1
        self.playhead = frame
        for far in [n for n in self.frames if not self.keeps_frame(n)]:
            del self.frames[far]
        for done in [n for n in self._passing if not self.keeps_picture(n)]:
            del self._passing[done]

    def keeps_picture(self, frame: int) -> bool:
        """Whether a small picture of ``frame`` is wanted and not there yet."""
        near = -self.behind <= frame - self.playhead <= self.ahead
        return near and frame not in self.pictures

    def keeps_frame(self, frame: int) -> bool:
        """Whether the whole of ``frame`` is to be kept."""
        return abs(frame - self.playhead) <= self.reach

    def put(self, picture: Picture) -> None:
        """Add a small picture; the farthest from the playhead make room for it."""
        self._bytes += picture.pixels.nbytes
        before = self.pictures.pop(picture.frame, None)
        self._bytes -= before.pixels.nbytes if before else 0
        self.pictures[picture.frame] = picture
        self._passing.pop(picture.frame, None)
        if len(self.pictures) > self._capacity:
            self._evict()
        self._keep_to_room()

    def put_frame(self, frame: int, whole: VideoFrame) -> None:
        """Keep the whole of a frame if it is near the playhead."""
        if self.keeps_frame(frame):
            self.frames[frame] = whole

    def put_aside(self, frame: int, whole: VideoFrame) -> None:
        """Keep a frame whose picture is wanted but not painted yet; the first go first."""
        if self.keeps_frame(frame):
            self.frames[frame] = whole
        elif self.keeps_picture(frame):
            self._passing[frame] = whole
            self._keep_to_room()

    def next_aside(self) -> int | None:
        """Of the frames that are here whole and wait to be painted, the one nearest."""
        waiting = [n for n in (*self._passing, *self.frames) if self.keeps_picture(n)]
        return min(waiting, key=self._distance, default=None)

    def whole(self, frame: int) -> VideoFrame | None:
        """The whole of a frame, if it is at hand."""
        kept = self.frames.get(frame)
        return self._passing.get(frame) if kept is None else kept

    def painted(self, frame: int) -> Picture | None:
        """The picture of a frame with all its pixels, if it is at hand."""
        return self._painted.get(frame)

    def put_painted(self, picture: Picture) -> None:
        """Keep a picture with all its pixels."""
        self._painted[picture.frame] = picture
        most = min(_MOST_PAINTED, self._bound // 8 // picture.pixels.nbytes)
        while len(self._painted) > most:
            del self._painted[next(iter(self._painted))]

    def gap_ahead(self, frames: int, missing: Callable[[int], bool]) -> int | None:
        """The first frame from the playhead forward that is ``missing``; None if none is."""
        return _first(range(self.playhead, min(frames, self.playhead + self.ahead + 1)), missing)

    def gap_behind(self, missing: Callable[[int], bool]) -> int | None:
        """The first frame from the playhead backward that is ``missing``; None if none is."""
        return _first(range(self.playhead, max(-1, self.playhead - self.behind - 1), -1), missing)

    def _keep_to_room(self) -> None:
        while len(self._passing) > self.room:
            del self._passing[next(iter(self._passing))]

    def _evict(self) -> None:
        surplus = len(self.pictures) - self._capacity + self._capacity // 16
        for frame in sorted(self.pictures, key=self._distance)[-max(1, surplus) :]:
            if len(self.pictures) > 1:
                self._bytes -= self.pictures.pop(frame).pixels.nbytes

    def _distance(self, frame: int) -> float:
        distance = (frame - self.playhead) * self.direction
        return distance if distance >= 0 else -distance * _BEHIND_WEIGHT


def _first(frames: Iterable[int], missing: Callable[[int], bool]) -> int | None:
    return next((frame for frame in frames if missing(frame)), None)


def _size(frame: VideoFrame) -> int:
    return sum(plane.buffer_size for plane in frame.planes)


# -- what is wanted

_LEAD = 8
"""How many frames ahead of the playhead come before all that lies behind it."""
_HASTE = 16
"""How many frames behind the playhead a held key reaches before all before them are painted."""
_NEAR = 48
"""How many frames are painted in haste."""
_IN_PASSING = 16
"""How many frames before one that is waited for are decoded on the way to it, at most: those that
nothing builds on would be left out. The background worker soon brings more.
"""
_SHORT = 2
"""How many frames a key carries on average, at most, where both workers fill in those behind."""


class Request:
    """One caller waiting for one picture, small or with all its pixels."""

    def __init__(self, frame: int, whole: bool) -> None:
        self.frame = frame
        self.whole = whole
        self.picture: Picture | None = None


class Requests:
    """All callers that wait; not thread-safe, its owner locks."""

    def __init__(self) -> None:
        self._waiting: list[Request] = []

    def add(self, request: Request) -> None:
        """A caller begins to wait."""
        self._waiting.append(request)

    def remove(self, request: Request) -> None:
        """A caller waits no longer."""
        if request in self._waiting:
            self._waiting.remove(request)

    def urgent(self, coming: range) -> int | None:
        """The frame that somebody waits for and that is not among the small pictures coming."""
        for request in self._waiting:
            if request.whole or request.frame not in coming:
                return request.frame
        return None

    def awaited(self) -> set[int]:
        """The frames of which pictures are waited for."""
        return {request.frame for request in self._waiting if request.picture is None}

    def asked(self, frame: int) -> set[bool]:
        """Whether whole and whether small pictures of a frame are waited for."""
        return {request.whole for request in self._waiting if request.frame == frame}

    def hand_out(self, frame: int, small: Picture | None, full: Picture | None) -> None:
        """Give the pictures of a frame to those who wait for them."""
        for request in self._waiting:
            if request.frame == frame and request.picture is None:
                request.picture = full if request.whole else small


@dataclass(frozen=True)
class Job:
    """A frame to bring; pictures of the frames before ``first`` are of no use on the way."""

    frame: int
    first: int
    kind: Literal["urgent", "aside", "ahead", "behind"]
    """Whether somebody waits for it, whether it was decoded before and put aside, or on which side
    of the playhead it is read in advance."""


class Agenda:
    """The state that callers and workers share. Hold ``changed`` for whatever is done with it."""

    def __init__(self, footage: Footage, shelf: Shelf, size: tuple[int, int]) -> None:
        self.changed = threading.Condition()
        self.footage = footage
        self.shelf = shelf
        self.size = size
        """(width, height) of small pictures in pixels."""
        self.woven = False
        """Whether pictures of two fields are shown with both."""
        self.requests = Requests()
        self.failure: FootageError | None = None
        self.closed = False
        self._wanted: int | None = None
        self._announced: int | None = None
        self._zoomed_at: int | None = None
        self._magnified = False
        self._pictureless: set[int] = set()
        self._segment = range(0)  # frames that the background worker is about to deliver
        self._shared: int | None = None  # the frame behind that the foreground worker is at

    def move(self, frame: int) -> None:
        """Set the frame that is wanted; those wanted before are so no longer."""
        if frame != self._wanted:
            self._announced = None
        self._wanted = frame
        self.shelf.move(frame)
        self.changed.notify_all()

    def zoom(self, frame: int) -> None:
        """Note that the whole of ``frame`` was asked for, so that its neighbours will be."""
        self._zoomed_at = frame

    def magnify(self, on: bool) -> None:
        """Have whole frames around the playhead at hand from now on, or no longer."""
        if on != self._magnified:
            self._magnified = on
            self.announce_anew()

    def announce_anew(self) -> None:
        """Tell of the frame wanted once more when it is at hand."""
        self._announced = None
        self.changed.notify_all()

    @contextmanager
    def waiting(self, request: Request) -> Iterator[None]:
        """A caller waits for a picture meanwhile."""
        self.requests.add(request)
        self.changed.notify_all()
        try:
            yield
        finally:
            self.requests.remove(request)

    def at_hand(self, frame: int) -> Picture | None:
        """The small picture of ``frame``, if there is one."""
        picture = self.shelf.pictures.get(frame)
        if picture is None:
            return None
        # a flaw may have been found after the picture was made
        flaw = self.footage.ledger.flaw(frame)
        return picture if flaw == picture.flaw else replace(picture, flaw=flaw)

    def take(self, frame: int, small: Picture | None, full: Picture | None) -> None:
        """Shelve a picture that is of the right size still, and give both to those who wait."""
        if small is not None and self.shelf.keeps_picture(frame):
            self.shelf.put(small)
        self.requests.hand_out(frame, small, full)

    def note_pictureless(self, frame: int) -> None:
        """Note that no picture of ``frame`` can be had."""
        self._pictureless.add(frame)

    def announced(self, frame: int) -> bool:
        """Whether ``frame`` is the one wanted, now at hand and not told of yet; then it is told."""
        ready = self._wanted == frame and self._announced != frame and not self.missing(frame)
        if ready:
            self._announced = frame
        return ready

    def put_aside(self, job: Job, frame: int, whole: VideoFrame) -> bool:
        """Leave a frame that came on the way to be painted later, where that is better.

        That is while somebody waits for another, and while the foreground worker has its hands
        free: it reads nothing in advance when the frames behind are travelled to. What is of no
        use to the job is left for good.
        """
        awaited = self._awaited()
        if frame in awaited:
            return False
        if frame < job.first:
            return True
        lent = job.kind == "behind" and self.shelf.direction < 0 and not self.shelf.full
        if awaited or lent:
            self.shelf.put_aside(frame, whole)
            self.changed.notify_all()
        return bool(awaited) or lent

    def _awaited(self) -> set[int]:
        awaited = self.requests.awaited()
        if self._wanted is not None and self.missing(self._wanted):
            awaited.add(self._wanted)
        return awaited

    def urgent(self) -> int | None:
        """The frame that somebody waits for, if the background worker is not about to bring it."""
        awaited = self.requests.urgent(self._segment)
        if awaited is not None:
            return awaited
        wanted = self._wanted
        if wanted is None or wanted in self._segment or not self.missing(wanted):
            return None
        return wanted

    def foreground_job(self) -> Job | None:
        """What is waited for; else the frames ahead, unless those behind are travelled to.

        Frames put aside are painted once the next few ahead are there.
        """
        self._shared = None
        urgent = self.urgent()
        if urgent is not None:
            passing = min(_IN_PASSING, self.shelf.room)
            return Job(urgent, max(0, urgent - passing), "urgent")
        if self._wanted is None or self._awaited():
            return None
        ahead = self.shelf.gap_ahead(self.footage.frames, self.missing)
        if ahead is not None and self._is_next(ahead):
            return Job(ahead, ahead, "ahead")
        aside = self.shelf.next_aside()
        if aside is not None:
            return Job(aside, aside, "aside")
        if self.shelf.direction < 0 and self.shelf.gap_behind(self.missing) is not None:
            return self._share()
        return None if ahead is None else Job(ahead, ahead, "ahead")

    def _share(self) -> Job | None:
        """A frame behind that the background worker is not at, where frames need no others."""
        index = self.footage.index
        if index.packets > _SHORT * len(index.keys):
            return None
        frame = self.shelf.gap_behind(lambda n: n not in self._segment and self._unseen(n))
        self._shared = frame
        return None if frame is None else Job(frame, frame, "ahead")

    def _is_next(self, ahead: int) -> bool:
        """Whether a frame ahead may be stepped to before those behind can be filled in."""
        return self.shelf.direction > 0 and ahead <= self.shelf.playhead + _LEAD

    def background_job(self) -> Job | None:
        """The frames behind, the rest of a group at a time; none while anything is waited for.

        Where the gap is near, the frames next to it are brought first, at the cost of decoding
        the group twice.
        """
        self._promise(range(0))
        if self._wanted is None or self.urgent() is not None:
            return None
        ahead = self.shelf.gap_ahead(self.footage.frames, self.missing)
        frame = self.shelf.gap_behind(lambda n: n != self._shared and self._unseen(n))
        if frame is None or (ahead is not None and self._is_next(ahead)):
            return None
        index = self.footage.index
        first = index.first_frame(int(index.start_of[frame]))
        back = _NEAR if self._wanted - frame < _HASTE else self.shelf.behind
        first = max(first, self._wanted - self.shelf.behind, frame - back)
        self._promise(range(first, frame + 1))
        return Job(frame, first, "behind")

    def _promise(self, segment: range) -> None:
        """Set what the background worker is about to deliver; what it is not, others must."""
        self._segment = segment
        if self.urgent() is not None:
            self.changed.notify_all()

    def out_of_date(self, job: Job) -> bool:
        """Whether something else is to be done sooner."""
        return self.closed or self.urgent() != (job.frame if job.kind == "urgent" else None)

    def passed(self, job: Job, frame: int) -> None:
        """Note that ``frame`` has come on the way."""
        if job.kind == "behind":
            self._promise(range(frame + 1, self._segment.stop))

    def _unseen(self, frame: int) -> bool:
        return self.missing(frame) and self.shelf.whole(frame) is None

    def missing(self, frame: int) -> bool:
        """Whether a picture of ``frame`` is not at hand, or the whole of it where that is due."""
        if frame not in self.shelf.pictures:
            return True
        zoomed = self._zoomed_at is not None and abs(self._zoomed_at - self.shelf.playhead) <= 1
        whole = (
            (zoomed or self._magnified)
            and self.shelf.keeps_frame(frame)
            and frame not in self._pictureless
        )
        return whole and frame not in self.shelf.frames
