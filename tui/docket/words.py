"""The words around the list of claims: what is next, what is amiss, and the keys."""

import os.path
import textwrap
from collections.abc import Sequence

from keymaps.commands import Where, commands_on
from keymaps.keymap import Keymap
from keymaps.keys import display_key
from sessions.docket.docket import Docket, DocketFolder
from sessions.plural import plural
from sessions.sanitize import sanitize
from tui.docket.rows import HIDDEN, DocketRow, Sight

LIST_KEYS = {
    "up": "move(-1)",
    "down": "move(1)",
    "pageup": "page(-1)",
    "pagedown": "page(1)",
    "home": "move(-1000000)",
    "end": "move(1000000)",
    "tab": "next",
    "escape": "clear",
    "backspace": "erase",
}
"""The keys of the list itself, and what each does: they are the same in every keymap."""

NOTHING_FOUND = "No claim holds these words."

HELP_WORDS = 50
"""Cells of what a key does in the help, so that a line fits a terminal of 80 columns."""

SHOWN = (
    "help", "quit", "docket.open", "docket.settle", "docket.ruling", "docket.issue",
)  # fmt: skip
"""The commands whose keys are in sight, as far as there is room; after them the next claim's."""


def status_parts(
    docket: Docket, sight: Sight, rows: Sequence[DocketRow], reading: tuple[int, int] | None = None
) -> list[str]:
    """The docket, who looks at it, and how much is left to do, or how far ``reading`` has come."""
    claims = plural(len(docket.placed), "claim")
    if reading is not None:
        name = sanitize(docket.folder.path.resolve().name)
        done = f"READING SESSIONS: {reading[0]} of {reading[1]}"
        return [f"Docket {name}", f"reviewer {sanitize(sight.reviewer)}", claims, done]
    unissued = sum(row.is_to_issue for row in rows)
    due = sum(placed.place is not None for placed in docket.placed)
    strays = len({review.claim for review in docket.strays})
    return [
        f"Docket {sanitize(docket.folder.path.resolve().name)}",
        f"reviewer {sanitize(sight.reviewer)}",
        f"{claims}, {due} to be ruled",
        f"{unissued} to issue" if unissued else "",
        "CLAIMS SHOWN" if sight.shown else "",
        f"{strays} not in the claims file" if strays else "",
    ]


def next_line(rows: Sequence[DocketRow], next_up: str | None, *, is_reading: bool) -> str:
    """The claim to look at next."""
    if is_reading:
        return "Next: to be found once all sessions are read; any claim can be opened meanwhile."
    row = next((row for row in rows if row.claim.claim == next_up), None)
    if row is None:
        return "Next: nothing is left for you to look at."
    place, claim, event, division, *_, state, who = row.cells
    place = f"place {place} in {event} {division}"
    return "Next: " + ", ".join(part for part in (claim, place, state, who) if part)


def chosen_note(folder: DocketFolder, row: DocketRow | None) -> str:
    """What is to be said of the chosen claim, first of all whether its footage is missing."""
    if row is None:
        return NOTHING_FOUND
    if os.path.isfile(folder.footage(row.claim)):
        return row.note
    footage = sanitize(row.claim.footage)
    return f"Its footage {footage} is not there: put it into the docket. {row.note}"


def taken_keys(keymap: Keymap) -> frozenset[str]:
    """The keys that do something on the docket, and so are not typed into the search."""
    commands = commands_on(Where.DOCKET)
    return frozenset(key for command in commands for key in keymap.keys_for(command.id))


_ORDER = (
    "All claims by event, division and claimed time, fastest first. The number in front is a "
    "claim's place among those of its event and division that are still to be ruled; the claim to "
    "look at next stands on top and is chosen when the docket opens. A claim that cannot beat the "
    "time to beat any more is set aside."
)

_BLIND = (
    "Your first look is unbiased: of a claim that you have not finished you see neither time, "
    f"record and competitor ({HIDDEN}) nor what others found; only who has begun (…) and who has "
    "finished "
    "(✓). Tag every checkpoint, then finish your review with {finish} on the bench: the claim is "
    "shown then, and what you tag afterwards is kept as an amendment. The order of the list is "
    "still by time, and a claim that is set aside could not beat the time to beat: that much is "
    "not hidden."
)


_OPENING = (
    "A claim whose reviews differ is settled: its reviews lie side by side, and each difference is "
    "decided with a reason. A claim that is ruled can be issued: its ruling is written into the "
    "docket's folder rulings/ as a page for the claimant, as plain text and as data, and is never "
    "edited; a later ruling takes its place and says why. The league's name and how to appeal come "
    "from league.toml in the docket."
)


def _row(key: str, words: str) -> str:
    """A key and what it does, folded beside it."""
    first, *more = textwrap.wrap(words, HELP_WORDS)
    return "\n".join([f"  {key:<14} {first}", *(f"{'':<17}{line}" for line in more)])


def help_page(keymap: Keymap) -> str:
    """What the docket shows and how it is used; paragraphs are lines to be folded."""
    own = [
        ("type", "search claim, event, division, reviewer and state (as open, doubt, second)"),
        ("Backspace", "take back a character"),
        ("Esc", "show all claims again"),
        ("↑ ↓ PgUp PgDn", "choose a claim; Home, End: first and last"),
        ("Tab", "choose the claim to look at next"),
    ]
    commands = [
        (" ".join(display_key(key) for key in keymap.keys_for(command.id)), command.help)
        for command in commands_on(Where.DOCKET)
    ]
    rows = "\n".join(_row(key, words) for key, words in own + commands)
    finish = keymap.first_key("finish")
    return f"{_ORDER}\n\n{rows}\n\n{_OPENING}\n\n{_BLIND.format(finish=finish)}\n"
