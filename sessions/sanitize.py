"""Text from outside, made safe to print: no control or direction-changing characters."""

import unicodedata

_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}


def sanitize(text: str) -> str:
    """Text with each hidden character shown as its code point, such as ``<U+202E>``."""
    return "".join(
        f"<U+{ord(char):04X}>" if unicodedata.category(char) in _HIDDEN else char for char in text
    )
