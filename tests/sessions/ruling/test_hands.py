"""Which hand decides: every rule of two hands has a case by hand that another hand would change."""

from collections.abc import Callable, Iterator
from types import MappingProxyType

import pytest

from sessions.rules import ladder
from sessions.rules.ladder import build_ladder, stacks_of
from sessions.rules.rulebook import JudgedBy, Rule, rules
from sessions.ruling.brackets import Outcome
from sessions.ruling.checker import check_run
from tests.sessions.ruling.test_rules import ALL, Case, ruling_of, seen_of
from tests.sessions.samples import header
from tests.sessions.tags import session_from

HANDED = [rule.id for rule in rules().values() if rule.hands is not None]
FLIPPED = {
    JudgedBy.FIRST: JudgedBy.LAST,
    JudgedBy.LAST: JudgedBy.FIRST,
    JudgedBy.EACH: JudgedBy.FIRST,
}
Judge = Callable[[dict[str, JudgedBy]], None]


@pytest.fixture
def judge_by(monkeypatch: pytest.MonkeyPatch) -> Iterator[Judge]:
    """Has rules judged by other hands than they say."""

    def forget() -> None:
        build_ladder.cache_clear()
        stacks_of.cache_clear()

    def judge(by: dict[str, JudgedBy]) -> None:
        told: dict[str, Rule] = {
            name: rule.model_copy(update={"hands": by.get(name, rule.hands)})
            for name, rule in rules().items()
        }
        monkeypatch.setattr(ladder, "rules", lambda: MappingProxyType(told))
        monkeypatch.setattr("sessions.ruling.fumbles.state", ladder.state)
        forget()

    yield judge
    forget()


def changed(rule: str) -> list[str]:
    """The cases of a rule that come out otherwise than by hand."""
    return [case.name for case in ALL if case.rule == rule and outcome_of(case) != case.outcome]


def outcome_of(case: Case) -> str:
    ruling = ruling_of(case)
    run = next(run for run in ruling.runs if run.run == case.run)
    return next((seen.outcome for seen in seen_of(case.checkpoint, ruling, run)), "none")


# Which rules judge how: common practice, no source.
def test_the_rules_of_two_hands_are_judged_as_the_trade_does() -> None:
    assert {name: rules()[name].hands for name in HANDED} == {
        "start.flat": JudgedBy.FIRST,
        "start.grip": JudgedBy.EACH,
        "start.still": JudgedBy.EACH,
        "build.let-go": JudgedBy.LAST,
        "down.let-go": JudgedBy.LAST,
        "down.two-hands": JudgedBy.LAST,
        "change.singles": JudgedBy.LAST,
        "stop.free": JudgedBy.EACH,
        "stop.flat": JudgedBy.EACH,
        "fumble.let-go": JudgedBy.LAST,
        "fumble.one-stack": JudgedBy.FIRST,
    }


@pytest.mark.parametrize("rule", HANDED)
def test_a_rule_that_another_hand_decides_changes_a_case(rule: str, judge_by: Judge) -> None:
    assert changed(rule) == []
    hands = rules()[rule].hands
    assert hands is not None
    judge_by({rule: FLIPPED[hands]})
    assert changed(rule)


@pytest.mark.parametrize("rule", [r for r in HANDED if rules()[r].hands is JudgedBy.EACH])
def test_a_rule_of_each_hand_is_not_one_of_the_last_hand(rule: str, judge_by: Judge) -> None:
    judge_by({rule: JudgedBy.LAST})
    assert changed(rule)


def test_each_rule_changes_a_case_also_where_all_are_decided_by_another_hand(
    judge_by: Judge,
) -> None:
    judge_by({name: FLIPPED[hands] for name in HANDED if (hands := rules()[name].hands)})
    assert [rule for rule in HANDED if not changed(rule)] == []


def test_where_the_hand_is_not_known_that_decides_nothing_is_decided() -> None:
    """If the left hand was off first, it may touch a cup at 15; if it was the last, it may not."""
    tags = (
        "open 1 attempt at 0",
        "sighted 1 start 9 10",
        "look 1 start.still refuted 25",
        "sighted 1 start.grip 14 15 left",
        "look 1 start.grip proven 40 right",
    )
    session = session_from(header("3-3-3"), tags)
    finding = check_run(session, session.runs[0]).finding("start.grip")
    assert finding is not None
    assert finding.outcome is Outcome.UNLOOKED
