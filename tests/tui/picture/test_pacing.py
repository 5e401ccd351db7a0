import heapq
from dataclasses import dataclass

import numpy as np
import pytest

from tui.picture.pacing import (
    LEAST_PICTURE,
    LEAST_RATE,
    LOST_SECONDS,
    UNACKNOWLEDGED_SECONDS,
    Pacer,
)


@dataclass
class Clock:
    now: float = 0.0

    def __call__(self) -> float:
        return self.now


@dataclass
class Held:
    """What came of an arrow held down: delays from key to shown, pictures, time after the last."""

    delays: list[float]
    pictures: int
    seconds: float


def hold_arrow(
    rate: float, trip: float, size: int, keys: int = 120, hertz: float = 30.0, before: int = 0
) -> Held:
    """Steps over a line of a rate (bytes a second) and a round trip (seconds), simulated.

    Before it, some pictures of 2500 bytes go one by one, as those that refine at rest do.
    """
    clock = Clock()
    pacer = Pacer(acknowledged=True, clock=clock)
    replied(pacer, clock, *[(2500, trip + 2500 / rate)] * before)
    begun = clock.now = clock.now + 1
    events = [(begun + n / hertz + trip / 2, n, "key") for n in range(keys)]
    heapq.heapify(events)
    position, drawn, free_at, shown = -1, -1, 0.0, {}
    while events:
        clock.now, number, kind = heapq.heappop(events)
        if kind == "key":
            position = number
        elif kind == "shown":
            shown[number] = clock.now
            heapq.heappush(events, (clock.now + trip / 2, number, "reply"))
        else:
            pacer.reply()
        if position != drawn and pacer.ready:
            passed, drawn = position - drawn, position
            whole = round(size * (0.7 + 0.3 * passed))  # the more is passed over, the more changed
            now = min(whole, pacer.allowance or whole)
            free_at = max(free_at, clock.now) + now / rate
            heapq.heappush(events, (free_at + trip / 2, drawn, "shown"))
            pacer.sent(now)
    assert drawn == keys - 1
    times = sorted((at, number) for number, at in shown.items())
    pressed = [begun + n / hertz for n in range(keys)]
    delays = [next(at for at, last in times if last >= n) - pressed[n] for n in range(keys)]
    return Held(delays, len(shown), times[-1][0] - begun)


@pytest.mark.parametrize(
    ("megabits", "trip", "p99", "a_second"),
    [(1, 0.1, 0.3, 20), (10, 0.1, 0.15, 28), (1000, 0.001, 0.02, 29), (0.3, 0.2, 0.9, 6)],
)
@pytest.mark.parametrize("size", [5000, 9000])
def test_a_held_arrow_never_runs_behind(
    megabits: float, trip: float, p99: float, a_second: float, size: int
) -> None:
    held = hold_arrow(megabits * 125_000, trip, size)
    assert np.percentile(held.delays, 99) <= p99
    assert held.pictures / held.seconds >= a_second


@pytest.mark.parametrize("before", range(1, 13))
def test_small_pictures_sent_one_by_one_do_not_make_a_line_pass_for_slow(before: int) -> None:
    held = hold_arrow(125_000, 0.1, 4300, before=before)
    assert held.pictures / held.seconds >= 20
    assert np.percentile(held.delays, 99) <= 0.3


def test_a_line_that_slows_down_is_given_less() -> None:
    clock = Clock()
    pacer = Pacer(acknowledged=True, clock=clock)
    for trip in [0.05] * 20 + [0.4] * 20:
        pacer.sent(5000)
        clock.now += trip
        pacer.reply()
    pacer.sent(5000)
    assert not pacer.ready


def replied(pacer: Pacer, clock: Clock, *pictures: tuple[int, float]) -> None:
    """Pictures one after the other, each of a size and with its round trip."""
    for size, trip in pictures:
        pacer.sent(size)
        clock.now += trip
        pacer.reply()


