"""Alt with a character, put together again where the library took it apart.

Terminals send Escape and the character. The library waits for what may follow, and where that is
another Escape, as when Alt with a letter is held down, it makes a circumflex and the bare letter of
the two: other commands, and tags among them.
"""

from textual.events import Key

ESCAPE = "circumflex_accent"
"""What the library makes of the Escape."""

TOGETHER_SECONDS = 0.05
"""Keys of one sequence come closer together than this, and nobody types two so fast."""


class AltKeys:
    """Holds a circumflex back until it is known what comes after it."""

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
