"""Stretches of footage that were played without a pause, and which of them are worth keeping."""

from sessions.entries import Played
from tui.review.desk import Desk
from tui.review.player import Player

LEAST_SECONDS = 1
"""Shorter stretches show no run and are not written down."""


def write_played(player: Player, desk: Desk) -> None:
    """Write down what was played forward at full speed; raises WriteRefused."""
    footage = desk.session.header.footage
    while player.played:
        stretch = player.played[0]
        lasted = footage.seconds(desk.stamp(stretch.last)) - footage.seconds(
            desk.stamp(stretch.first)
        )
        if stretch.speed == 1 and lasted >= LEAST_SECONDS:
            desk.write(Played(first=stretch.first, last=stretch.last, speed="1"))
        player.played.pop(0)
