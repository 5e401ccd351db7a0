"""The seven laws that every ruling keeps, on random sessions."""

import re
from collections.abc import Callable, Iterable
from fractions import Fraction
from random import Random
from typing import Any

from hypothesis import HealthCheck, assume, given
from hypothesis import strategies as st

from sessions.record.entries import (
    AttemptsBefore,
    Entry,
    Look,
    Reading,
    ReadingAccepted,
    RunBegun,
    Shown,
    Sighted,
    Spot,
    StartedOver,
)
from sessions.record.header import FootageFacts, Header
from sessions.ruling.brackets import Outcome
from sessions.ruling.fumbles import run_ladder
from sessions.ruling.judge import rule
from sessions.ruling.ruling import Ruling, Standing
from tests.proofs import examples
from tests.sessions.ruling.event_reading import Check
from tests.sessions.ruling.reference import Truth, attempt_numbers, attempts_before, best_time
from tests.sessions.samples import (
    FRAME_PTS,
    cups_and_frames,
    faultless_run,
    header,
    spot,
)
from tests.sessions.strategies import Drawn, drawn_sessions, marks_on

LAW = examples(few=20, many=100, suppress_health_check=list(HealthCheck))
DECIDED = (Outcome.PROVEN, Outcome.REFUTED)
DEGREES = (Standing.VOID, Standing.SCRATCH, Standing.OPEN, Standing.STANDS)
"""From the worst for the competitor to the best."""


def ruling_of(drawn: Drawn) -> Ruling:
    return rule(drawn.session)


def outcomes(ruling: Ruling) -> dict[tuple[int, str], Outcome]:
    return {(r.run, f.checkpoint): f.outcome for r in ruling.runs for f in r.findings}


def standings(ruling: Ruling) -> dict[int, Standing]:
    return {run.run: run.standing for run in ruling.runs}


def narrowings(mark: Look | Sighted) -> list[Look | Sighted]:
    """The same mark with its bracket narrower by one frame on either side."""
    if isinstance(mark, Look) and mark.saw != "unproven":
        return []
    after = -1 if mark.after is None else mark.after.frame
    if mark.by.frame - after < 2:
        return []
    later = {"after": spot(after + 1)}
    earlier = {"by": spot(mark.by.frame - 1)}
    return [mark.model_copy(update=change) for change in (later, earlier)]


@LAW
@given(st.data(), drawn_sessions())
def test_refinement_never_turns_proven_and_refuted_into_each_other(
    data: st.DataObject, drawn: Drawn
) -> None:
    """Law 1, refinement: a narrower bracket decides what was in doubt, and no decision changes."""
    marks = [e for e in drawn.entries if isinstance(e, Look | Sighted)]
    narrow = [(m, n) for m in marks for n in narrowings(m)]
    chosen = data.draw(st.none() | st.sampled_from(narrow)) if narrow else None
    if chosen is not None:
        wide, narrower = chosen
        after = drawn.with_entries([narrower if e is wide else e for e in drawn.entries])
    else:
        run = drawn.session.runs[0]
        ladder = run_ladder(drawn.header.event, run.fumbles)
        first = data.draw(st.integers(0, drawn.header.footage.frames - 8))
        after = drawn.with_entries([*drawn.entries, data.draw(marks_on(ladder, first, run.id))])
    found = outcomes(ruling_of(after))
    for checkpoint, outcome in outcomes(ruling_of(drawn)).items():
        if checkpoint[1] not in ("clock", "record") and outcome in DECIDED:
            assert found[checkpoint] in (outcome, Outcome.CONFLICT)


def shuffled(drawn: Drawn, seed: int) -> Drawn:
    """The same marks in another order; a count of attempts still follows the one it replaces."""
    entries = list(drawn.entries)
    Random(seed).shuffle(entries)
    counts = iter([entry for entry in drawn.entries if isinstance(entry, AttemptsBefore)])
    return drawn.with_entries(
        [next(counts) if isinstance(entry, AttemptsBefore) else entry for entry in entries]
    )


@LAW
@given(drawn_sessions(orphans=False), st.integers(0, 2**32))
def test_order_of_entry_does_not_matter(drawn: Drawn, seed: int) -> None:
    """Law 2, order: the same marks in any order give the same ruling."""
    assert ruling_of(shuffled(drawn, seed)) == ruling_of(drawn)


@LAW
@given(drawn_sessions(orphans=False), st.integers(0, 2**32))
def test_order_of_entry_does_not_matter_for_what_is_ruled(drawn: Drawn, seed: int) -> None:
    """Law 2, order, for the decisions alone."""
    one, other = ruling_of(drawn), ruling_of(shuffled(drawn, seed))
    assert (one.made, one.summary, one.cups) == (other.made, other.summary, other.cups)
    assert standings(one) == standings(other)
    assert outcomes(one) == outcomes(other)


