"""The pictures at hand: many small ones and a few whole frames, within a memory bound."""

from collections.abc import Callable, Iterable

from av.video.frame import VideoFrame

from tui.footage.picture import Picture

_BEHIND_WEIGHT = 1.2  # a picture behind the direction of travel counts as this much farther away
_MOST_FRAMES = 9
_BYTES_A_PIXEL = 3  # of a decoded frame, reckoned high: 10 bits, colour at half resolution


class Shelf:
    """Keeps what is nearest the playhead; not thread-safe, its owner locks.

    ``bound`` is in bytes, ``frame_pixels`` the number of pixels of a whole frame. At most a
    quarter of the bound goes to whole frames.
    """

    def __init__(self, bound: int, frame_pixels: int, small_bytes: int) -> None:
        self._bound = bound
        self._most_frames = min(_MOST_FRAMES, bound // 4 // (frame_pixels * _BYTES_A_PIXEL))
        self.playhead = 0
        self.direction = 1
        self.pictures: dict[int, Picture] = {}
        self.frames: dict[int, VideoFrame] = {}
        self._bytes = 0
        self.clear(small_bytes)

    def clear(self, small_bytes: int) -> None:
        """Drop the small pictures; those to come have ``small_bytes`` bytes each."""
        self.pictures.clear()
        self._bytes = 0
        capacity = max(1, self._bound * 3 // 4 // small_bytes)
        self.ahead, self.behind = capacity // 3, capacity // 2
        self._capacity = capacity

    @property
    def bytes(self) -> int:
        """The size of all that is kept, in bytes."""
        return self._bytes + sum(_size(frame) for frame in self.frames.values())

    @property
    def reach(self) -> int:
        """How many frames to either side of the playhead are kept whole; -1 if none are."""
        return (self._most_frames - 1) // 2

    def move(self, frame: int) -> None:
        """Set the playhead."""
        if frame != self.playhead:
            self.direction = 1 if frame > self.playhead else -1
        self.playhead = frame
        for far in [n for n in self.frames if not self.keeps_frame(n)]:
            del self.frames[far]

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
        if len(self.pictures) > self._capacity:
            self._evict()

    def gap_ahead(self, frames: int, missing: Callable[[int], bool]) -> int | None:
        """The first frame from the playhead forward that is ``missing``; None if none is."""
        return _first(range(self.playhead, min(frames, self.playhead + self.ahead + 1)), missing)

    def gap_behind(self, missing: Callable[[int], bool]) -> int | None:
        """The first frame from the playhead backward that is ``missing``; None if none is."""
        return _first(range(self.playhead, max(-1, self.playhead - self.behind - 1), -1), missing)

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
