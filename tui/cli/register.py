"""``framecall register`` and ``framecall season``: what was ruled, and what went wrong most."""

import argparse
import shutil
from collections.abc import Iterable, Sequence
from pathlib import Path

from sessions.docket.claim_state import ClaimState
from sessions.docket.register import (
    SEPARATOR,
    Register,
    RegisterError,
    RegisterRow,
    Season,
    register,
    register_csv,
    register_json,
    season,
    write_register,
)
from sessions.docket.work_order import Placed
from sessions.plural import plural
from sessions.ruling.ruling import CAUTIONS
from sessions.sanitize import sanitize
from tui.cli.docket import add_folder, read_docket
from tui.cli.output import RULED, say, table, takes_blocks
from tui.documents.docketed import last_issued
from tui.documents.records import docket_records

EIGHTHS = " ▏▎▍▌▋▊▉█"
"""Blocks of 0 to 8 eighths of a cell."""

LONGEST_BAR = 40
"""Cells of the longest bar, where the terminal has room for it."""


def add_register(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall register`` takes."""
    parser.description = "Print all rulings of a docket, or write them to a file."
    add_folder(parser)
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--csv", dest="form", action="store_const", const="csv", help="as CSV")
    form.add_argument("--json", dest="form", action="store_const", const="json", help="as JSON")
    parser.add_argument("--anonymous", action="store_true", help="leave out the competitors' codes")
    parser.add_argument(
        "--out", type=Path, metavar="FILE", help="write to this file, which ends in .csv or .json"
    )


def run_register(arguments: argparse.Namespace) -> int:
    """Print the register or write it to a file; returns the exit code."""
    out, form = arguments.out, arguments.form
    if out is not None:
        _check_ending(out, form)
    docket = read_docket(arguments.folder)
    states = [placed.state for placed in docket.placed]
    found = ((state.claim.claim, last_issued(docket.folder, state)) for state in states)
    issued = {claim: last for claim, last in found if last is not None}
    listed = register(
        states,
        with_competitors=not arguments.anonymous,
        issued_on={claim: last.day for claim, last in issued.items()},
        made=docket_records(docket),
        changed={claim for claim, last in issued.items() if not last.holds},
    )
    if out is not None:
        write_register(out, listed)
        say(f"{plural(len(listed.rulings), 'ruling')} in {sanitize(str(out))}\n")
        return RULED
    forms = {"csv": register_csv, "json": register_json, None: register_text}
    say(forms[form](listed))
    if form is None:
        say(unlisted(docket.placed))
    return RULED


def _check_ending(path: Path, form: str | None) -> None:
    """Raises RegisterError where a file's ending does not say what is to be written to it."""
    ending = path.suffix.lower().removeprefix(".")
    if ending not in ("csv", "json") or form not in (None, ending):
        wanted = f".{form}" if form else ".csv or .json"
        raise RegisterError(f"The register cannot be {path}; name a file that ends in {wanted}.")


def register_text(listed: Register) -> str:
    """The register for people to read."""
    if not listed.rulings:
        return "No claim is ruled yet.\n"
    rows = table([HEADINGS, *(_cells(row) for row in listed.rulings)], left=len(HEADINGS))
    return f"{rows}{caution_lines()}"


def caution_lines() -> str:
    """The cautions under a list of rulings or faults, by which people can be hurt too."""
    return "".join(f"\n{caution}" for caution in CAUTIONS) + "\n"


def unlisted(placed: Iterable[Placed]) -> str:
    """A line on the claims that the register does not list, where there are any."""
    rest = [one for one in placed if not one.state.is_registered]
    aside = sum(bool(one.set_aside) for one in rest)
    parts = [
        f"{plural(waiting, 'claim')} still to be ruled" if (waiting := len(rest) - aside) else "",
        f"{plural(aside, 'claim')} set aside, too slow for the time to beat" if aside else "",
    ]
    return f"Not listed: {', '.join(part for part in parts if part)}.\n" if rest else ""


HEADINGS = (
    "claim", "event", "division", "claimed", "ruling", "stands", "record", "rules broken", "by",
    "issued",
)  # fmt: skip


def _cells(row: RegisterRow) -> tuple[str, ...]:
    doubts = [f"doubt: {rule}" for rule in row.doubts]
    return (
        row.claim, row.event, row.division, row.claimed_time, row.standing, row.ruled_time or "-",
        row.record_by_it or "-", SEPARATOR.join([*row.rules_broken, *doubts]), _who(row),
        _issued(row),
    )  # fmt: skip


def _issued(row: RegisterRow) -> str:
    """The last ruling issued, and whether a session behind it was changed since."""
    since = "; a session was changed since, issue it anew" if row.changed_since else ""
    return f"ruling {row.issued}, {row.issued_on}{since}" if row.issued else "-"


def _who(row: RegisterRow) -> str:
    """Who reviewed the claim, and who settled what they differed in."""
    reviewers = row.reviewers[:-1] if row.settled_by else row.reviewers
    settled = f", settled by {row.settled_by}" if row.settled_by else ""
    return f"{' '.join(reviewers)}{settled}"


# -- the season


def add_season(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall season`` takes."""
    parser.description = "Print which rules the runs of a docket broke, by event, with bars."
    add_folder(parser)


def run_season(arguments: argparse.Namespace) -> int:
    """Print a season's faults by rule and event; returns the exit code."""
    docket = read_docket(arguments.folder)
    width = shutil.get_terminal_size().columns
    blocks = EIGHTHS if takes_blocks() else None
    say(season_text([placed.state for placed in docket.placed], width, blocks))
    return RULED


def season_text(states: Sequence[ClaimState], width: int, blocks: str | None = EIGHTHS) -> str:
    """Faults by rule and event as a table, and as bars; without ``blocks`` in plain ASCII."""
    found = season(states)
    if not found.events:
        return "No claim is ruled yet: there is nothing to sum up.\n"
    ruled = sum(state.is_ruled for state in states)
    head = (
        f"{plural(ruled, 'claim')} ruled; attempts on their footage: "
        f"{', '.join(f'{event} {found.runs[event]}' for event in found.events)}"
    )
    if not found.rules_broken:
        return f"{sanitize(head)}\nNo attempt was a scratch or void.\n{caution_lines()}"
    chart = "\n".join(_chart(found, event, width, blocks) for event in found.events)
    return f"{sanitize(head)}\n\n{_counts(found)}\n{chart}{caution_lines()}"


def _counts(found: Season) -> str:
    """How often each rule was broken in each event, the rule broken most first, and its words."""
    rows = [
        (rule, *(_count(found.count(rule, e)) for e in found.events), str(found.total(rule)))
        for rule in found.rules_broken
    ]
    words = table([(rule, found.title(rule)) for rule in found.rules_broken], left=2)
    return f"{table([('rule broken', *found.events, 'all'), *rows])}\n{words}"


def _chart(found: Season, event: str, width: int, blocks: str | None) -> str:
    """The share of an event's attempts that broke each rule; bars of all events have one scale."""
    shares = {
        (r, e): found.count(r, e) / found.runs[e] for r in found.rules_broken for e in found.events
    }
    names = max(len(rule) for rule in found.rules_broken)
    room = max(4, min(LONGEST_BAR, width - names - 8))
    most = max(shares.values())
    own = sorted(
        (r for r in found.rules_broken if shares[r, event]), key=lambda r: -shares[r, event]
    )
    if not own:
        return f"{sanitize(event)}: no attempt broke a rule\n"
    attempts = plural(found.runs[event], "attempt")
    lines = [f"{sanitize(event)}: part of its {attempts} that broke the rule\n"]
    for rule in own:
        share = shares[rule, event]
        drawn = bar(share / most * room, blocks)
        lines.append(f"{rule.ljust(names)} {100 * share:4.0f} % {drawn}\n")
    return "".join(lines)


def bar(cells: float, blocks: str | None = EIGHTHS) -> str:
    """A bar of a length in cells, to an eighth of one; whole cells of ``#`` without blocks."""
    if blocks is None:
        return "#" * max(1, round(cells))
    whole, eighths = divmod(max(1, round(cells * 8)), 8)
    return blocks[8] * whole + (blocks[eighths] if eighths else "")


def _count(count: int) -> str:
    return str(count) if count else "-"
