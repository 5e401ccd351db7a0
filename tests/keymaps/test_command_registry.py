import subprocess
import sys

import pytest

from keymaps.commands import COMMANDS, KIND_WORDS, Command, Group
from sessions.rules.ladder import MARKER_KINDS, Kind


@pytest.mark.parametrize("kind", Kind)
def test_every_kind_of_the_ladder_can_be_tagged_and_left_open(kind: Kind) -> None:
    assert {f"in_order.{kind}", f"cannot_tell.{kind}"} <= COMMANDS.keys()
    assert (f"fault.{kind}" in COMMANDS) == (kind not in MARKER_KINDS)


def test_the_kind_commands_name_no_kind_that_the_ladder_lacks() -> None:
    ids = [c.id for c in COMMANDS.values() if c.group is Group.KINDS]
    assert {i.partition(".")[2] for i in ids} == set(Kind)
    assert set(KIND_WORDS) == set(Kind)


def test_only_markers_have_no_words_for_a_fault() -> None:
    assert {kind for kind, words in KIND_WORDS.items() if not words.fault} == MARKER_KINDS


def test_labels_tell_the_three_answers_apart() -> None:
    labels = [COMMANDS[f"{answer}.let_go"].label for answer in ("in_order", "fault", "cannot_tell")]
    assert labels == ["Let go", "Let go: fault", "Let go: cannot tell"]


def test_no_two_commands_share_a_label_within_their_group() -> None:
    named = [(c.group, c.label) for c in COMMANDS.values()]
    assert len(set(named)) == len(named)


@pytest.mark.parametrize("command", COMMANDS.values(), ids=COMMANDS)
def test_labels_are_short_and_help_is_one_sentence(command: Command) -> None:
    assert len(command.label) <= 28
    assert command.help.count(". ") == 0
    assert command.help.endswith(".")


def test_every_group_has_commands() -> None:
    assert {command.group for command in COMMANDS.values()} == set(Group)


def test_the_registry_is_read_without_a_terminal_library() -> None:
    code = (
        "import sys, keymaps.card, keymaps.keymap;"
        "print(sorted({'textual', 'rich', 'av', 'PIL', 'numpy'} & sys.modules.keys()))"
    )
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert (result.stdout, result.stderr) == ("[]\n", "")
