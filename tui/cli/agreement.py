"""``framecall agreement``: how well the reviewers of a docket agree before they know each other."""

import argparse
import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from textwrap import fill

from keymaps.commands import KIND_WORDS
from sessions.docket.docket import Docket
from sessions.plural import plural
from sessions.record.entries import Finished
from sessions.record.recording import Recording, read_session
from sessions.record.session import fold
from sessions.rules.ladder import Kind
from sessions.ruling.brackets import Outcome
from sessions.ruling.judge import rule
from sessions.ruling.ruling import Ruling
from sessions.sanitize import sanitize
from sessions.settling.agreement import CUPS, OVERALL, Agreement, agreement
from sessions.settling.measures import Figure, Limits
from tui.cli.docket import add_folder, read_docket
from tui.cli.output import RULED, say, table

FEW = 59
"""Units that show, without one difference, that 95 % agree, with a confidence of 95 %.

The least n with 0.95 ** n < 0.05.
"""

CAUTION = (
    f"Rows of fewer than {FEW} units (*) say little: {FEW} units without a difference are needed "
    "to show, with a confidence of 95 %, that reviewers agree on 95 of 100."
)

EXPLAINED = (
    "alike: both found the same, with Wilson's interval of 95 %.",
    "kappa: Cohen's, what they agree beyond chance, with an interval of 95 %; it falls where one "
    "outcome is rare, so read it with the shares of the outcomes.",
    "alpha: Krippendorff's, of all reviewers.",
    "apart: frames from the first reviewer's bracket to the second's, between their middles: the "
    "mean, and the limits of agreement (Bland and Altman, 95 %).",
    "pairs: instants that both bracketed; common: the part whose brackets have time in common.",
)

WIDTH = 80
"""Cells in a line of words."""

SHORT = {
    OVERALL: "all checkpoints",
    CUPS: "Maker's marks",
    "clock.picture": "Clock",
    "count.allowance": "Allowance",
}
"""Names of what is no kind of checkpoint on the ladder."""

SHARES = (Outcome.PROVEN, Outcome.REFUTED, Outcome.UNPROVEN)


def add_agreement(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall agreement`` takes."""
    parser.description = (
        "Print how well the reviewers of a docket agree, by kind of checkpoint: their reviews are "
        "compared as they were when finished."
    )
    add_folder(parser)
    parser.add_argument("--json", action="store_true", help="as JSON, with all figures")


def run_agreement(arguments: argparse.Namespace) -> int:
    """Print the figures; returns the exit code."""
    docket = read_docket(arguments.folder)
    compared = first_looks(docket)
    rows = agreement(compared)
    if arguments.json:
        fields = {"format": "framecall-agreement", "version": 1, "rows": [asdict(r) for r in rows]}
        say(json.dumps(fields, indent=2) + "\n")
    else:
        say(text(rows, compared))
    return RULED


def first_looks(docket: Docket) -> list[list[Ruling]]:
    """Per claim with two finished reviews or more: the ruling of each, as it was when finished.

    What a reviewer amended later, when they may have known the others' findings, is left out.
    Reviewers come in the order of their codes.
    """
    claims = []
    for placed in docket.placed:
        finished = sorted(r.reviewer for r in placed.state.reviews if r.finished and not r.settles)
        paths = [docket.folder.session(placed.state.claim.claim, name) for name in finished]
        if len(paths) > 1:
            claims.append([_when_finished(read_session(path)) for path in paths])
    return claims


def _when_finished(recording: Recording) -> Ruling:
    lines = recording.lines
    end = next(i for i, line in enumerate(lines, 1) if isinstance(line.entry, Finished))
    return rule(fold(recording.header, lines[:end]))


def text(rows: Sequence[Agreement], compared: Sequence[Sequence[Ruling]]) -> str:
    """The figures in two tables, with what they mean and why some are missing."""
    if not compared:
        return "No claim has two finished reviews yet: there is nothing to compare.\n"
    reviewers = sorted({ruling.reviewer for rulings in compared for ruling in rulings})
    count = plural(len(compared), "claim")
    head = (
        f"Agreement on {count} by {sanitize(', '.join(reviewers))}, as each review was finished\n"
    )
    told = [*EXPLAINED, *([CAUTION] if any(row.pairs < FEW for row in rows) else ())]
    words = "".join(f"{fill(part, WIDTH)}\n" for part in (*told, *_missing(rows)))
    return "\n".join([head, _figures(rows), _shares(rows), words])


def _figures(rows: Sequence[Agreement]) -> str:
    head = ("checkpoint", "units", "alike", "", "kappa", "", "alpha")
    return table([head, *(_figure_cells(row) for row in rows)])


def _figure_cells(row: Agreement) -> tuple[str, ...]:
    units = f"{row.pairs}{'*' if row.pairs < FEW else ' '}"
    observed, kappa = row.observed, row.kappa
    return (
        name_of(row.kind), units, _value(observed), _interval(observed), _value(kappa),
        _interval(kappa), _value(row.alpha),
    )  # fmt: skip


def _shares(rows: Sequence[Agreement]) -> str:
    head = ("checkpoint", "in order", "fault", "unproven", "pairs", "common", "apart", "limits")
    return table([head, *(_share_cells(row) for row in rows)])


def _share_cells(row: Agreement) -> tuple[str, ...]:
    shares = [_percent(row.prevalence.get(str(outcome), 0.0), row.pairs) for outcome in SHARES]
    limits = row.distance
    apart = "-" if limits.bias is None else f"{limits.bias:+.2f}"
    common = row.overlapping.value
    overlap = "-" if common is None else f"{100 * common:.0f} %"
    return name_of(row.kind), *shares, str(limits.count), overlap, apart, _limits(limits)


def name_of(kind: str) -> str:
    """A kind of checkpoint in words."""
    if kind in KIND_WORDS:
        return KIND_WORDS[Kind(kind)].label
    return SHORT.get(kind, kind)


def _missing(rows: Sequence[Agreement]) -> Iterator[str]:
    """Why figures are missing, each reason once."""
    reasons: dict[str, list[str]] = {}
    for row in rows:
        figures = (row.observed, row.kappa, row.alpha, row.distance)
        for words in dict.fromkeys(figure.words for figure in figures if figure.words):
            reasons.setdefault(words, []).append(name_of(row.kind))
    for words, names in reasons.items():
        yield f"- means that {words}: {', '.join(names)}."


def _value(figure: Figure) -> str:
    return "-" if figure.value is None else f"{figure.value:.3f}"


def _interval(figure: Figure) -> str:
    if figure.low is None or figure.high is None:
        return "" if figure.value is None else "-"
    return f"{figure.low:.2f} to {figure.high:.2f}"


def _limits(limits: Limits) -> str:
    if limits.low is None or limits.high is None:
        return "-"
    return f"{limits.low:+.2f} to {limits.high:+.2f}"


def _percent(share: float, units: int) -> str:
    return f"{100 * share:.1f} %" if units else "-"
