"""Where the bench's pictures come from, as far as the bench needs to know."""

from collections.abc import Callable
from typing import Protocol

from tui.picture.cells import Pixels


class DecodedFrame(Protocol):
    """A decoded frame."""

    @property
    def frame(self) -> int:
        """Its number, from 0."""
        ...

    @property
    def pixels(self) -> Pixels:
        """The picture, as scaled by the source."""
        ...

    @property
    def source_size(self) -> tuple[int, int]:
        """Width and height in the footage, in pixels."""
        ...

    @property
    def flaw(self) -> str | None:
        """Why the picture is not to be trusted, if so."""
        ...


class PictureSource(Protocol):
    """Decodes in the background; never makes the caller wait."""

    on_ready: Callable[[int], None] | None

    @property
    def failure(self) -> str | None:
        """Why no more pictures come, once the footage can no longer be read."""
        ...

    def want(self, frame: int) -> DecodedFrame | None:
        """The frame that is wanted now, if it is decoded already; older wishes are dropped."""
        ...

    def peek(self, frame: int) -> DecodedFrame | None:
        """The picture of a frame, if it is decoded already."""
        ...

    def magnify(self, on: bool) -> None:
        """Whether pictures with all their pixels are wanted around the playhead."""
        ...

    def weave(self, on: bool) -> None:
        """Whether pictures of two fields are shown with both; those at hand are dropped."""
        ...

    def peek_full(self, frame: int) -> DecodedFrame | None:
        """The picture of a frame with all its pixels, if it is at hand."""
        ...

    def close(self) -> None:
        """Stop decoding."""
        ...
