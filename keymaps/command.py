"""One command: something the reviewer can do with one key."""

from enum import StrEnum

from pydantic import Field

from sessions.frozen import Frozen


class Group(StrEnum):
    """The groups of commands; the value is the heading on the key card and in the help."""

    MOVE = "Move through the footage"
    LOOK = "Look closer"
    RUN = "Runs"
    TAG = "Tag what is due"
    KINDS = "Tag a step of the ladder"
    FUMBLE = "Fumbles"
    CUPS = "Cups"
    DOCKET = "The docket"
    SETTLE = "Settle differences"
    OTHER = "Other"


class Where(StrEnum):
    """The screens with commands; a key may mean one thing on each."""

    BENCH = "bench"
    SETTLING = "settling"
    DOCKET = "docket"


class Command(Frozen):
    """A command as footer, help, palette, key card and keymap files know it.

    ``screens`` are those that know the command.
    """

    id: str = Field(pattern=r"^[a-z_]+(\.[a-z_]+)?$")
    label: str = Field(min_length=1, max_length=28)
    help: str = Field(pattern=r"^[A-Z].*\.$")
    group: Group
    screens: frozenset[Where] = frozenset({Where.BENCH})
