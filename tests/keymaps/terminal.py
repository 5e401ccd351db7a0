"""What a terminal sends for a key, and the name under which Textual's own parser reports it.

The sequences are those of xterm's PC-style function keys and, for the second family, of the kitty
keyboard protocol with the flags that Textual asks for (both from memory).
"""

from textual import events
from textual._xterm_parser import XTermParser

from keymaps.keys import CHARACTERS

_FINALS = {"up": "A", "down": "B", "right": "C", "left": "D", "end": "F", "home": "H"}
_NUMBERS = {"insert": 2, "delete": 3, "pageup": 5, "pagedown": 6}
_FUNCTIONS = {f"f{n}": c for n, c in enumerate((15, 17, 18, 19, 20, 21, 23, 24), 5)}
_FUNCTION_FINALS = {"f1": "P", "f2": "Q", "f3": "R", "f4": "S"}
_SINGLE = {"tab": "\t", "enter": "\r", "space": " ", "backspace": "\x7f", "escape": "\x1b"}
_CTRL_SIGNS = {
    "backslash": "\x1c",
    "right_square_bracket": "\x1d",
    "circumflex_accent": "\x1e",
    "underscore": "\x1f",
}
_BITS = {"shift": 1, "alt": 2, "ctrl": 4}


def plain_bytes(key: str) -> str:
    """What xterm sends for a key, without any extended protocol."""
    *held, base = key.split("+")
    if key == "shift+tab":
        return "\x1b[Z"
    if base in (*_FINALS, *_NUMBERS, *_FUNCTIONS, *_FUNCTION_FINALS):
        return _function_sequence(held, base)
    if "ctrl" in held:
        return _CTRL_SIGNS.get(base) or chr(ord(base) & 0x1F)
    if "alt" in held:
        return "\x1b" + (base.upper() if "shift" in held else base)
    return _SINGLE.get(base) or CHARACTERS.get(base) or base


def _function_sequence(held: list[str], base: str) -> str:
    modifier = 1 + sum(_BITS[name] for name in held)
    if base in _FUNCTION_FINALS:
        return f"\x1bO{_FUNCTION_FINALS[base]}"
    if base in _FINALS:
        return f"\x1b[1;{modifier}{_FINALS[base]}" if held else f"\x1b[{_FINALS[base]}"
    number = _NUMBERS.get(base) or _FUNCTIONS[base]
    return f"\x1b[{number};{modifier}~" if held else f"\x1b[{number}~"


def protocol_bytes(key: str) -> str:
    """What a terminal that knows the kitty protocol sends, all keys as escapes, with their text."""
    *held, base = key.split("+")
    if base in (*_FINALS, *_NUMBERS, *_FUNCTIONS, *_FUNCTION_FINALS):
        return _function_sequence(held, base)
    text = _SINGLE.get(base) or CHARACTERS.get(base) or base
    if not held and text.isprintable():
        shift = ";2" if text != text.lower() else ";"
        return f"\x1b[{ord(text.lower())}{shift};{ord(text)}u"
    modifier = 1 + sum(_BITS[name] for name in held)
    return f"\x1b[{ord(text)};{modifier}u"


def reported(sequence: str) -> list[str]:
    """The names of the keys that Textual's parser makes of what the terminal sent."""
    parser = XTermParser()
    tokens = [*parser.feed(sequence), *parser.feed("")]
    return [token.key for token in tokens if isinstance(token, events.Key)]
