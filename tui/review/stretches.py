"""Stretches of footage that were played without a pause, and which of them are worth keeping."""

from sessions.entries import Played
from tui.review.desk import Desk
from tui.review.player import LEAST_SECONDS, Player


def write_played(player: Player, desk: Desk) -> None:
    """Write down what was played forward at full speed; raises WriteRefused."""
    if desk.is_closed:  # a finished review is left as it is, whoever watches it
        player.played.clear()
    footage = desk.session.header.footage
    while player.played:
        stretch = player.played[0]
        lasted = footage.seconds(desk.stamp(stretch.last)) - footage.seconds(
            desk.stamp(stretch.first)
        )
        if stretch.speed == 1 and lasted >= LEAST_SECONDS:
            first, last, drawn = stretch.first, stretch.last, stretch.drawn
            desk.write(Played(first=first, last=last, speed="1", drawn=drawn))
        player.played.pop(0)
