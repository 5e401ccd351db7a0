"""Frames shown but not yet written down."""

from sessions.evidence.frames import FrameSet


class SeenFrames:
    """Collects shown frames, and hands them over as ranges to be written to the session.

    Frames that the session already counts as seen are not collected again.
    """

    def __init__(self, known: FrameSet) -> None:
        self._known = known
        self._fresh: set[int] = set()

    def show(self, frame: int) -> None:
        """A frame was drawn on the screen."""
        if frame not in self._known:
            self._fresh.add(frame)

    @property
    def fresh(self) -> int:
        """How many frames wait to be written."""
        return len(self._fresh)

    @property
    def all(self) -> FrameSet:
        """Everything seen, written or not."""
        return FrameSet.of([*self._known.ranges, *((f, f) for f in self._fresh)])

    def ranges(self) -> tuple[tuple[int, int], ...]:
        """The waiting frames as inclusive ranges."""
        return FrameSet.of((frame, frame) for frame in self._fresh).ranges

    def written(self, known: FrameSet) -> None:
        """The session now counts the waiting frames as seen."""
        self._known = known
        self._fresh.clear()
