"""What can be said on the command line. Nothing is imported here that is slow to load."""

import argparse
from pathlib import Path

EPILOG = """\
exit codes: 0 done, or the ruling is made; 1 the ruling is still open; 2 bad input.
A ruling made with this tool is an aid: the league's own rules and appeal procedure prevail.
"""


def command_line() -> argparse.ArgumentParser:
    """The parser of all commands; ``command`` is the one that was given."""
    parser = argparse.ArgumentParser(
        prog="framecall",
        description="Decide from footage, frame by frame, whether a claimed time stands.",
        epilog=EPILOG,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = parser.add_subparsers(
        title="commands", required=True, metavar="COMMAND", dest="command"
    )
    _add_review(commands.add_parser("review", help="open footage on the bench"))
    _add_docket(commands.add_parser("docket", help="work through the claims of a docket"))
    _add_settle(commands.add_parser("settle", help="settle the differences of two reviews"))
    _add_agreement(commands.add_parser("agreement", help="print how well the reviewers agree"))
    _add_register(commands.add_parser("register", help="print all rulings of a docket"))
    _add_season(commands.add_parser("season", help="print which rules a season's runs broke"))
    _add_rule(commands.add_parser("rule", help="print the ruling of a session"))
    _add_issue(commands.add_parser("issue", help="issue rulings as documents"))
    _add_keys(commands.add_parser("keys", help="print the key card"))
    _add_schema(commands.add_parser("schema", help="print the JSON Schema of the session file"))
    _add_demo(commands.add_parser("demo", help="build the invented demo footage and open it"))
    return parser


def _add_review(parser: argparse.ArgumentParser) -> None:
    parser.description = "Open footage on the bench; its session is begun, or gone on with."
    parser.add_argument("footage", type=Path, help="a video file")
    parser.add_argument("--event", help="3-3-3, 3-6-3, cycle, or the path of an event file (.toml)")
    parser.add_argument(
        "--session", type=Path, help="the session file (default: beside the footage)"
    )
    parser.add_argument("--reviewer", help="your code, kept in the session (default: R1)")
    parser.add_argument("--claim", metavar="ID", help="the claim's id")
    parser.add_argument("--competitor", metavar="CODE", help="a code, not a name")
    parser.add_argument("--claimed-time", metavar="SECONDS", help="the claimed time, such as 6.482")
    _add_picture(parser)
    _add_keymap(parser)


def _add_docket(parser: argparse.ArgumentParser) -> None:
    parser.description = "Show the claims of a docket in the order of work, and open them."
    _add_folder(parser)
    parser.add_argument("--reviewer", help="your code, kept in your sessions (default: R1)")
    parser.add_argument("--list", action="store_true", help="print the claims and open none")
    parser.add_argument(
        "--shown", action="store_true", help="hide no claim before it is looked at; it is recorded"
    )
    _add_picture(parser)
    _add_keymap(parser)


def _add_settle(parser: argparse.ArgumentParser) -> None:
    parser.description = "Step through the differences of a claim's finished reviews."
    _add_folder(parser)
    parser.add_argument("claim", help="the claim's id")
    parser.add_argument("--reviewer", help="your code, kept in the settling (default: R1)")
    _add_picture(parser)
    _add_keymap(parser)
    parser.add_argument("--anew", action="store_true", help="where reviews were changed since")


def _add_agreement(parser: argparse.ArgumentParser) -> None:
    parser.description = "Print how well the reviewers of a docket agree, by kind of checkpoint."
    _add_folder(parser)
    parser.add_argument("--json", action="store_true", help="as JSON, with all figures")


def _add_register(parser: argparse.ArgumentParser) -> None:
    parser.description = "Print all rulings of a docket, or write them to a file."
    _add_folder(parser)
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--csv", dest="form", action="store_const", const="csv", help="as CSV")
    form.add_argument("--json", dest="form", action="store_const", const="json", help="as JSON")
    parser.add_argument("--anonymous", action="store_true", help="leave out the competitors' codes")
    parser.add_argument("--out", type=Path, metavar="FILE", help="a file, .csv or .json")


def _add_season(parser: argparse.ArgumentParser) -> None:
    parser.description = "Print which rules the runs of a docket broke, by event, with bars."
    _add_folder(parser)


def _add_folder(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", type=Path, help="the docket: a folder with claims.csv")


def _add_picture(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--picture",
        metavar="HOW",
        default="auto",
        help="auto, blocks, octants, halves or pixels, where the terminal can (default: auto)",
    )


def _add_keymap(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--keymap", metavar="NAME", help="qwerty, azerty, qwertz, left, or a file (.toml)"
    )


def _add_rule(parser: argparse.ArgumentParser) -> None:
    parser.description = "Print the ruling of a session; the footage is not needed."
    parser.add_argument("session", type=Path, help="a session file")
    parser.add_argument("--json", action="store_true", help="as JSON, with every checkpoint")


def _add_issue(parser: argparse.ArgumentParser) -> None:
    parser.description = "Issue a ruling as HTML, plain text and JSON; never overwritten."
    parser.add_argument("source", type=Path, help="a session file, or the folder of a docket")
    parser.add_argument("claim", nargs="?", help="in a docket: the claim, by its id")
    parser.add_argument(
        "--ruled", action="store_true", help="every ruled claim of a docket that has none yet"
    )
    parser.add_argument("--footage", type=Path, help="the video (default: beside the session)")
    parser.add_argument("--out", type=Path, help="the folder (default: beside it, or rulings/)")
    parser.add_argument("--league", type=Path, help="the league's words (.toml)")
    parser.add_argument("--reason", help="why this supersedes the ruling issued before")
    parser.add_argument("--clips", action="store_true", help="add evidence clips")
    parser.add_argument("--draft", action="store_true", help="a draft, which rules nothing")
    parser.add_argument("--anonymous", action="store_true", help="leave out the competitor's code")


def _add_keys(parser: argparse.ArgumentParser) -> None:
    parser.description = "Print the key card."
    _add_keymap(parser)


def _add_schema(parser: argparse.ArgumentParser) -> None:
    parser.description = "Print the JSON Schema of the session file: its first line and the others."


def _add_demo(parser: argparse.ArgumentParser) -> None:
    parser.description = "Build footage of an invented league and open a clip of it on the bench."
    parser.add_argument("folder", nargs="?", type=Path, help="where (default: the cache folder)")
    parser.add_argument("--clip", metavar="NAME", help="which clip to open (see --list)")
    parser.add_argument("--list", action="store_true", help="list the clips and build nothing")
    parser.add_argument("--build", action="store_true", help="build all clips and open none")
    parser.add_argument("--docket", action="store_true", help="build a docket and open that")
    parser.add_argument(
        "--tagged", action="store_true", help="begin from a session tagged with the clip's truth"
    )
    _add_picture(parser)
    _add_keymap(parser)