def test_a_picture_is_held_to_what_the_line_carries_only_in_a_hurry() -> None:
    clock = Clock()
    pacer = Pacer(acknowledged=True, clock=clock)
    replied(pacer, clock, (100, 0.1), (80_000, 0.5))
    pacer.sent(10)
    assert pacer.allowance == pytest.approx(160_000 / LEAST_RATE, abs=1)
    pacer.reply()
    clock.now += 0.5
    assert pacer.idle
    assert pacer.allowance is None


def test_no_picture_is_made_so_small_that_it_says_nothing_nor_held_back_on_a_free_line() -> None:
    clock = Clock()
    pacer = Pacer(acknowledged=True, clock=clock)
    replied(pacer, clock, (100, 0.1), (1000, 0.5))
    pacer.sent(10)
    assert pacer.allowance == LEAST_PICTURE
    replied(pacer, clock, *[(4000, 0.1)] * 50)
    pacer.sent(10)
    assert pacer.allowance is None


def test_a_lost_acknowledgement_holds_nothing_up_for_long() -> None:
    clock = Clock()
    pacer = Pacer(acknowledged=True, clock=clock)
    pacer.sent(10)
    pacer.sent(10)
    assert not pacer.ready
    assert pacer.wait == pytest.approx(LOST_SECONDS)
    clock.now = LOST_SECONDS
    assert pacer.ready
    assert pacer.acknowledged


def test_a_terminal_that_never_acknowledges_is_paced_by_time() -> None:
    clock = Clock()
    pacer = Pacer(acknowledged=True, clock=clock)
    for _ in range(2):
        pacer.sent(10)
        clock.now += LOST_SECONDS
        assert pacer.ready
    assert not pacer.acknowledged
    pacer.sent(10)
    assert pacer.wait == pytest.approx(UNACKNOWLEDGED_SECONDS)
    clock.now += UNACKNOWLEDGED_SECONDS + 1e-6
    assert pacer.ready


def test_a_line_that_stood_still_is_paced_by_its_replies_again() -> None:
    clock = Clock()
    pacer = Pacer(acknowledged=True, clock=clock)
    for _ in range(2):
        pacer.sent(10)
        clock.now += LOST_SECONDS
        assert pacer.ready
    assert not pacer.acknowledged
    pacer.reply()
    assert pacer.acknowledged
    pacer.sent(10)
    clock.now += 0.05
    pacer.reply()
    assert pacer.ready
    assert pacer.acknowledged


def test_a_terminal_that_never_acknowledged_is_not_taken_to_by_a_stray_reply() -> None:
    pacer = Pacer(acknowledged=False, clock=Clock())
    pacer.reply()
    assert not pacer.acknowledged


def test_after_a_lost_acknowledgement_the_line_is_idle_without_another_key() -> None:
    clock = Clock()
    pacer = Pacer(acknowledged=True, clock=clock)
    pacer.sent(10)
    clock.now += LOST_SECONDS / 2
    assert not pacer.idle
    clock.now += LOST_SECONDS / 2
    assert pacer.idle


@pytest.mark.parametrize(("size", "a_second"), [(1000, 40), (4000, 27), (10_000, 11), (90_000, 8)])
def test_unacknowledged_pictures_leave_as_a_slow_line_would_take_them(
    size: int, a_second: int
) -> None:
    clock = Clock()
    pacer = Pacer(acknowledged=False, clock=clock)
    left = 0
    while clock.now < 10:
        if pacer.ready:
            left += 1
            pacer.sent(size)
        clock.now += max(pacer.wait, 1e-6)
    assert left / 10 == pytest.approx(a_second, abs=1)


def test_unacknowledged_pictures_are_small_only_in_a_hurry() -> None:
    clock = Clock()
    pacer = Pacer(acknowledged=False, clock=clock)
    assert pacer.allowance is None
    pacer.sent(90_000)
    assert pacer.allowance == LEAST_PICTURE
    clock.now += 0.2
    assert pacer.allowance is None


def test_without_acknowledgements_the_first_picture_goes_at_once() -> None:
    pacer = Pacer(acknowledged=False, clock=Clock())
    assert pacer.ready
    pacer.sent(10)
    assert not pacer.ready


def test_replies_that_nobody_waits_for_are_ignored() -> None:
    pacer = Pacer(acknowledged=True, clock=Clock())
    pacer.reply()
    assert pacer.ready
