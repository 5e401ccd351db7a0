"""Which frames the reader sees: the one place that knows it. It knows no terminal."""

from collections.abc import Callable, Sequence

from tui.picture.source import Picture


class Showing:
    """The pictures that are whole and true on the screen, from left to right.

    ``told`` are those who keep count of what was seen: each is told of a frame by ``seen``.
    """

    def __init__(self, *told: Callable[[int], object]) -> None:
        self._told = told
        self._pictures: tuple[Picture, ...] = ()
        self._drawn: object = None

    @property
    def picture(self) -> Picture | None:
        """The picture that is looked at: the last of those on the screen."""
        return self._pictures[-1] if self._pictures else None

    def shows(self, *frames: int) -> bool:
        """Whether the screen shows these frames, the last of them on the right."""
        shown = tuple(picture.frame for picture in self._pictures)
        return bool(frames) and shown[-len(frames) :] == frames

    def is_drawn(self, what: object) -> bool:
        """Whether this was drawn last, pictures, size and lens, so that nothing is to be done."""
        return self._drawn == what

    def drew(self, what: object, pictures: Sequence[Picture], *, is_exact: bool) -> None:
        """This was drawn; pictures that are not exact yet show no frame to judge by."""
        self._drawn = what
        self._pictures = tuple(pictures) if is_exact else ()

    def hide(self) -> None:
        """There is no room for a picture: nothing is shown."""
        self._pictures, self._drawn = (), None

    def forget(self) -> None:
        """Have everything drawn anew the next time."""
        self._drawn = None

    def seen(self, *frames: int) -> None:
        """The reader has these frames in sight; those who keep count are told, if it is so."""
        if self.shows(*frames):
            for tell in self._told:
                for frame in frames:
                    tell(frame)
