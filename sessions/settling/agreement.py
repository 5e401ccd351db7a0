"""How well reviewers of the same claims agree, for each kind of checkpoint and over all.

Runs of different reviews are one run where they share frames of the footage. A unit is one
checkpoint of one run, or one cup of the footage; its ratings are the outcomes proven, refuted and
unproven. A checkpoint that nobody looked at, or whose tags contradict each other, has no rating.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from sessions.rules.rulebook import rules
from sessions.ruling.brackets import Outcome
from sessions.ruling.ruling import Bracket, RuledFinding, RuledRun, Ruling
from sessions.settling.measures import (
    Figure,
    Limits,
    cohen_kappa,
    krippendorff_alpha,
    limits_of_agreement,
    observed_agreement,
    prevalence,
    wilson,
)

OVERALL = "overall"
CUPS = "cup.mark"


@dataclass(frozen=True, slots=True)
class Apart:
    """One instant that the first two reviewers bracketed, ``frames`` from first to second.

    Measured between the middles of the brackets, so in halves of a frame; ``overlap`` is whether
    the brackets leave it possible that both saw the same instant.
    """

    moment: str
    frames: float
    overlap: bool


@dataclass(frozen=True, slots=True)
class Unit:
    """One checkpoint as each review judged it, in the order of the reviews.

    ``run`` counts the runs that the reviews of the claim have between them; cups have ``None``.
    """

    kind: str
    checkpoint: str
    run: int | None
    ratings: tuple[Outcome | None, ...]
    apart: tuple[Apart, ...] = ()


@dataclass(frozen=True)
class Agreement:
    """The figures of one kind of checkpoint, or of all (``overall``).

    ``observed``, ``kappa`` and the distances are of the first two reviews of each claim, ``alpha``
    is of all; ``prevalence`` is the share of each outcome among the ratings behind kappa, to be
    read along with it. ``overlapping`` is the share of instants whose brackets overlap.
    """

    kind: str
    claims: int
    pairs: int
    observed: Figure
    kappa: Figure
    alpha: Figure
    prevalence: Mapping[str, float]
    overlapping: Figure
    distance: Limits


def agreement(claims: Iterable[Sequence[Ruling]]) -> tuple[Agreement, ...]:
    """Agreement over claims, each given by its rulings from the first reviewer's on.

    The first row is of all checkpoints, the others of one kind each, in the order of the rules.
    """
    compared = [tuple(compare(rulings)) for rulings in claims]
    found = {unit.kind for units in compared for unit in units}
    order = dict.fromkeys((*(kind_of(rule) for rule in rules()), *sorted(found)))
    overall = _row(OVERALL, compared)
    kinds = (kind for kind in order if kind in found)
    return overall, *(_row(kind, [_of(kind, units) for units in compared]) for kind in kinds)


def compare(rulings: Sequence[Ruling]) -> Iterator[Unit]:
    """The units of one claim."""
    for number, runs in enumerate(align([ruling.runs for ruling in rulings])):
        yield from _run_units(number, runs)
    yield from _cup_units(rulings)


def align(reviews: Sequence[Sequence[RuledRun]]) -> list[tuple[RuledRun | None, ...]]:
    """Runs that share frames, one column a review; a review without such a run has ``None``."""
    listed = [(run, column) for column, runs in enumerate(reviews) for run in runs]
    listed.sort(key=lambda item: (_span(item[0])[0], item[1]))
    rows: list[list[RuledRun | None]] = []
    for run, column in listed:
        row = next((row for row in rows if row[column] is None and _shares_frames(row, run)), None)
        if row is None:
            row = [None] * len(reviews)
            rows.append(row)
        row[column] = run
    return [tuple(row) for row in rows]


def kind_of(rule: str) -> str:
    """The kind of checkpoint that judges a rule; the rule's own id where there is none."""
    known = rules().get(rule)
    return rule if known is None or known.kind is None else known.kind


