"""Names of keys: those which every terminal can send, by the names that Textual gives them.

A character is its own name when it is a letter or digit ("g", "G", "7", "é"), and goes by its
Unicode name otherwise ("left_square_bracket"). Only what arrives without an extended keyboard
protocol is accepted, so that a keymap which works at the review works over any remote shell too.
"""

import difflib
import string
import unicodedata
from types import MappingProxyType

_COMMON_NAMES = {
    "solidus": "slash",
    "reverse_solidus": "backslash",
    "commercial_at": "at",
    "hyphen_minus": "minus",
    "plus_sign": "plus",
    "low_line": "underscore",
}

_SIGNS = (*map(chr, range(0x21, 0x180)), "€")


def _sign_name(character: str) -> str:
    name = unicodedata.name(character).lower().replace("-", "_").replace(" ", "_")
    return _COMMON_NAMES.get(name, name)


CHARACTERS = MappingProxyType(
    {_sign_name(c): c for c in _SIGNS if c.isprintable() and not c.isalnum()}
)
"""Signs that a keyboard may bear, by name: ``"comma"`` is ``","``."""

_ARROWS = ("up", "down", "left", "right")
_JUMPS = ("home", "end", "pageup", "pagedown")
_PLAIN = (*_ARROWS, *_JUMPS, "insert", "delete", "tab", "enter", "space", "backspace", "escape")

REFUSED = MappingProxyType(
    {
        "ctrl+c": "stays with the terminal, for copying",
        "ctrl+h": "arrives as backspace",
        "ctrl+i": "arrives as tab",
        "ctrl+m": "arrives as enter",
        "ctrl+left_square_bracket": "arrives as escape",
        "alt+b": "arrives as ctrl+left in most terminals",
        "alt+f": "arrives as ctrl+right in most terminals",
    }
)
"""Keys that can be written but do not arrive by their own name, each with the reason."""

_CTRL_LETTERS = [f"ctrl+{c}" for c in string.ascii_lowercase if f"ctrl+{c}" not in REFUSED]
_CTRL_SIGNS = ("backslash", "right_square_bracket", "circumflex_accent", "underscore")

NAMED_KEYS = frozenset(
    (
        *_PLAIN,
        *(f"f{number}" for number in range(1, 13)),
        *(f"shift+{key}" for key in (*_ARROWS, *_JUMPS, "delete", "tab")),
        *(f"ctrl+{key}" for key in (*_ARROWS, *_JUMPS, "delete")),
        *(f"ctrl+shift+{key}" for key in (*_ARROWS, *_JUMPS, "delete")),
        *_CTRL_LETTERS,
        *(f"ctrl+{key}" for key in _CTRL_SIGNS),
    )
)
"""Every accepted key that is neither a character nor an Alt combination."""

_SUGGESTED = sorted(NAMED_KEYS | CHARACTERS.keys())


def canonical_key(text: str) -> str:
    """The name by which Textual reports the key written as ``text``.

    ``"["`` is ``"left_square_bracket"``, ``"shift+g"`` is ``"G"``, ``"alt+G"`` is
    ``"alt+shift+g"``. Raises ValueError, saying why and what to write instead.
    """
    key = _normal_form(unicodedata.normalize("NFC", text))
    if key in REFUSED:
        raise ValueError(f'"{text}" {REFUSED[key]}; choose another key')
    if key in NAMED_KEYS or key in CHARACTERS or _is_letter(key) or _is_alt_letter(key):
        return key
    raise ValueError(f'"{text}" is not a key that every terminal sends{_instead(key)}')


def _normal_form(text: str) -> str:
    """Modifiers in the order in which Textual sorts them, and Shift as the letter's case."""
    if len(text) == 1:
        return _character_name(text)
    *modifiers, base = text.split("+")
    held = {modifier.strip().lower() for modifier in modifiers}
    base = _character_name(base) if len(base) == 1 else base
    if _is_letter(base) and base.isalpha() and held <= {"shift", "alt"}:
        return _letter_form(base, held)
    return "+".join((*sorted(held), base))


def _letter_form(letter: str, held: set[str]) -> str:
    large = "shift" in held or letter.isupper()
    if "alt" not in held:
        return letter.upper() if large else letter
    return f"alt+shift+{letter.lower()}" if large else f"alt+{letter}"


def _character_name(character: str) -> str:
    if character == " ":
        return "space"
    names = (name for name, sign in CHARACTERS.items() if sign == character)
    return next(names, character)


def _is_letter(key: str) -> bool:
    """A letter or digit: the characters that are their own names."""
    return len(key) == 1 and key.isalnum()


def _is_alt_letter(key: str) -> bool:
    """Alt with a letter, for which terminals send Escape and the letter."""
    base = key.removeprefix("alt+").removeprefix("shift+")
    return key.startswith("alt+") and len(base) == 1 and base.isalpha()


def _instead(key: str) -> str:
    if "+" in key:
        return "; take a key without that modifier"
    close = difflib.get_close_matches(key.lower(), _SUGGESTED, n=1)
    if close:
        return f'; did you mean "{close[0]}"?'
    return '; write a character, or a name such as "right", "space" or "question_mark"'


_DISPLAYED = {
    "up": "↑",
    "down": "↓",
    "left": "←",
    "right": "→",
    "pageup": "PgUp",
    "pagedown": "PgDn",
    "delete": "Del",
    "insert": "Ins",
    "escape": "Esc",
}


def display_key(key: str) -> str:
    """A key as people write it: ``"G"``, ``"Alt+g"``, ``"Shift+→"``, ``"["``, ``"Space"``."""
    *modifiers, base = key.split("+")
    return "+".join((*(m.capitalize() for m in modifiers), _displayed(base)))


def _displayed(base: str) -> str:
    if len(base) == 1:
        return base
    return _DISPLAYED.get(base) or CHARACTERS.get(base) or base.capitalize()
