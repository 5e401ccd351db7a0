"""What keeps a ruling document from being issued."""

from sessions.errors import FramecallError


class DocumentError(FramecallError):
    """A document cannot be issued; ``str(error)`` is the sentence to show."""
