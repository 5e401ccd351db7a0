"""A docket: a folder with the claims of a season, their footage, sessions and rulings.

| place in the folder | what it holds |
|---|---|
| ``claims.csv`` | the claims, one a line |
| ``docket.toml`` | settings of the docket; may be missing |
| ``records.csv`` | the league's records as they stood at the beginning; may be missing |
| ``footage/`` | the footage, where the claims file does not name another place |
| ``sessions/<claim>.<reviewer>.session.jsonl`` | one review of one claim |
| ``sessions/<claim>.<reviewer>.settling.session.jsonl`` | differences of reviews settled |
| ``rulings/`` | issued documents |
| ``league.toml`` | the league's name and how to appeal, for the documents; may be missing |

Claim and reviewer are percent-encoded in file names (RFC 3986) where they hold anything but ASCII
letters, digits, ``_`` and ``-``.
"""

import hashlib
import os
import time
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from urllib.parse import unquote

from sessions.docket.claim_state import ClaimState, state_of
from sessions.docket.claims import LONGEST_NAME, ListedClaim, file_code, read_claims
from sessions.docket.index import DocketIndex, Progress, Stamp, stamp_of, stamps_of
from sessions.docket.records import Held, by_claims, read_records, with_records
from sessions.docket.register import file_stem, latest_numbers
from sessions.docket.review_summary import ReviewSummary, read_review
from sessions.docket.settings import read_settings
from sessions.docket.work_order import Placed, arrange, compared
from sessions.errors import FramecallError
from sessions.small_file import read_small

SUFFIX = ".session.jsonl"
_SETTLING = ".settling"
FIRST_PAUSE = 2.0
"""Seconds of judging after which the claims are arranged for the first time."""


class DocketError(FramecallError):
    """A docket folder cannot be used."""


@dataclass(frozen=True, slots=True)
class DocketFolder:
    """Where everything lies in a docket."""

    path: Path

    @property
    def claims_file(self) -> Path:
        """The claims file."""
        return self.path / "claims.csv"

    @property
    def settings_file(self) -> Path:
        """The settings of the docket; it may be missing."""
        return self.path / "docket.toml"

    @property
    def records_file(self) -> Path:
        """The league's list of records; it may be missing."""
        return self.path / "records.csv"

    @property
    def sessions(self) -> Path:
        """The folder of the session files."""
        return self.path / "sessions"

    @property
    def league_file(self) -> Path:
        """The league's own words for ruling documents; it may be missing."""
        return self.path / "league.toml"

    @property
    def rulings(self) -> Path:
        """The folder of the issued documents."""
        return self.path / "rulings"

    def footage(self, claim: ListedClaim) -> Path:
        """Where the claims file says that the footage of a claim lies."""
        return self.path / claim.footage

    def inside(self, name: str) -> Path:
        """The file that a claims file names, once all links are followed.

        Raises DocketError where it lies neither in the docket nor in a folder that the docket's
        settings name: a list from elsewhere must not open other files of this machine.
        """
        real = Path(os.path.realpath(self.path / name))
        folders = [self.path, *map(Path, read_settings(self.settings_file).folders)]
        if not any(real.is_relative_to(os.path.realpath(folder)) for folder in folders):
            raise DocketError(
                f"{self.path / name} leads out of the docket, to {real}; name its folder under "
                f"folders in {self.settings_file}, if claims may lie there."
            )
        return self.path / name

    def session(self, claim: str, reviewer: str, settling: bool = False) -> Path:
        """The session file of a claim and reviewer.

        Raises DocketError for a code that is empty, too long, or not text.
        """
        codes = f"{self._file_code(claim)}.{self._file_code(reviewer)}"
        return self.sessions / f"{codes}{_SETTLING if settling else ''}{SUFFIX}"

    def _file_code(self, text: str) -> str:
        try:
            code = file_code(text)
        except UnicodeEncodeError:  # bytes from the command line that are not UTF-8
            code = ""
        if not 0 < len(code) <= LONGEST_NAME:
            raise DocketError(
                f'"{text[:40]}" cannot name a session file in {self.sessions}; use between '
                "1 and 80 plain letters and digits."
            )
        return code

    def index_file(self, folder: Path) -> Path:
        """The file in ``folder`` that keeps the derived index of this docket."""
        name = hashlib.sha256(os.fsencode(os.path.realpath(self.path))).hexdigest()[:16]
        return folder / f"docket-{name}.json"


@lru_cache(maxsize=65536)
def session_codes(name: str) -> tuple[str, str] | None:
    """Claim and reviewer from the name of a session file; ``None`` for any other file."""
    if not name.endswith(SUFFIX):
        return None
    codes = name.removesuffix(SUFFIX).removesuffix(_SETTLING).split(".")
    if len(codes) != 2 or not all(codes):
        return None
    return unquote(codes[0]), unquote(codes[1])


def _codes(name: str) -> tuple[str, str]:
    """Claim and reviewer from a name that is known to be of a session file."""
    return session_codes(name) or ("", "")


@dataclass(frozen=True)
class SessionJudge:
    """Judges the session files of a folder by their names."""

    folder: Path

    def __call__(self, name: str) -> ReviewSummary:
        """The review that a session file holds."""
        return read_review(self.folder / name, *_codes(name))


