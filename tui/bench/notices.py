"""The lines of words on the bench: where it is, and what is to be said."""

from typing import TYPE_CHECKING

from textual.screen import Screen

from sessions.sanitize import sanitize
from tui.bench import rows
from tui.bench.blind import claim_words, is_finished
from tui.bench.panels import StatusPanel
from tui.bench.question import due_text
from tui.bench.run_bounds import outside_text
from tui.footage.fitness import fitness

if TYPE_CHECKING:
    from tui.bench.screen import BenchScreen

LEAST_SIZE = (80, 24)
"""Columns and rows below which nothing on the bench can be judged."""

NARROW = 100
"""Columns below which there is no room for time codes."""


def too_small(screen: Screen[None]) -> str:
    """Why nothing can be judged in this terminal; empty where it can."""
    columns, lines = screen.size
    if columns >= LEAST_SIZE[0] and lines >= LEAST_SIZE[1]:
        return ""
    return f"{columns} by {lines} is too small to judge by; make the terminal 80 by 24 or more."


def where(bench: "BenchScreen") -> list[str]:
    """The parts of the status line, what matters most first."""
    review, pane = bench.review, bench.pane
    shown, narrow = pane.shown, bench.size.width < NARROW
    outside = outside_text(review)
    place = rows.place_text(review, timecode=not narrow)
    parts = [place, *([outside] if outside else []), pane.words]
    if shown is not None and shown.flaw:
        parts.insert(0, "DAMAGED PICTURE")
    if not pane.shows(review.frame):
        parts.insert(1, "reading...")
    arrival = bench.footage.arrival(review.frame) if bench.footage is not None else ""
    if arrival:
        parts.insert(1, arrival.upper())
    if bench.player.is_playing:
        parts.append(f"playing {bench.player.pace_text(bench.clock())}")
    if review.flip_base is not None:
        parts.append(f"flip with {review.flip_base}")
    if review.anchor is not None:
        parts.append(f"not yet in {review.anchor}")
    if review.hand is not None:
        parts.append(f"{review.hand} hand")
    parts += [bench.lens.words(review.frame), rows.number_text(review), _case(bench)]
    return [*parts, bench.pictures.words]


def _case(bench: "BenchScreen") -> str:
    """The claim's id and whether its review is finished."""
    claim = bench.review.session.header.claim.id
    done = "finished" if bench.review.is_closed else "amended" if is_finished(bench.review) else ""
    if bench.review.amending is not None:
        done = "amending"
    return " ".join(part for part in (claim and f"claim {sanitize(claim)}", done) if part)


def footage_line(bench: "BenchScreen") -> str:
    """What was found in the footage, in one line; empty where it is not known."""
    if bench.footage is None:
        return ""
    return f"{fitness(bench.footage).line} {bench.keymap.first_key('about')}: more."


def awaited(frame: int) -> str:
    """Why nothing is tagged before the frame is to be seen."""
    return f"Frame {frame} is not on the screen yet; wait for it."


def flipping_stopped(frame: int) -> str:
    """Why nothing is tagged while two frames flip by themselves: which one is meant, none can tell.

    ``frame`` is the one that they flipped from, and that is on the screen again.
    """
    return f"Nothing done while frames flip: press the key again if frame {frame} is meant."


def say(bench: "BenchScreen", panel: StatusPanel) -> None:
    """Show what was said last, else what is amiss, else what is due."""
    shown, failure = bench.pane.shown, bench.source.failure
    frame = bench.review.frame
    if bench.message == (awaited(frame), True) and bench.pane.shows(frame):
        panel.say(f"Frame {frame} is on the screen now; press the key again.")
    elif bench.message is not None:
        panel.say(bench.message[0], error=bench.message[1])
    elif words := too_small(bench) or failure:
        panel.say(words, error=True)
    elif shown is not None and shown.flaw:
        panel.say(f"Not to be trusted: {shown.flaw}", error=True)
    else:
        told = claim_words(bench.review, bench.listed) if is_finished(bench.review) else ""
        panel.state(due_text(bench.review), told)
