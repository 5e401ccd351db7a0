"""All commands of the command line. Nothing is imported here that is slow to load."""

import argparse
from collections.abc import Callable, Iterable, Mapping, Sequence
from importlib import import_module
from typing import Any, NamedTuple

EXIT_CODES = """\
exit codes: 0 done, or the ruling is made; 1 the ruling is still open; 2 bad input.
"""
CAUTION = """\
A ruling made with this tool is an aid: the league's own rules and appeal procedure prevail.
"""


class CliCommand(NamedTuple):
    """What the list of all commands says of one, and the module of ``tui.cli`` that holds it.

    CliCommand NAME is ``add_NAME(parser)``, which adds what it takes, and ``run_NAME(arguments)``,
    which does it and returns the exit code.
    """

    module: str
    help: str


COMMANDS: Mapping[str, CliCommand] = {
    "demo": CliCommand("demo", "draw invented footage and open it"),
    "review": CliCommand("review", "open footage on the bench"),
    "intake": CliCommand("intake", "make claims of a results list and a folder of footage"),
    "docket": CliCommand("docket", "work through the claims of a docket"),
    "settle": CliCommand("settle", "settle the differences between the reviews of a claim"),
    "inspect": CliCommand("inspect", "tell whether footage is fit to be judged"),
    "rule": CliCommand("session", "print the ruling of a session"),
    "issue": CliCommand("issue", "issue rulings as documents"),
    "register": CliCommand("register", "print all rulings of a docket"),
    "records": CliCommand("records", "print the records that stand, and how they came about"),
    "season": CliCommand("register", "print which rules the runs of a docket broke most"),
    "agreement": CliCommand("agreement", "print how well the reviewers of a docket agree"),
    "manual": CliCommand("reference", "read the manual"),
    "keys": CliCommand("reference", "print the key card"),
    "schema": CliCommand("session", "print the JSON Schema of the session file"),
    "completion": CliCommand("reference", "print a shell's completions of these commands"),
    "man": CliCommand("reference", "print the manual page of these commands, for man"),
}
"""Every command by its name, in the order of the help."""


class _PrintVersion(argparse.Action):
    """Print the version; it is looked up only when it is asked for."""

    def __init__(self, option_strings: Sequence[str], dest: str, help: str) -> None:  # noqa: A002
        super().__init__(option_strings, dest, nargs=0, default=argparse.SUPPRESS, help=help)

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        print(f"framecall {version()}")
        parser.exit()


def version() -> str:
    """The program's version, as it was installed."""
    from importlib import metadata

    return metadata.version("framecall")


def command_line(spoken: Iterable[str] = COMMANDS) -> argparse.ArgumentParser:
    """The parser. Only what the ``spoken`` commands take is loaded and added; others are listed."""
    parser = argparse.ArgumentParser(
        prog="framecall",
        description="Decide from footage, frame by frame, whether a claimed time stands.",
        epilog=EXIT_CODES + CAUTION,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action=_PrintVersion, help="print the version and end")
    commands = parser.add_subparsers(
        title="commands", required=True, metavar="COMMAND", dest="command"
    )
    wanted = set(spoken)
    for name, command in COMMANDS.items():
        added = commands.add_parser(name, help=command.help)
        if name in wanted:
            _function("add", name)(added)
    return parser


def run(argv: Sequence[str]) -> int:
    """Do what a command line asks for; returns the exit code."""
    arguments = command_line(argv).parse_args(argv)
    code: int = _function("run", arguments.command)(arguments)
    return code


def _function(verb: str, name: str) -> Callable[..., Any]:
    """``add_NAME`` or ``run_NAME`` of a command."""
    module = import_module(f"tui.cli.{COMMANDS[name].module}")
    function: Callable[..., Any] = getattr(module, f"{verb}_{name}")
    return function