class Docket:
    """A docket as it stands on the disk; ``refresh`` follows changes made by others.

    ``reviews_due`` is how many reviewers must rule a claim alike. ``strays`` are the reviews of
    claims that the claims file does not list. ``league_records`` are the records as they stood at
    the beginning, by the league's list; where it says nothing of an event and division, by the
    claims.
    """

    claims: tuple[ListedClaim, ...]
    league_records: tuple[Held, ...]
    placed: tuple[Placed, ...] = ()
    strays: tuple[ReviewSummary, ...] = ()

    def __init__(self, folder: Path, index_folder: Path, reviews_due: int = 2) -> None:
        self.folder = DocketFolder(folder)
        self.reviews_due = reviews_due
        self._judge = SessionJudge(self.folder.sessions)
        self._is_arranged = False
        self._index = DocketIndex(self.folder.index_file(index_folder))
        self._claims_stamps: list[Stamp | None] = []
        self._rulings_stamp: int | None = None
        self._issued: Mapping[str, int] = {}
        self._both_hold = True

    def refresh(self, progress: Progress | None = None) -> bool:
        """Read what has changed on the disk; whether anything had.

        While many sessions are judged, ``placed`` follows every few seconds, and its states say
        which of them are read. Raises ClaimsError for the claims file and DocketError for the
        folder of sessions.
        """
        changed = self.survey()
        if self._index.judge(self._judge, self._following(progress)):
            self._arrange()
            return True
        return changed

    def survey(self) -> bool:
        """Read all but the sessions that have changed; whether anything is different by that.

        Raises as ``refresh`` does.
        """
        changed = self._refresh_claims() | self._refresh_issued() | self._refresh_league()
        changed |= self._index.survey(self._stamps()) or not self._is_arranged
        if changed:
            self._arrange()
        return changed

    @property
    def both_hold(self) -> bool:
        """Whether two who reach an equal time both hold the record, by the league's setting."""
        return self._both_hold

    @property
    def due(self) -> int:
        """How many sessions are to be judged, as of the last survey."""
        return len(self._index.due)

    def save(self) -> None:
        """Keep the derived index for the next opening."""
        self._index.save()

    def _following(self, progress: Progress | None) -> Progress:
        """Arranges the claims now and then, each time after twice as many seconds."""
        begun, pause = time.monotonic(), FIRST_PAUSE

        def tell(done: int, total: int) -> None:
            nonlocal pause
            if time.monotonic() - begun > pause:
                pause *= 2
                self._arrange()
            if progress is not None:
                progress(done, total)

        return tell

    def find(self, claim: str) -> Placed | None:
        """A claim by its id, if it is listed."""
        return next((one for one in self.placed if one.state.claim.claim == claim), None)

    def _refresh_claims(self) -> bool:
        """Read the claims and the league's records anew if either file has changed."""
        stamps = [_stamp(self.folder.claims_file), _stamp(self.folder.records_file)]
        if stamps[0] is not None and stamps == self._claims_stamps:
            return False
        claims = read_claims(self.folder.claims_file)
        listed = read_records(self.folder.records_file)
        self.league_records = (*listed, *by_claims(claims, listed))
        self.claims = with_records(claims, self.league_records)
        self._claims_stamps = stamps
        return True

    def _refresh_issued(self) -> bool:
        """List the issued rulings anew if the folder has changed; none where it cannot be read."""
        try:
            stamp = self.folder.rulings.stat().st_mtime_ns
            if stamp == self._rulings_stamp:
                return False
            names = os.listdir(self.folder.rulings)
        except OSError:
            stamp, names = None, []
        issued, self._rulings_stamp = latest_numbers(names), stamp
        changed, self._issued = issued != self._issued, issued
        return changed

    def _refresh_league(self) -> bool:
        """Read anew whether both hold a record of equal times; whether that is different now."""
        before, self._both_hold = self._both_hold, both_hold(self.folder.league_file)
        return before != self._both_hold

    def _stamps(self) -> dict[str, Stamp]:
        try:
            return stamps_of(self.folder.sessions, lambda name: session_codes(name) is not None)
        except FileNotFoundError:
            return {}
        except OSError as error:
            raise DocketError(
                f"The sessions in {self.folder.sessions} cannot be listed ({error.strerror}); "
                "check the folder and who may read it."
            ) from None

    def _arrange(self) -> None:
        self._is_arranged = True
        listed = {claim.claim for claim in self.claims}
        reviews: dict[str, list[ReviewSummary]] = {}
        strays = []
        for review in self._index.reviews():
            if review.claim in listed:
                reviews.setdefault(review.claim, []).append(review)
            else:
                strays.append(review)
        self.strays = tuple(strays)
        self.placed = arrange(compared(self._states(reviews)), both_hold=self._both_hold)

    def _states(self, reviews: dict[str, list[ReviewSummary]]) -> Iterable[ClaimState]:
        unread = {_codes(name)[0] for name in self._index.unread}
        for claim in self.claims:
            by_age = sorted(reviews.get(claim.claim, ()), key=lambda r: (r.last_at, r.reviewer))
            issued = self._issued.get(file_stem(claim.claim), 0) if self._issued else 0
            is_read = claim.claim not in unread
            yield state_of(claim, by_age, self.reviews_due, issued, is_read=is_read)


def _stamp(path: Path) -> Stamp | None:
    """The size of a file and when it was changed; ``None`` where it is missing."""
    try:
        found = path.stat()
    except OSError:
        return None
    return stamp_of(found)


FIRST_KEEPS = "first keeps it"
"""The league's setting ``equal_times`` by which an equal time does not share the record."""


def both_hold(league_file: Path) -> bool:
    """Whether two who reach an equal time both hold the record, by the league's file.

    They do where it says nothing (from memory). A file that cannot be read is told of by whoever
    issues documents by it.
    """
    try:
        settings = tomllib.loads(read_small(league_file).decode("utf-8"))
    except (OSError, ValueError, RecursionError):
        return True
    return settings.get("equal_times") != FIRST_KEEPS
