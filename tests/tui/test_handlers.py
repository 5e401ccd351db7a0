"""Every command of a screen has one handler there, and no handler is without its command."""

from pathlib import Path

import pytest

from keymaps.commands import COMMANDS, Where, commands_on
from keymaps.keymap import Keymap
from tests.tui.benching import make_app, on_bench
from tests.tui.conftest import PlainSource
from tests.tui.docket.docketing import listed, on_docket, place
from tests.tui.settling.conftest import Settle, settle
from tests.tui.settling.settlers import on_settling
from tui.bench.review import Review
from tui.widgets.command_screen import CommandScreen, one_table

__all__ = ["settle"]

BENCH = [command.id for command in commands_on(Where.BENCH)]


def check_handlers(screen: CommandScreen) -> None:
    assert set(screen.handlers) == {command.id for command in commands_on(screen.where)}


async def test_the_bench_has_a_handler_for_each_of_its_commands_and_no_other(
    review: Review, source: PlainSource, keymap: Keymap
) -> None:
    async with on_bench(make_app(review, source, keymap)) as bench:
        check_handlers(bench.screen)


async def test_the_docket_has_a_handler_for_each_of_its_commands_and_no_other(
    tmp_path: Path, keymap: Keymap
) -> None:
    async with on_docket(place(tmp_path, [listed("C-1")], keymap)) as docket:
        check_handlers(docket.screen)


async def test_settling_has_a_handler_for_each_of_its_commands_and_no_other(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    async with on_settling(settle(), source, keymap) as on:
        check_handlers(on.screen)


def nothing() -> None:
    """A handler."""


@pytest.mark.parametrize("where", Where)
def test_a_table_of_handlers_has_one_for_each_command_of_its_screen(where: Where) -> None:
    ids = [command.id for command in commands_on(where)]
    assert list(one_table(where, dict.fromkeys(ids, nothing))) == ids
    with pytest.raises(ValueError, match=ids[0]):
        one_table(where, dict.fromkeys(ids[1:], nothing))
    with pytest.raises(ValueError, match=ids[0]):
        one_table(where, dict.fromkeys(ids, nothing), {ids[0]: nothing})
    with pytest.raises(ValueError, match=r"a\.stranger"):
        one_table(where, dict.fromkeys([*ids, "a.stranger"], nothing))


def test_what_rests_on_the_picture_is_of_the_frame_on_it() -> None:
    answers = ("in_order", "fault", "cannot_tell", "due")
    witnessed = {c for c in BENCH if c.partition(".")[0] in answers}
    witnessed |= {"run.begin", "run.end", "run.restart", "run.sort", "reading", "note", "retract"}
    witnessed |= {"cup.seen", "cup.blank", "cup.cannot_tell", "cup.all_seen", "not_yet"}
    witnessed |= {"fumble.up", "fumble.down", "widen.earlier", "widen.later", "other_fault"}
    assert {c for c in BENCH if COMMANDS[c].of_frame} == witnessed
    settling = {c.id for c in commands_on(Where.SETTLING) if c.of_frame}
    assert settling == {"settle.first", "settle.second"}
    assert not any(command.of_frame for command in commands_on(Where.DOCKET))
