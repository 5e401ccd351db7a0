"""The register: every ruled claim of a docket as a row, and a season's faults by rule and event."""

import re
from collections import Counter
from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from types import MappingProxyType
from typing import Literal

from sessions.csv_safe import csv_text
from sessions.docket.claim_state import ClaimState
from sessions.docket.records import Advance, Records
from sessions.docket.review_summary import ReviewSummary
from sessions.errors import FramecallError
from sessions.record.wholefile import write_whole
from sessions.rules.rulebook import PICTURE, rules
from sessions.ruling.ruling import CAUTIONS, Standing
from sessions.sanitize import sanitize
from sessions.validation import Frozen

REOPENED = "to be ruled anew"
"""The standing of a claim that has a ruling issued, and is not ruled any more."""

NO_RECORDS = Records({})
"""No record at all."""

SEPARATOR = "; "
"""Stands between the parts of a cell that holds several."""


class RegisterError(FramecallError):
    """A register cannot be written."""


class RegisterRow(Frozen):
    """One ruled claim; times in seconds as displayed, ``ruled_time`` the one that stands.

    ``rules_broken`` and ``doubts`` are rule ids of the runs that read the claimed time; where
    display and picture part, that is a doubt, for no competitor breaks a rule by it. ``reviewers``
    are those whose reviews count, who settled them last, and ``session_sha256`` their session files
    in the same order; ``made_at`` is in UTC, when the last entry of all was made;
    ``settled_by`` is who settled what they differed in, empty where they agreed; ``issued`` is the
    number of the last ruling issued as documents, 0 where none was, and ``issued_on`` its date.
    ``changed_since`` is whether a session behind that ruling is not the one it was issued from.
    ``record_by_it`` says which record that ruling made, and whether it stands today.

    A claim that is not ruled any more, because a review was amended, keeps its row while a ruling
    on it is issued; its ``standing`` is ``REOPENED`` then.
    """

    claim: str
    event: str
    division: str
    competitor: str | None
    claimed_time: str
    record: str
    standing: str
    ruled_time: str | None
    rules_broken: tuple[str, ...]
    doubts: tuple[str, ...]
    reviewers: tuple[str, ...]
    footage_sha256: str
    session_sha256: tuple[str, ...]
    settled_by: str
    made_at: str
    issued: int
    issued_on: str
    changed_since: bool = False
    record_by_it: str = ""


class Register(Frozen):
    """The register as a file; ``competitor`` is missing in every row where it is left out."""

    format: Literal["framecall-register"] = "framecall-register"
    version: Literal[1] = 1
    rulings: tuple[RegisterRow, ...]
    cautions: tuple[str, ...] = CAUTIONS


def register(
    states: Iterable[ClaimState],
    with_competitors: bool = True,
    issued_on: Mapping[str, str] = MappingProxyType({}),
    made: Records = NO_RECORDS,
    changed: Container[str] = (),
) -> Register:
    """The rows of all claims that are ruled or have a ruling issued, in the order given.

    ``issued_on`` has the date of the last ruling issued on a claim, by its id; ``made`` are the
    records by the issued rulings. ``changed`` are the claims of which a session was changed since.
    """
    listed = (state for state in states if state.is_registered)
    rows = (
        _row(s, with_competitors, issued_on.get(s.claim.claim, ""), made.by_claim(s.claim.claim))
        for s in listed
    )
    told = (row.model_copy(update={"changed_since": row.claim in changed}) for row in rows)
    return Register(rulings=tuple(told))


def record_cell(advance: Advance | None) -> str:
    """Which record a ruling made, from what, and whether it stands today; empty for none."""
    if advance is None:
        return ""
    if not advance.before:
        words = "the first"
    elif advance.equals:
        words = f"equals {advance.before[0].time}"
    else:
        words = f"before {advance.before[0].time}"
    return f"{advance.held.time}, {words}" + ("" if advance.stands else ", beaten since")


def register_csv(listed: Register) -> str:
    """The register as CSV; control and direction-changing characters are shown as code points."""
    names = [name for name in RegisterRow.model_fields if _has(listed, name)]
    rows = ([_cell(getattr(row, name)) for name in names] for row in listed.rulings)
    return csv_text([names, *rows])


def register_json(listed: Register) -> str:
    """The register as JSON."""
    left_out = {name for name in RegisterRow.model_fields if not _has(listed, name)}
    return (
        listed.model_dump_json(
            indent=2, ensure_ascii=True, exclude={"rulings": {"__all__": left_out}}
        )
        + "\n"
    )


def write_register(path: Path, listed: Register) -> None:
    """Write the register as JSON to a path ending in ``.json``, as CSV to any other.

    Raises RegisterError where the disk does not take it.
    """
    is_json = path.suffix.lower() == ".json"
    text = register_json(listed) if is_json else register_csv(listed)
    try:
        write_whole(path, text.encode("utf-8" if is_json else "utf-8-sig"))
    except OSError as error:
        raise RegisterError(
            f"The register {path} cannot be written ({error.strerror}); name another place."
        ) from None


