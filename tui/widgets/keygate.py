"""What becomes of a key around dialogs: given on, held back for a moment, or left out.

The library deals with keys in parts that overlap: a key goes to the dialog, Enter takes effect
only once it has come back up to the application, and bindings are looked up then. A person who
types fast is ahead of all this. The gate keeps keys in the order in which they were pressed, and an
Enter pressed twice from doing what nobody saw. It knows no application: whoever has one asks it.
"""

import math
import time
from collections.abc import Callable
from typing import Protocol

from textual.events import Key

ESCAPE = "circumflex_accent"
"""What the library makes of the Escape of Alt with a character."""

TOGETHER_SECONDS = 0.05
"""Keys of one sequence come closer together than this, and nobody types two so fast."""

REPEAT_SECONDS = 0.25
"""An Enter that comes so soon after a screen, with no key between it and the Enter that opened or
uncovered the screen, is the same one pressed twice: it tags nothing. Nobody has looked at a picture
in that time; common practice, no source.
"""

DEAL_SECONDS = 1.0
"""How long keys wait at most for what an Enter does to a dialog."""


class Answering(Protocol):
    """A dialog, as far as the gate asks of it."""

    @property
    def is_answered(self) -> bool:
        """Whether it is about to close."""
        ...

    @property
    def takes_enter(self) -> bool:
        """Whether Enter has something to take."""
        ...


class AltKeys:
    """Alt with a character, put together again where the library took it apart.

    Terminals send Escape and the character. The library waits for what may follow, and where that
    is another Escape, as when Alt with a letter is held down, it makes a circumflex and the bare
    letter of the two: other commands, and tags among them. So a circumflex is held back until it is
    known what comes after it.
    """

    def __init__(self) -> None:
        self.held: Key | None = None
        """The circumflex that is held back; ``release`` it after ``TOGETHER_SECONDS``."""

    def take(self, key: Key) -> list[Key]:
        """The keys that were pressed, as far as they are known with this one."""
        held, self.held = self.held, None
        if held and key.is_printable and key.time - held.time < TOGETHER_SECONDS:
            return [_with_alt(key)]
        before = [held] if held else []
        if key.key == ESCAPE:
            self.held = key
            return before
        return [*before, key]

    def release(self, circumflex: Key) -> list[Key]:
        """A circumflex after which nothing came, if it is still held back."""
        if self.held is not circumflex:
            return []
        self.held = None
        return [circumflex]


def _with_alt(key: Key) -> Key:
    """The key with Alt, named as the library names it."""
    letter = f"shift+{key.key.lower()}" if key.key.isupper() else key.key
    return Key(f"alt+{letter}", key.character)


class KeyGate:
    """Keeps keys in order around dialogs, and an Enter pressed twice from being taken twice.

    ``clock`` gives the time in seconds.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.alt = AltKeys()
        self._clock = clock
        self._late: list[Key] = []
        self._dealing: Answering | None = None
        self._since = -math.inf
        self._entered_on: object | None = None
        self._left_out_at = -math.inf

    # -- keys in order

    def admits(self, key: Key, dialog: Answering | None) -> bool:
        """Whether a key may be given on now, where ``dialog`` is in front; else it is kept.

        What comes after the Enter of a dialog waits until that is dealt with: a letter typed after
        it would be in the line by then.
        """
        if self._late or self._is_dealing(dialog):
            self._late.append(key)
            return False
        if key.key == "enter" and dialog is not None and dialog.takes_enter:
            self._dealing, self._since = dialog, self._clock()
        return True

    @property
    def waiting(self) -> int:
        """How many keys are kept."""
        return len(self._late)

    def drain(self) -> list[Key]:
        """The keys that were kept, to be offered once more; none is kept any longer."""
        late, self._late = self._late, []
        return late

    def dealt(self) -> None:
        """The Enter of a dialog is dealt with."""
        self._dealing = None

    def _is_dealing(self, dialog: Answering | None) -> bool:
        """Whether the dialog in front is about to close, or to say why it does not."""
        if dialog is None:
            return False
        is_late = self._clock() > self._since + DEAL_SECONDS
        return dialog.is_answered or (dialog is self._dealing and not is_late)

    # -- Enter pressed twice

    def is_repeated(self, key: Key, screen: object, came: float | None) -> bool:
        """Whether this is one Enter too many for the screen that the one before opened or left.

        ``came`` is when the screen came to the front, in seconds on the clock of keys; ``None`` for
        a dialog, which may be left by an Enter at any time.
        """
        before = self._entered_on
        if key.key != "enter":
            self._entered_on = None
            return False
        is_new_here = came is not None and before not in (None, screen)
        if is_new_here and key.time - max(came or 0.0, self._left_out_at) < REPEAT_SECONDS:
            self._left_out_at = key.time
            return True
        self._entered_on = screen
        return False