def breakable(drawn: Drawn) -> list[tuple[int, Check, int, Drawn]]:
    """Run, checkpoint and frame at which a breach agrees with all marks but that checkpoint's."""
    places = []
    for run in drawn.session.runs:
        checks = Truth.of(drawn.header.event, run, 1).checks
        check = Random(len(drawn.entries)).choice(checks)
        rest = drawn.with_entries(
            [e for e in drawn.entries if not (isinstance(e, Look) and e.checkpoint == check.id)]
        )
        left = rest.session.run(run.id)
        if left is not None:
            truth = Truth.of(drawn.header.event, left, drawn.header.footage.frames)
            frames = range(drawn.header.footage.frames)
            places += [(run.id, check, n, rest) for n in frames if truth.may_break(check, n)]
    return places


@LAW
@given(st.data(), drawn_sessions())
def test_a_refuted_rule_never_improves_a_run(data: st.DataObject, drawn: Drawn) -> None:
    """Law 3, first half: with one more rule refuted, no run and no best time is better."""
    places = breakable(drawn)
    assume(places)
    run, checkpoint, frame, rest = data.draw(st.sampled_from(places))
    broken = Look(run=run, checkpoint=checkpoint.id, saw="refuted", by=spot(frame))
    before, after = ruling_of(rest), ruling_of(rest.with_entries([*rest.entries, broken]))
    assume(refuted(before) < refuted(after))
    ranked = {r: DEGREES.index(s) for r, s in standings(before).items() if s in DEGREES}
    assert all(DEGREES.index(standings(after)[r]) <= rank for r, rank in ranked.items())
    if after.best_time is not None:
        assert before.best_time is not None
        assert Fraction(after.best_time) >= Fraction(before.best_time)


def refuted(ruling: Ruling) -> set[tuple[int, str]]:
    return {place for place, outcome in outcomes(ruling).items() if outcome is Outcome.REFUTED}


@LAW
@given(st.data(), drawn_sessions(most_runs=2))
def test_removing_a_mark_never_turns_a_scratch_into_stands_unless_it_refuted(
    data: st.DataObject, drawn: Drawn
) -> None:
    """Law 3, second half: a checkpoint that nobody looked at is open, not clean."""
    marks = [e for e in drawn.entries if isinstance(e, Look | Sighted)]
    assume(marks)
    before = ruling_of(drawn)
    for mark in data.draw(st.lists(st.sampled_from(marks), min_size=1, max_size=6)):
        after = ruling_of(drawn.with_entries([e for e in drawn.entries if e is not mark]))
        for run, standing in standings(after).items():
            if standing is Standing.STANDS and standings(before)[run] is Standing.SCRATCH:
                assert speaks_of_a_refuted_checkpoint(drawn, mark, refuted(before))


def speaks_of_a_refuted_checkpoint(
    drawn: Drawn, mark: Look | Sighted, places: set[tuple[int, str]]
) -> bool:
    run = drawn.session.run(mark.run)
    assert run is not None
    checks = {c.id: c for c in Truth.of(drawn.header.event, run, 1).checks}
    at_fault = [checks[name] for where, name in places if where == run.id and name in checks]
    faulty = {moment for check in at_fault for moment in (check.met, check.due)}
    faulty |= {checks[check.cure].met for check in at_fault if check.cure is not None}
    if isinstance(mark, Sighted):
        return mark.moment in faulty
    return bool(faulty & {checks[mark.checkpoint].met, checks[mark.checkpoint].due})


MIRRORED = {"left": "right", "right": "left"}


@LAW
@given(drawn_sessions())
def test_mirror_changes_nothing_but_the_words(drawn: Drawn) -> None:
    """Law 4, mirror: left and right swapped everywhere."""
    mirrored = drawn.with_entries([mirror(entry) for entry in drawn.entries])
    words = ruling_of(drawn).model_dump_json()
    swapped = words.replace("left hand", "* hand").replace("right hand", "left hand")
    assert ruling_of(mirrored).model_dump_json() == swapped.replace("* hand", "right hand")


def mirror(entry: Entry) -> Entry:
    if isinstance(entry, Look | Sighted) and entry.hand is not None:
        return entry.model_copy(update={"hand": MIRRORED[entry.hand]})
    return entry


@LAW
@given(drawn_sessions(), st.integers(1, 5000))
def test_shift_changes_nothing_but_the_frame_numbers(drawn: Drawn, frames: int) -> None:
    """Law 5, shift: all frames and time stamps moved by so many frames."""
    footage = drawn.header.footage
    later: FootageFacts = footage.model_copy(update={"frames": footage.frames + frames})
    head: Header = drawn.header.model_copy(update={"footage": later})
    before = Shown(ranges=((0, frames - 1),))
    shifted = Drawn(head, (*(shift(entry, frames) for entry in drawn.entries), before))
    assert unshifted(ruling_of(shifted), frames) == unshifted(ruling_of(drawn), 0)


