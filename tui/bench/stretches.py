"""Stretches of footage that were played without a pause, and which of them are worth keeping."""

from sessions.record.entries import Played
from tui.bench.player import LEAST_SECONDS, Player
from tui.bench.review import Review


def write_played(player: Player, review: Review) -> None:
    """Write down what was played forward at full speed; raises WriteRefused."""
    if review.is_closed:  # a finished review is left as it is, whoever watches it
        player.played.clear()
    footage = review.session.header.footage
    while player.played:
        stretch = player.played[0]
        lasted = footage.seconds(review.stamp(stretch.last)) - footage.seconds(
            review.stamp(stretch.first)
        )
        if stretch.speed == 1 and lasted >= LEAST_SECONDS:
            first, last, drawn = stretch.first, stretch.last, stretch.drawn
            review.write(Played(first=first, last=last, speed="1", drawn=drawn))
        player.played.pop(0)
