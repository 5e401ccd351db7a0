"""The command line: ``framecall COMMAND``."""

import sys
from collections.abc import Sequence
from io import TextIOWrapper

from sessions.errors import FramecallError
from sessions.sanitize import sanitize
from tui.cli.command_line import run
from tui.cli.output import BAD_INPUT


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit code."""
    _take_any_character()
    try:
        return run(sys.argv[1:] if argv is None else argv)
    except FramecallError as error:
        print(f"framecall: {sanitize(str(error))}", file=sys.stderr)
        return BAD_INPUT
    except KeyboardInterrupt:
        return BAD_INPUT


def _take_any_character() -> None:
    """Print as its code what standard output has no bytes for, as in a Latin-1 locale."""
    if isinstance(sys.stdout, TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")


if __name__ == "__main__":
    sys.exit(main())
