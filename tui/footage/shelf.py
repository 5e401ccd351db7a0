"""The pictures at hand: many small ones and a few whole frames, within a memory bound."""

from collections.abc import Callable, Iterable

from av.video.frame import VideoFrame

from tui.footage.picture import Picture

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
        self._bytes = 0
        self._capacity = max(1, self._bound // 2 // small_bytes)
        self._small_bytes = small_bytes
        self.ahead, self.behind = self._capacity // 3, self._capacity // 2

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
