"""Reading the docket in a thread, and what its threads tell the screen."""

from collections.abc import Callable

from textual.message import Message

from sessions.docket.docket import Docket
from sessions.docket.work_order import next_claim
from sessions.errors import FramecallError
from tui.docket.opening import Abandoned, OpenCase, SameFootage
from tui.docket.rows import DocketRow, Sight, docket_rows

AT_ONCE = 100
"""Sessions from one word on how far reading has come to the next."""


class Progress(Message, namespace="docket_screen"):
    """So many sessions are read, of how many; ``None`` once they all are."""

    def __init__(self, sessions: tuple[int, int] | None) -> None:
        super().__init__()
        self.sessions = sessions


class Read(Message, namespace="docket_screen"):
    """The docket was read anew; posted from the reading thread."""

    def __init__(self, rows: tuple[DocketRow, ...], next_up: str | None) -> None:
        super().__init__()
        self.rows, self.next_up = rows, next_up


class Told(Message, namespace="docket_screen"):
    """Something to be said; ``ends`` is whether what was begun is over."""

    def __init__(self, words: str, *, error: bool = False, ends: bool = False) -> None:
        super().__init__()
        self.words, self.error, self.ends = words, error, ends


class Asked(Message, namespace="docket_screen"):
    """What is to be asked before a claim is opened; posted from the opening thread."""

    def __init__(self, found: SameFootage) -> None:
        super().__init__()
        self.found = found


class Opened(Message, namespace="docket_screen"):
    """A claim is open; posted from the opening thread."""

    def __init__(self, case: OpenCase) -> None:
        super().__init__()
        self.case = case


def rows_now(docket: Docket, sight: Sight) -> Read:
    """The rows as the docket is arranged now, and the claim to look at next."""
    found = next_claim(docket.placed, sight.reviewer)
    next_up = None if found is None else found.state.claim.claim
    return Read(docket_rows(docket.placed, sight), next_up)


class DocketReader:
    """Reads a docket as one reviewer may see it.

    ``post`` takes what is to be told, from any thread; reading is given up once ``is_given_up``.
    """

    def __init__(
        self,
        docket: Docket,
        sight: Sight,
        post: Callable[[Message], object],
        is_given_up: Callable[[], bool],
    ) -> None:
        self._docket, self._sight = docket, sight
        self._post, self._is_given_up = post, is_given_up
        self._told = docket.placed

    def read(self) -> None:
        """Read what has changed, and tell of it; while that is much, of how far it has come."""
        try:
            if self._docket.refresh(self._follow):
                self._post(rows_now(self._docket, self._sight))
        except Abandoned:
            return
        except FramecallError as error:
            self._post(Told(str(error), error=True))
        self._post(Progress(None))

    def _follow(self, done: int, total: int) -> None:
        if self._is_given_up():
            raise Abandoned("Reading the sessions was given up.")
        if done % AT_ONCE == 0 and done < total:
            self._post(Progress((done, total)))
        if self._docket.placed is not self._told:
            self._told = self._docket.placed
            self._post(rows_now(self._docket, self._sight))