def _row(kind: str, claims: Sequence[Sequence[Unit]]) -> Agreement:
    units = [unit for claim in claims for unit in claim]
    pairs = [pair for unit in units if (pair := _pair(unit)) is not None]
    apart = [apart for claim in claims for apart in _instants(claim)]
    shares = prevalence(rating for pair in pairs for rating in pair)
    return Agreement(
        kind=kind,
        claims=sum(any(_pair(unit) for unit in claim) for claim in claims),
        pairs=len(pairs),
        observed=observed_agreement(pairs),
        kappa=cohen_kappa(pairs),
        alpha=krippendorff_alpha([r for r in unit.ratings if r is not None] for unit in units),
        prevalence={str(outcome): share for outcome, share in shares.items()},
        overlapping=wilson(sum(a.overlap for a in apart), len(apart)),
        distance=limits_of_agreement([a.frames for a in apart]),
    )


def _of(kind: str, units: Iterable[Unit]) -> tuple[Unit, ...]:
    return tuple(unit for unit in units if unit.kind == kind)


def _pair(unit: Unit) -> tuple[Outcome, Outcome] | None:
    """What the first two reviews say, where both say something."""
    match unit.ratings[:2]:
        case (Outcome() as first, Outcome() as second):
            return first, second
    return None


def _instants(units: Iterable[Unit]) -> Iterable[Apart]:
    """Each instant of a claim once, though several checkpoints rest on it."""
    return {(unit.run, apart.moment): apart for unit in units for apart in unit.apart}.values()


def _run_units(number: int, runs: Sequence[RuledRun | None]) -> Iterator[Unit]:
    found = [{f.checkpoint: f for f in run.findings} if run else {} for run in runs]
    for checkpoint in dict.fromkeys(checkpoint for findings in found for checkpoint in findings):
        said = [findings.get(checkpoint) for findings in found]
        yield Unit(
            kind=next(kind_of(finding.rule) for finding in said if finding),
            checkpoint=checkpoint,
            run=number,
            ratings=tuple(_rating(finding.outcome) if finding else None for finding in said),
            apart=tuple(_apart(said[:2])),
        )


def _cup_units(rulings: Sequence[Ruling]) -> Iterator[Unit]:
    found = [{cup.cup: cup.outcome for cup in ruling.cups} for ruling in rulings]
    for cup in dict.fromkeys(cup for cups in found for cup in cups):
        ratings = tuple(_rating(cups[cup]) if cup in cups else None for cups in found)
        yield Unit(CUPS, f"cup {cup}", None, ratings)


def _rating(outcome: Outcome) -> Outcome | None:
    return None if outcome.is_open else outcome


def _apart(said: Sequence[RuledFinding | None]) -> Iterator[Apart]:
    """How far apart the first two reviews see the instants of a checkpoint."""
    match said:
        case (RuledFinding() as first, RuledFinding() as second):
            for one, other in ((first.met, second.met), (first.due, second.due)):
                if one is not None and other is not None and one.moment == other.moment:
                    yield from _distance(one, other)


def _distance(one: Bracket, other: Bracket) -> Iterator[Apart]:
    """Nothing where either bracket is open at an end, so that it names no instant."""
    if one.after and one.by and other.after and other.by:
        first, second = (one.after.frame, one.by.frame), (other.after.frame, other.by.frame)
        overlap = max(first[0], second[0]) < min(first[1], second[1])
        yield Apart(one.moment, (sum(second) - sum(first)) / 2, overlap)


def _span(run: RuledRun) -> tuple[int, float]:
    """The first and last frame of a run; an open one has no last."""
    begins = run.begins.frame if run.begins else 0
    return begins, run.ends.frame if run.ends else float("inf")


def _shares_frames(row: Iterable[RuledRun | None], run: RuledRun) -> bool:
    first, last = _span(run)
    spans = (_span(other) for other in row if other is not None)
    return any(begins <= last and first <= ends for begins, ends in spans)
