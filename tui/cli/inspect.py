"""``framecall inspect``: tell of footage what was found, where, and what it means for a ruling."""

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from sessions.errors import FramecallError
from sessions.sanitize import sanitize
from tui.cli.output import BAD_INPUT, RULED, say
from tui.cli.start import add_counting, loading

if TYPE_CHECKING:
    from tui.footage.fitness import Fitness


def add_inspect(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall inspect`` takes."""
    parser.description = (
        "Tell of footage what was found, where, and what it means for a ruling. Every frame is "
        "decoded once for it; what is found is kept for the bench."
    )
    parser.add_argument("files", type=Path, nargs="+", metavar="FILE", help="a video file")
    parser.add_argument("--json", action="store_true", help="print a JSON array, one object a file")
    parser.add_argument(
        "--quick", action="store_true", help="decode nothing more than opening the file takes"
    )
    parser.add_argument(
        "--track", type=int, metavar="N", help="the picture track, from 1, where there are several"
    )
    add_counting(parser)


def run_inspect(arguments: argparse.Namespace) -> int:
    """Print what was found; returns the exit code, that of bad input where a file is refused."""
    with loading():
        from tui.footage.fitness import report

    code, found = RULED, []
    for path in arguments.files:
        try:
            found.append(_inspected(path, arguments))
        except FramecallError as error:
            sys.stderr.write(f"framecall: {sanitize(str(error))}\n")
            code = BAD_INPUT
            continue
        if not arguments.json:
            say(("\n" if len(found) > 1 else "") + _lines(report(found[-1])))
    if arguments.json:
        told = [one.model_dump(mode="json") for one in found]
        say(json.dumps(told, indent=2) + "\n")
    return code


def _lines(text: str) -> str:
    """The text with whatever a file says of itself made harmless for a terminal."""
    return "".join(f"{sanitize(line)}\n" for line in text.splitlines())


def _inspected(path: Path, arguments: argparse.Namespace) -> "Fitness":
    from tui.footage.fitness import fitness
    from tui.footage.footage import Footage

    show = _progress()
    footage = Footage.open(
        path,
        progress=show,
        track=arguments.track,
        scan=arguments.scan,
        whole=arguments.whole,
    )
    if not arguments.quick:
        footage.check(lambda done, total: show("frames", done, total))
    return fitness(footage)


def _progress() -> Callable[[str, int, int], None]:
    from tui.bench.opening import progress_line

    return progress_line()
