"""Every rule of the trade: what keeps it, what breaks it, and what leaves it in doubt."""

import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from pydantic import BaseModel, ConfigDict

from sessions.record.entries import Entry, Reading
from sessions.rules.events import event_names, load_event
from sessions.rules.ladder import Kind
from sessions.rules.rulebook import rules
from sessions.ruling.judge import rule
from sessions.ruling.ruling import Bracket, RuledRun, Ruling
from tests.sessions.samples import cups_and_frames, header, invented_event, spot
from tests.sessions.tags import session_from

CASES = Path(__file__).parent / "cases"


class Case(BaseModel):
    """Tags of a session, and what must be found of one checkpoint of one run.

    Unless ``bare``, every cup's mark is seen and every frame shown. ``display`` is another reading
    than the true one. An outcome ``none`` says that there is no finding.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    rule: str
    name: str
    event: str
    tags: list[str]
    bare: bool = False
    display: str | None = None
    run: int = 1
    checkpoint: str
    outcome: str
    met: str | None = None
    due: str | None = None
    says: str = ""
    standing: str
    number: int | None = None
    best: int | None = None

    @property
    def id(self) -> str:
        return f"{self.rule}-{self.name}"


class Seen(BaseModel):
    """What the ruling says of the checkpoint of a case."""

    rule: str
    outcome: str
    reason: str
    met: str | None = None
    due: str | None = None


def read_cases() -> list[Case]:
    files = sorted(CASES.glob("*.toml"))
    rows = [row for file in files for row in tomllib.loads(file.read_text())["case"]]
    return [Case.model_validate(row) for row in rows]


ALL = read_cases()


@pytest.mark.parametrize("case", ALL, ids=lambda case: case.id)
def test_rule(case: Case) -> None:
    ruling = ruling_of(case)
    run = next(run for run in ruling.runs if run.run == case.run)
    seen = list(seen_of(case.checkpoint, ruling, run))
    if case.outcome == "none":
        assert not seen
    else:
        assert_as_expected(case, seen[0])
    assert run.standing.value == case.standing
    assert case.number in (None, run.number)
    assert case.best in (None, ruling.best_run)


OTHER_CLOCKS = {
    "last-hand": invented_event(["3-3-3"], clock={"starts": "last hand"}),
    "first-hand": invented_event(["3-3-3"], clock={"stops": "first hand"}),
}
"""The 3-3-3 of leagues whose clock is started, or stopped, by the other hand."""


def ruling_of(case: Case) -> Ruling:
    head = header(OTHER_CLOCKS.get(case.event, case.event))
    before = [] if case.bare else list(cups_and_frames(head))
    session = session_from(head, case.tags, *before)
    if case.display is not None:
        reading = Reading(run=case.run, display=case.display, at=spot(160))
        lines = [line.entry for line in session.live]
        others: list[Entry] = [entry for entry in lines if not isinstance(entry, Reading)]
        session = session_from(head, [], *others, reading)
    return rule(session)


def assert_as_expected(case: Case, seen: Seen) -> None:
    assert seen.rule == case.rule
    assert seen.outcome == case.outcome
    assert case.met in (None, seen.met)
    assert case.due in (None, seen.due)
    assert case.says in seen.reason
    if case.outcome == "refuted" and not case.rule.startswith("cup."):
        event = OTHER_CLOCKS.get(case.event) or load_event(case.event)
        rule = event.rule(case.rule)
        assert rule is not None
        assert rule.refuted in seen.reason


def seen_of(checkpoint: str, ruling: Ruling, run: RuledRun) -> Iterator[Seen]:
    for cup in ruling.cups:
        if checkpoint == f"cup {cup.cup}":
            yield Seen(rule="cup.mark", outcome=cup.outcome, reason=cup.detail)
    for spent in ruling.spent:
        if checkpoint == f"spent {spent.number}":
            yield Seen(rule=spent.rule, outcome="refuted", reason=spent.reason)
    for found in run.findings:
        if checkpoint == found.checkpoint:
            yield Seen(
                rule=found.rule,
                outcome=found.outcome,
                reason=found.reason,
                met=written(found.met),
                due=written(found.due),
            )


def written(bracket: Bracket | None) -> str | None:
    if bracket is None:
        return None
    after, by = ("-" if end is None else end.frame for end in (bracket.after, bracket.by))
    return f"({after}, {by}]"


def cases_of(rule_id: str) -> set[str]:
    return {case.name for case in ALL if case.rule == rule_id}


@pytest.mark.parametrize("rule_id", rules())
def test_every_rule_has_a_case_that_keeps_it_and_one_that_breaks_it(rule_id: str) -> None:
    assert {"proven", "refuted"} <= cases_of(rule_id)


@pytest.mark.parametrize("rule_id", [r.id for r in rules().values() if r.kind is not None])
def test_every_rule_of_a_checkpoint_has_a_case_in_doubt(rule_id: str) -> None:
    assert "unproven" in cases_of(rule_id)


def test_cases_are_named_once_and_by_rules_that_exist() -> None:
    names = [case.id for case in ALL]
    assert len(set(names)) == len(names)
    listed = {rule.id for name in event_names() for rule in load_event(name).rules}
    assert {case.rule for case in ALL} == set(rules()) | listed


def test_every_rule_of_a_checkpoint_names_a_kind_of_the_ladder() -> None:
    assert {r.kind for r in rules().values() if r.kind} <= {kind.value for kind in Kind}