def shift(entry: Entry, frames: int) -> Entry:
    changes: dict[str, object] = {
        name: spot(value.frame + frames) for name, value in entry if isinstance(value, Spot)
    }
    if isinstance(entry, Shown):
        changes["ranges"] = tuple((a + frames, b + frames) for a, b in entry.ranges)
    return entry.model_copy(update=changes)


def unshifted(ruling: Ruling, frames: int) -> Any:
    """The ruling as data, its places moved back, without footage and times for people."""
    told = ruling.model_dump(exclude={"footage", "frames_seen"})
    for words in ("summary", "unwatched", "never_shown"):
        told[words] = re.sub(r" of \d+ frames .*", "", told[words])
    for run in told["runs"]:
        run["counted_as"] = re.sub(
            r"frame (\d+)", lambda number: f"frame {int(number[1]) - frames}", run["counted_as"]
        )
    for finding in (finding for run in told["runs"] for finding in run["findings"]):
        finding["reason"] = re.sub(
            r"frame (\d+)", lambda number: f"frame {int(number[1]) - frames}", finding["reason"]
        )
    return each_place(told, lambda p: (p["frame"] - frames, p["pts"] - FRAME_PTS * frames))


def each_place(data: Any, change: Callable[[dict[str, int]], object]) -> Any:
    if isinstance(data, dict):
        if "pts" in data:
            return change(data)
        return {key: each_place(value, change) for key, value in data.items()}
    return [each_place(d, change) for d in data] if isinstance(data, list | tuple) else data


@st.composite
def timed_runs(draw: st.DrawFn) -> Drawn:
    """Up to six runs of any times and sorts, some started over, some with a fault."""
    head = header("3-3-3", 4000)
    entries: list[Entry] = list(cups_and_frames(head))
    for run in draw(st.permutations(range(1, draw(st.integers(1, 6)) + 1))):
        display = draw(st.sampled_from(["2.100", "2.1", "3.670", "3.671", "10.000", "09.9"]))
        first = 300 * draw(st.integers(0, 9))
        made = list(faultless_run(head.event, run, first, display))
        over = draw(st.sampled_from([0, 0, 0, 1, 2]))
        sort = draw(st.sampled_from(["attempt", "attempt", "attempt", "warm-up", "rearranging"]))
        fault = draw(st.sampled_from(["", "", "f1.s1.let-go", "f1.order"]))
        entries += [changed(entry, sort, fault) for entry in made]
        entries += [StartedOver(run=run, at=spot(first + n)) for n in range(over)]
        entries.append(ReadingAccepted(run=run, display=display, reason="the clock is another's"))
    return Drawn(head, tuple(entries))


def changed(entry: Entry, sort: str, fault: str) -> Entry:
    if isinstance(entry, RunBegun):
        return entry.model_copy(update={"sort": sort})
    if isinstance(entry, Look) and entry.checkpoint == fault:
        return entry.model_copy(update={"saw": "refuted"})
    return entry


@LAW
@given(timed_runs())
def test_best_time_is_the_least_of_the_runs_that_stand(drawn: Drawn) -> None:
    """Law 6, best time, against brute force over the entries."""
    allowed = drawn.header.event.allowance.attempts
    numbers = attempt_numbers(drawn.session.runs, attempts_before(drawn.session))
    broken = {e.run for e in drawn.entries if isinstance(e, Look) and e.saw == "refuted"}
    times = {e.run: e.display for e in drawn.entries if isinstance(e, Reading)}
    standing = {run for run, number in numbers.items() if number <= allowed} - broken
    ruling = ruling_of(drawn)
    found = None if ruling.best_time is None else Fraction(ruling.best_time)
    assert found == best_time(times, standing)
    assert ruling.made == (bool(numbers) and not ruling.problems)
    expected = no_slower_than(found, times, numbers.keys() - standing)
    assert set(ruling.faster_but_not_standing) == expected


def no_slower_than(best: Fraction | None, times: dict[int, str], runs: Iterable[int]) -> set[int]:
    return {run for run in runs if best is None or Fraction(times[run]) <= best}


@LAW
@given(timed_runs())
def test_attempt_numbers_are_those_of_the_plain_count(drawn: Drawn) -> None:
    """Law 7, attempt numbers, and the attempts that starting over spent."""
    numbers = attempt_numbers(drawn.session.runs, attempts_before(drawn.session))
    ruling = ruling_of(drawn)
    assert {r.run: r.number for r in ruling.runs if r.number is not None} == numbers
    overs = [e for e in drawn.entries if isinstance(e, StartedOver) and e.run in numbers]
    taken = {*numbers.values(), *(attempt.number for attempt in ruling.spent)}
    allowed = drawn.header.event.allowance.attempts
    assert {n for n in taken if n <= allowed} == set(
        range(1, min(allowed, len(numbers) + len(overs)) + 1)
    )
