"""Reading a docket for a command that does not stay open."""

from pathlib import Path

from sessions.docket.docket import Docket, DocketError
from sessions.docket.work_order import Placed
from sessions.sanitize import sanitize
from tui.bench.opening import progress_line
from tui.footage.cachefolder import cache_folder


def new_docket(folder: Path) -> Docket:
    """The docket in a folder, with what is kept of it in the cache folder; nothing is read yet."""
    return Docket(folder, cache_folder() / "dockets")


def read_docket(folder: Path) -> Docket:
    """The docket in a folder as it stands; raises ClaimsError or DocketError."""
    docket = new_docket(folder)
    tell = progress_line()
    docket.refresh(lambda done, total: tell("Reading sessions", done, total))
    return docket


def placed_claim(docket: Docket, claim: str) -> Placed:
    """One claim of a docket by its id; raises DocketError where it is not listed."""
    placed = docket.find(claim)
    if placed is None:
        raise DocketError(
            f'There is no claim "{sanitize(claim)}" in {docket.folder.claims_file}; '
            "name one that it lists."
        )
    return placed
