"""The line of keys at the foot of a screen."""

from collections.abc import Sequence

from rich.text import Text

from keymaps.commands import COMMANDS
from keymaps.keymap import Keymap
from tui.widgets.marks import GREY, SKY, style
from tui.widgets.panel import Panel

SHOWN = (
    "help",
    "step.back",
    "step.forward",
    "due.in_order",
    "due.fault",
    "due.cannot_tell",
    "run.begin",
    "run.end",
    "not_yet",
    "reading",
    "undo",
    "ruling",
    "finish",
    "play",
    "flip",
    "ladder.list",
    "palette",
    "quit",
)
"""The commands whose keys are always in sight on the bench, as far as the line has room."""


class KeysLine(Panel):
    """Keys and labels of the commands used most, as many as fit."""

    def show_keymap(self, keymap: Keymap, shown: Sequence[str] = SHOWN) -> None:
        """Draw the keys that a keymap gives these commands."""
        line, room = Text(), max(1, self.size.width)
        for command_id in shown:
            key = keymap.first_key(command_id)
            label = COMMANDS[command_id].label
            if line.cell_len + len(key) + 1 + len(label) > room:
                break
            line.append(f"{key} ", style(SKY, bold=True))
            line.append(f"{label}  ", style(GREY))
        line.rstrip()
        self.show([line])
