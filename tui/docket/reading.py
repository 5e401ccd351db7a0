"""Reading the docket in a thread, and telling its screen how far that has come."""

from collections.abc import Callable

from textual.message import Message

from sessions.docket.docket import Docket
from sessions.docket.work_order import next_claim
from sessions.errors import FramecallError
from tui.docket.case import Abandoned
from tui.docket.messages import Read, Reading, Told
from tui.docket.rows import Sight, docket_rows

AT_ONCE = 100
"""Sessions from one word on how far reading has come to the next."""


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
        self._post(Reading(None))

    def _follow(self, done: int, total: int) -> None:
        if self._is_given_up():
            raise Abandoned("Reading the sessions was given up.")
        if done % AT_ONCE == 0 and done < total:
            self._post(Reading((done, total)))
        if self._docket.placed is not self._told:
            self._told = self._docket.placed
            self._post(rows_now(self._docket, self._sight))