@dataclass(frozen=True)
class Season:
    """Runs that a rule took from their competitors (scratch or void), by rule id and event.

    ``titles`` are of the leagues' own rules. A run that broke two rules counts for both; ``runs``
    counts all attempts ruled on by event,
    those that starting over spent included.
    """

    counts: Mapping[tuple[str, str], int]
    runs: Mapping[str, int]
    titles: Mapping[str, str] = field(default_factory=dict)

    @property
    def events(self) -> tuple[str, ...]:
        """Every event with a run ruled on, sorted."""
        return tuple(sorted(self.runs))

    @property
    def rules_broken(self) -> tuple[str, ...]:
        """Every rule that was broken, most often first, else as an attempt meets them."""
        own = sorted({rule for rule, _ in self.counts} - set(rules()))
        order = [rule for rule in (*rules(), *own) if self.total(rule)]
        return tuple(sorted(order, key=self.total, reverse=True))

    def title(self, rule: str) -> str:
        """The title of a rule, of the trade or of a league's own."""
        known = rules().get(rule)
        return self.titles.get(rule, rule) if known is None else known.title

    def count(self, rule: str, event: str) -> int:
        """How many runs of an event broke a rule."""
        return self.counts.get((rule, event), 0)

    def total(self, rule: str) -> int:
        """How many runs of all events broke a rule."""
        return sum(count for (broken, _), count in self.counts.items() if broken == rule)


def season(states: Iterable[ClaimState]) -> Season:
    """The faults in the footage of all ruled claims; footage that two claims share counts once."""
    counts: Counter[tuple[str, str]] = Counter()
    runs: Counter[str] = Counter()
    titles: dict[str, str] = {}
    for event, review in _footage(states):
        ruled = review.runs
        titles |= dict(review.titles)
        runs[event] += len(ruled)
        for run in ruled:
            if run.standing in (Standing.SCRATCH, Standing.VOID):
                counts.update((rule, event) for rule in run.broken if rule != PICTURE)
    return Season(counts, runs, titles)


def _footage(states: Iterable[ClaimState]) -> Iterator[tuple[str, ReviewSummary]]:
    seen = set()
    for state in states:
        for review in state.deciding[:1]:
            if (review.footage_sha256, review.event) not in seen:
                seen.add((review.footage_sha256, review.event))
                yield review.event, review


def _row(
    state: ClaimState, with_competitor: bool, issued_on: str, made: Advance | None
) -> RegisterRow:
    claim, counted, claimed = state.claim, state.counted, state.claimed_runs
    broken = {rule for run in claimed for rule in run.broken}
    doubtful = {rule for run in claimed for rule in run.doubtful}
    return RegisterRow(
        claim=claim.claim,
        event=claim.event,
        division=claim.division,
        competitor=claim.competitor if with_competitor else None,
        claimed_time=claim.time,
        record=claim.record,
        standing=REOPENED if state.verdict is None else str(state.verdict),
        ruled_time=state.ruled_time,
        rules_broken=tuple(sorted(broken - {PICTURE})),
        doubts=tuple(sorted(doubtful | (broken & {PICTURE}))),
        reviewers=tuple(review.reviewer for review in counted),
        footage_sha256=counted[0].footage_sha256 if counted else "",
        session_sha256=tuple(review.sha256 for review in counted),
        settled_by="".join(review.reviewer for review in state.deciding if review.settles),
        made_at=max((review.last_at for review in counted), default=""),
        issued=state.issued,
        issued_on=issued_on,
        record_by_it=record_cell(made),
    )


def _has(listed: Register, name: str) -> bool:
    """Whether a column is written: the competitors' only where some row has one."""
    return name != "competitor" or any(row.competitor is not None for row in listed.rulings)


def _cell(value: str | int | tuple[str, ...] | None) -> str:
    if isinstance(value, bool):
        value = "yes" if value else "no"
    if isinstance(value, tuple):
        value = SEPARATOR.join(value)
    return sanitize("" if value is None else str(value))


# -- issued rulings by their file names: ``<claim>.ruling-<number>.json`` (``.html``, ``.txt``)


_JSON = re.compile(r"(.+)\.ruling-([1-9]\d*)\.json")


def file_stem(name: str) -> str:
    """A claim's id as part of a file name; ids that would need other characters stay distinct."""
    safe = re.sub(r"[^A-Za-z0-9_-]", "_", name)
    return safe if safe == name else f"{safe}-{sha256(name.encode()).hexdigest()[:8]}"


def latest_numbers(names: Iterable[str]) -> Mapping[str, int]:
    """The number of the last ruling issued for each stem, from the names of files in a folder."""
    latest: dict[str, int] = {}
    for name in names:
        if found := _JSON.fullmatch(name):
            latest[found[1]] = max(latest.get(found[1], 0), int(found[2]))
    return latest
