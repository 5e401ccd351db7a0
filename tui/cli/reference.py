"""What the program says about itself: manual, keys, completions, and a manual page for man."""

import argparse
import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable, Mapping
from importlib import resources
from io import StringIO
from pathlib import Path

from keymaps.card import key_card
from keymaps.keymap import keymap_names, load_keymap
from sessions.errors import FramecallError
from sessions.rules.events import event_names
from tui.cli.command_line import CAUTION, COMMANDS, command_line, version
from tui.cli.output import RULED, say
from tui.cli.start import WAYS, add_keymap

PAGES = (
    "contents", "first-review", "docket", "settling", "documents", "season", "amending",
    "looking", "keys", "commands", "settings", "session-format", "verdict", "rules", "events",
    "footage", "cautions",
)  # fmt: skip
"""The pages of the manual, in the order of reading; each is a file of ``tui/docs``."""

WIDEST = 100
"""Cells in a line of the manual at most; longer lines are hard to read."""

SHELLS = ("bash", "zsh", "tcsh")

VARIABLES = {
    "FRAMECALL_REVIEWER": "The reviewer's code, where `--reviewer` does not name one.",
    "FRAMECALL_KEYS": "The file with your own keys, in place of `keys.toml` in the user's "
    "configuration folder.",
    "FRAMECALL_CACHE": "The folder that keeps fingerprints and indexes of footage and dockets, and "
    "the demo, in place of `framecall` in the user's cache folder. It can be deleted at any time.",
    "PAGER": "The program that `framecall manual` shows a page with in a terminal; without it, "
    "`less -R`.",
    "NO_COLOR": "Where it is set, pictures are drawn without colours, and contact cannot be "
    "judged.",
}
"""The environment variables that a person may set, and what each does."""


_COMMENT = re.compile(r"<!--.*?-->\n+", re.DOTALL)
"""What a page says to those who write it: which parts of it are generated."""


class NoSuchPage(FramecallError):
    """The manual has no page of that name."""


def add_manual(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall manual`` takes."""
    parser.description = (
        "Read a page of the manual: in a terminal through the pager, otherwise as Markdown on "
        "standard output."
    )
    parser.add_argument(
        "page", nargs="?", metavar="PAGE", default=PAGES[0], help="a page (default: the contents)"
    )


def run_manual(arguments: argparse.Namespace) -> int:
    """Show a page of the manual; returns the exit code."""
    markdown = page(arguments.page)
    if _is_read_in_a_terminal():
        _page_through(_rendered(markdown))
    else:
        say(markdown)
    return RULED


def _is_read_in_a_terminal() -> bool:
    return sys.stdout is not None and sys.stdout.isatty()


def page(name: str) -> str:
    """A page as Markdown; raises NoSuchPage, which says which there are."""
    if name not in PAGES:
        raise NoSuchPage(f'The manual has no page "{name}"; name one of these: {", ".join(PAGES)}.')
    file = resources.files("tui").joinpath("docs", f"{name}.md")
    return _COMMENT.sub("", file.read_text(encoding="utf-8"))


def _rendered(markdown: str) -> str:
    """Markdown as text for a terminal, with its tables drawn and its headings marked."""
    from rich.console import Console
    from rich.markdown import Markdown
    from rich.theme import Theme

    drawn = StringIO()
    width = min(shutil.get_terminal_size().columns, WIDEST)
    # bold alone, as the terminal's background may be light or dark
    theme = Theme({"markdown.code": "bold", "markdown.code_block": "none"})
    console = Console(file=drawn, width=width, force_terminal=True, theme=theme)
    console.print(Markdown(markdown, code_theme="ansi_dark", hyperlinks=False))
    return drawn.getvalue()


def _page_through(text: str) -> None:
    """Show text with the reader's pager, with ``less``, or else all at once."""
    pager = shlex.split(os.environ.get("PAGER", "")) or ["less", "-R"]
    # a pager that is ``less`` without options would show the marks of headings as codes
    environment = {"LESS": "-R", **os.environ}
    try:
        subprocess.run(pager, input=text, encoding="utf-8", env=environment, check=False)
    except OSError:
        say(text)


def add_keys(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall keys`` takes."""
    parser.description = "Print the key card: every command of the screens with its keys."
    add_keymap(parser)


def run_keys(arguments: argparse.Namespace) -> int:
    """Print the key card; returns the exit code."""
    say(key_card(load_keymap(arguments.keymap)))
    return RULED


def add_completion(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall completion`` takes."""
    parser.description = (
        "Print what makes a shell complete these commands and their options as you press Tab. "
        "In bash: source <(framecall completion bash)"
    )
    parser.add_argument("shell", choices=SHELLS, help="the shell")


def run_completion(arguments: argparse.Namespace) -> int:
    """Print the completions of a shell; returns the exit code."""
    import shtab

    parser = command_line()
    for name, command in commands(parser).items():
        command.description = COMMANDS[name].help  # one line each, in a list of all
    for action in _taken(parser):
        if action.type is Path:
            folder = action.dest in ("folder", "out") and action.metavar == "DIR"
            action.complete = shtab.DIRECTORY if folder else shtab.FILE  # type: ignore[attr-defined]
        elif action.dest in _CHOICES:
            action.choices = _CHOICES[action.dest]()
    say(shtab.complete(parser, shell=arguments.shell))
    return RULED


def _clip_names() -> list[str]:
    from tui.demo.score import scores

    return list(scores())


_CHOICES: Mapping[str, Callable[[], list[str]]] = {
    "clip": _clip_names,
    "event": event_names,
    "keymap": keymap_names,
    "picture": lambda: list(WAYS),
    "page": lambda: list(PAGES),
}
"""What the shell completes of words that the parser does not choose between."""


def _taken(parser: argparse.ArgumentParser) -> list[argparse.Action]:
    """What all commands take."""
    return [action for command in commands(parser).values() for action in command._actions]


def commands(parser: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    """The parser of each command by its name."""
    (added,) = (a for a in parser._actions if isinstance(a, argparse._SubParsersAction))
    return dict(added.choices)


def usage(name: str, parser: argparse.ArgumentParser) -> str:
    """How a command is written, with all that it must be given, in one line."""
    forms = {"?": "[{0}]", "+": "{0} ..."}
    given = [
        forms.get(str(action.nargs), "{0}").format(action.metavar or action.dest)
        for action in parser._actions
        if not action.option_strings
    ]
    options = ["[OPTION ...]"] if len(parser._actions) > len(given) + 1 else []
    return " ".join(["framecall", name, *options, *given])


def add_man(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall man`` takes."""
    parser.description = (
        "Print the manual page of these commands, for man. "
        "To read it: framecall man >framecall.1 && man ./framecall.1"
    )


def run_man(_: argparse.Namespace) -> int:
    """Print the manual page; returns the exit code."""
    from argparse_manpage.manpage import Manpage

    parser = command_line()
    for name, command in commands(parser).items():
        command.usage = usage(name, command)
    page = Manpage(parser, format="single-commands-section")
    page.date = ""  # the page is of a version, not of a day
    page.source = f"framecall {version()}"
    page.manual = "User Commands"
    page.description = "judge a claimed speed-stacking record, frame by frame"
    page.add_section("environment", ">", "".join(map(_man_entry, VARIABLES.items())))
    page.add_section("see also", ">", "framecall manual")
    page.add_section("cautions", ">", CAUTION)
    say(str(page))
    return RULED


def _man_entry(variable: tuple[str, str]) -> str:
    """An environment variable and its meaning as an entry of a manual page."""
    name, meaning = variable
    return f".TP\n.B {name}\n{meaning.replace('`', '')}\n"
