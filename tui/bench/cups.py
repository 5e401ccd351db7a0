"""Maker's marks, cup by cup."""

from typing import Literal

from sessions.errors import EntryRefused
from sessions.plural import plural
from sessions.record.entries import CupsSeen
from sessions.ruling.brackets import Outcome
from sessions.ruling.whole_footage import check_cups
from tui.bench.review import Review


def look_at_cup(review: Review, saw: Literal["proven", "refuted", "unproven"]) -> str:
    """Say of the cup at hand what this frame shows, and go on to the next one not cleared."""
    cup = review.cup
    review.write(CupsSeen(cups=(cup,), saw=saw, at=review.spot(review.frame)))
    if saw == "refuted":
        return f"Cup {cup}: its mark never appeared.{_unseen(review)}"
    words = {"proven": "mark seen", "unproven": "cannot tell"}[saw]
    open_cups = _not_cleared(review)
    later = [c for c in open_cups if c > cup]
    if saw == "proven" and open_cups:
        review.cup = (later or open_cups)[0]
    return f"Cup {cup}: {words} at frame {review.frame}."


def clear_all(review: Review) -> str:
    """All cups not yet cleared show their marks in this frame."""
    cups = _not_cleared(review)
    if not cups:
        raise EntryRefused("Every cup is cleared already.")
    review.write(CupsSeen(cups=tuple(cups), saw="proven", at=review.spot(review.frame)))
    return f"Marks of {plural(len(cups), 'cup')} seen at frame {review.frame}."


def choose_cup(review: Review, direction: int) -> str:
    """Take the next or previous cup in hand."""
    cups = review.session.header.event.cups
    review.cup = (review.cup - 1 + direction) % cups + 1
    return f"Cup {review.cup}."


def go_to_evidence(review: Review) -> str:
    """Go to the frame that decided the cup at hand."""
    found = check_cups(review.session)[review.cup - 1]
    if found.at is None:
        raise EntryRefused(f"No frame decides cup {found.cup} yet: {found.detail}.")
    review.go(found.at.frame)
    return f"Cup {found.cup}: {found.detail} at frame {found.at.frame}."


def _unseen(review: Review) -> str:
    """What a mark that never appeared waits for, if anything."""
    left = len(review.session.unseen)
    return f" It counts once every frame was shown; {plural(left, 'frame')} left." if left else ""


def _not_cleared(review: Review) -> list[int]:
    return [f.cup for f in check_cups(review.session) if f.outcome is not Outcome.PROVEN]
