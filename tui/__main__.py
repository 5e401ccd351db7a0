"""The command line: ``framecall COMMAND``."""

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from io import TextIOWrapper

from sessions.errors import FramecallError
from sessions.sanitize import sanitize
from tui.cli.arguments import command_line
from tui.cli.exits import BAD_INPUT, RULED
from tui.cli.loading import loading


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit code."""
    _take_any_character()
    arguments = command_line().parse_args(argv)
    try:
        return COMMANDS[arguments.command](arguments)
    except FramecallError as error:
        print(f"framecall: {sanitize(str(error))}", file=sys.stderr)
        return BAD_INPUT
    except KeyboardInterrupt:
        return BAD_INPUT


def _take_any_character() -> None:
    """Print as its code what standard output has no bytes for, as in a Latin-1 locale."""
    if isinstance(sys.stdout, TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")


def _review(arguments: argparse.Namespace) -> int:
    with loading():
        from tui.bench.opening import Wish
        from tui.cli import review
        from tui.cli.claims import claim_of

    claim = claim_of(arguments.claim, arguments.competitor, arguments.claimed_time)
    wish = Wish(arguments.footage, arguments.session, arguments.event, arguments.reviewer, claim)
    return review.run(wish, arguments.keymap, arguments.picture)


def _docket(arguments: argparse.Namespace) -> int:
    with loading():
        from tui.cli import docket

    return docket.run(
        docket.Order(
            folder=arguments.folder,
            reviewer=arguments.reviewer,
            keymap=arguments.keymap,
            picture=arguments.picture,
            as_list=arguments.list,
            shown=arguments.shown,
        )
    )


def _settle(arguments: argparse.Namespace) -> int:
    with loading():
        from tui.cli import settle

    return settle.run(
        settle.Order(
            folder=arguments.folder,
            claim=arguments.claim,
            reviewer=arguments.reviewer,
            keymap=arguments.keymap,
            picture=arguments.picture,
            anew=arguments.anew,
        )
    )


def _agreement(arguments: argparse.Namespace) -> int:
    from tui.cli import agreement

    return agreement.run(arguments.folder, arguments.json)


def _register(arguments: argparse.Namespace) -> int:
    from tui.cli import register

    order = register.Order(arguments.folder, arguments.form, arguments.anonymous, arguments.out)
    return register.run(order)


def _season(arguments: argparse.Namespace) -> int:
    from tui.cli import register

    return register.run_season(arguments.folder)


def _rule(arguments: argparse.Namespace) -> int:
    from tui.cli import rule

    return rule.run(arguments.session, arguments.json)


def _issue(arguments: argparse.Namespace) -> int:
    from tui.cli.issue import Order, run

    return run(
        Order(
            arguments.source,
            arguments.claim,
            arguments.footage,
            arguments.out,
            arguments.league,
            arguments.reason,
            arguments.clips,
            arguments.draft,
            arguments.anonymous,
            arguments.ruled,
        )
    )


def _keys(arguments: argparse.Namespace) -> int:
    from keymaps.card import key_card
    from keymaps.keymap import load_keymap
    from tui.cli.output import say

    say(key_card(load_keymap(arguments.keymap)))
    return RULED


def _schema(arguments: argparse.Namespace) -> int:
    from tui.cli import schema

    return schema.run()


def _demo(arguments: argparse.Namespace) -> int:
    from tui.cli import demo

    if arguments.list:
        return demo.list_clips()
    if arguments.docket:
        from tui.cli import docket, review

        review.check_looks(arguments.keymap, arguments.picture)
        folder = demo.make_docket(arguments.folder)
        return docket.run(docket.Order(folder, keymap=arguments.keymap, picture=arguments.picture))
    order = demo.Order(arguments.folder, arguments.clip, arguments.build, arguments.tagged)
    return demo.run(order, arguments.keymap, arguments.picture)


COMMANDS: Mapping[str, Callable[[argparse.Namespace], int]] = {
    "review": _review,
    "docket": _docket,
    "settle": _settle,
    "agreement": _agreement,
    "register": _register,
    "season": _season,
    "rule": _rule,
    "issue": _issue,
    "keys": _keys,
    "schema": _schema,
    "demo": _demo,
}
"""What each command does; returns the exit code."""


if __name__ == "__main__":
    sys.exit(main())
