"""Sets of frames as sorted, disjoint, inclusive ranges."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class FrameSet:
    """Frames, counted from 0, as sorted inclusive ranges that neither touch nor overlap."""

    ranges: tuple[tuple[int, int], ...] = ()

    @classmethod
    def of(cls, ranges: Iterable[tuple[int, int]]) -> "FrameSet":
        """The union of inclusive ranges in any order."""
        merged: list[tuple[int, int]] = []
        for first, last in sorted(ranges):
            if merged and first <= merged[-1][1] + 1:
                merged[-1] = (merged[-1][0], max(merged[-1][1], last))
            else:
                merged.append((first, last))
        return cls(tuple(merged))

    def __contains__(self, frame: int) -> bool:
        return any(first <= frame <= last for first, last in self.ranges)

    def __len__(self) -> int:
        return sum(last - first + 1 for first, last in self.ranges)

    def missing(self, frames: int) -> "FrameSet":
        """The frames from 0 to ``frames - 1`` that this set lacks."""
        gaps, following = [], 0
        for first, last in self.ranges:
            if first > following:
                gaps.append((following, min(first, frames) - 1))
            following = max(following, last + 1)
        if following < frames:
            gaps.append((following, frames - 1))
        return FrameSet(tuple(gap for gap in gaps if gap[0] <= gap[1]))

    def next_from(self, frame: int) -> int | None:
        """The first frame of the set at or after ``frame``."""
        return next((max(first, frame) for first, last in self.ranges if last >= frame), None)
