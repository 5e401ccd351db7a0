"""Reasons as reviewers type them."""

from sessions.errors import EntryRefused


def checked_reason(text: str) -> str:
    """A reason as typed, without blanks around it; raises EntryRefused where there is none."""
    words = text.strip()
    if not 0 < len(words) <= 2000:
        raise EntryRefused("A reason is needed: type 1 to 2000 characters.")
    return words
