"""What can go wrong while the invented footage is built."""

from sessions.errors import FramecallError


class DemoError(FramecallError):
    """The invented footage cannot be built."""
