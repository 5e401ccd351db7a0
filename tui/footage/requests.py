"""Callers that wait for pictures."""

from tui.footage.picture import Picture


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
