"""Rectangles of pixels: left, top, right, bottom; right and bottom are outside."""

from collections.abc import Iterable

Box = tuple[int, int, int, int]


def overlap(a: Box, b: Box) -> bool:
    """Whether two boxes share a pixel."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def union(a: Box, b: Box) -> Box:
    """The smallest box around both."""
    return min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3])


def within(box: Box, size: tuple[int, int]) -> Box | None:
    """The part of a box inside a picture, grown to even numbers; None where there is none."""
    left, top = max(0, box[0]) // 2 * 2, max(0, box[1]) // 2 * 2
    right, bottom = min(size[0], -(-box[2] // 2) * 2), min(size[1], -(-box[3] // 2) * 2)
    return (left, top, right, bottom) if left < right and top < bottom else None


def joined(boxes: Iterable[Box], size: tuple[int, int]) -> list[Box]:
    """Boxes that cover the same pixels of a picture and do not overlap each other."""
    apart: list[Box] = []
    for box in filter(None, (within(box, size) for box in boxes)):
        while near := next((other for other in apart if overlap(box, other)), None):
            apart.remove(near)
            box = union(box, near)
        apart.append(box)
    return apart
