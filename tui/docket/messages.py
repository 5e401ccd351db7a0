"""What the docket's threads tell its screen."""

from textual.message import Message

from tui.docket.case import OpenCase, SameFootage
from tui.docket.rows import DocketRow


class Reading(Message, namespace="docket_screen"):
    """So many sessions are read, of how many; ``None`` once they all are."""

    def __init__(self, progress: tuple[int, int] | None) -> None:
        super().__init__()
        self.progress = progress


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
