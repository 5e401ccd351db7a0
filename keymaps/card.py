"""The rows of commands and keys from which help, key card and README are made."""

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import zip_longest

from keymaps.commands import COMMANDS, KIND_WORDS, OWN_SCREEN, Command, Group, Where
from keymaps.keymap import Keymap
from keymaps.keys import display_key
from sessions.rules.ladder import Kind

ANSWERS = ("in_order", "fault", "cannot_tell")
"""The three answers to a checkpoint, in the order of the table's columns."""


@dataclass(frozen=True, slots=True)
class Row:
    """A label, the keys as people write them (one tuple a column), and a sentence of help."""

    label: str
    keys: tuple[tuple[str, ...], ...]
    help: str


@dataclass(frozen=True, slots=True)
class Section:
    """The rows of one group, under its title, with the headings of the columns of keys."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]


def sections(keymap: Keymap, screen: Where | None = None) -> tuple[Section, ...]:
    """All commands by group, or those that one screen knows, the group of its own first.

    The kinds of checkpoints have a column for each answer.
    """
    groups = sorted(Group, key=lambda group: screen is None or OWN_SCREEN.get(group) is not screen)
    found = (_section(keymap, group, screen) for group in groups)
    return tuple(section for section in found if section.rows)


def _section(keymap: Keymap, group: Group, screen: Where | None) -> Section:
    members = [
        command
        for command in COMMANDS.values()
        if command.group is group and (screen is None or screen in command.screens)
    ]
    if group is Group.KINDS:
        rows = tuple(_kind_row(keymap, kind) for kind in Kind) if members else ()
        return Section(group, ("in order", "fault", "cannot tell"), rows)
    return Section(group, ("keys",), tuple(_row(keymap, command) for command in members))


def _row(keymap: Keymap, command: Command) -> Row:
    return Row(command.label, (_displayed(keymap, command.id),), command.help)


def _kind_row(keymap: Keymap, kind: Kind) -> Row:
    commands = [f"{answer}.{kind}" for answer in ANSWERS]
    keys = tuple(_displayed(keymap, c) if c in COMMANDS else () for c in commands)
    return Row(KIND_WORDS[kind].label, keys, COMMANDS[f"in_order.{kind}"].help)


def _displayed(keymap: Keymap, command_id: str) -> tuple[str, ...]:
    return tuple(display_key(key) for key in keymap.keys_for(command_id))


def key_card(keymap: Keymap, width: int = 80) -> str:
    """The keys as plain text to print, in lines of at most ``width`` cells (48 or more)."""
    # no empty line after the title: the card is to fit one printed page
    return f"Keys: {keymap.title}\n{_body(sections(keymap), width)}"


def screen_card(keymap: Keymap, screen: Where, width: int) -> str:
    """The keys of one screen as ``key_card`` prints them, without a title."""
    return _body(sections(keymap, screen), width)


def _body(shown: tuple[Section, ...], width: int) -> str:
    blocks = []
    for section in shown:
        body = _table(section) if len(section.columns) > 1 else _columns(section, width)
        lines = (piece for line in body for piece in _fitted(line, width))
        blocks.append("\n".join((section.title, *lines)))
    return "\n\n".join(blocks) + "\n"


def _columns(section: Section, width: int) -> list[str]:
    """Rows side by side in two columns, read downwards, where ``width`` has room for that."""
    labels = max(len(row.label) for row in section.rows)
    cells = [f"  {row.label:<{labels}}  {_joined(row.keys[0])}" for row in section.rows]
    half = -(-len(cells) // 2)
    left = max(len(cell) for cell in cells[:half]) + 2
    pairs = [f"{a:<{left}}{b}" for a, b in zip_longest(cells[:half], cells[half:], fillvalue="")]
    fits = all(len(pair) <= width for pair in pairs)
    return [line.rstrip() for line in (pairs if fits else cells)]


def _table(section: Section) -> list[str]:
    """One line a row, with the columns of keys beside each other under their headings."""
    rows = [("", *section.columns)]
    rows += [(row.label, *map(_joined, row.keys)) for row in section.rows]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  " + "  ".join(map(str.ljust, row, widths)).rstrip() for row in rows]


def _fitted(line: str, width: int) -> list[str]:
    """The line, or its pieces where someone has given a command more keys than fit."""
    if len(line) <= width:
        return [line]
    return textwrap.wrap(line, width, subsequent_indent=" " * 8, drop_whitespace=True)


def _joined(keys: tuple[str, ...]) -> str:
    return " ".join(keys)


def key_table(keymap: Keymap) -> str:
    """The same rows as Markdown tables, one a group."""
    return "\n".join(line for section in sections(keymap) for line in _markdown(section))


def _markdown(section: Section) -> Iterator[str]:
    yield from (f"**{section.title}**", "")
    yield _markdown_row("command", *section.columns, "what it does")
    yield _markdown_row(*["---"] * (len(section.columns) + 2))
    for row in section.rows:
        yield _markdown_row(row.label, *map(_code, row.keys), row.help)
    yield ""


def _markdown_row(*cells: str) -> str:
    return f"| {' | '.join(cells)} |"


def _code(keys: tuple[str, ...]) -> str:
    """Keys in code marks; a grave accent needs wider ones, and a bar would end the cell."""
    marked = (f"`` {key} ``" if "`" in key else f"`{key}`" for key in keys)
    return " ".join(marked).replace("|", r"\|")
