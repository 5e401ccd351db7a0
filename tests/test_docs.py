"""Nothing that a person can use is left out of the documents."""

import argparse
import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from keymaps.card import key_table
from keymaps.keymap import keymap_names, load_keymap
from sessions.docket.claim_columns import COLUMNS
from sessions.rules.events import event_names
from sessions.rules.rulebook import rules
from tui.cli import exits
from tui.cli.arguments import command_line

ROOT = Path(__file__).parent.parent
PACKAGES = ("sessions", "keymaps", "tui")


@pytest.fixture(scope="module")
def documents() -> str:
    return "\n".join((ROOT / name).read_text() for name in ("README.md", "DEVELOPERS.md"))


def commands() -> dict[str, argparse.ArgumentParser]:
    parser = command_line()
    (action,) = [a for a in parser._actions if isinstance(a, argparse._SubParsersAction)]
    return dict(action.choices)


OPTIONS = sorted(
    {
        (name, option)
        for name, parser in commands().items()
        for action in parser._actions
        for option in action.option_strings
        if option.startswith("--") and option != "--help"
    }
)

VARIABLES = sorted(
    {
        match
        for package in PACKAGES
        for path in (ROOT / package).rglob("*.py")
        for match in re.findall(r"\bFRAMECALL_[A-Z]+\b", path.read_text())
    }
)


@pytest.mark.parametrize("command", sorted(commands()))
def test_every_command_is_documented(documents: str, command: str) -> None:
    assert f"framecall {command}" in documents


@pytest.mark.parametrize(("command", "option"), OPTIONS)
def test_every_option_is_documented(documents: str, command: str, option: str) -> None:
    assert re.search(rf"{option}(?![\w-])", documents), f"{option} of {command}"


@pytest.mark.parametrize("event", event_names())
def test_every_event_is_documented(documents: str, event: str) -> None:
    assert f"`{event}`" in documents


@pytest.mark.parametrize("rule", list(rules()))
def test_every_rule_is_documented(documents: str, rule: str) -> None:
    assert rule in documents


@pytest.mark.parametrize("keymap", keymap_names())
def test_every_keymap_is_documented(documents: str, keymap: str) -> None:
    assert re.search(rf"\b{keymap}\b", documents, re.IGNORECASE)


@pytest.mark.parametrize("code", [exits.RULED, exits.OPEN, exits.BAD_INPUT])
def test_every_exit_code_is_documented(documents: str, code: int) -> None:
    (told,) = re.findall(r"^Exit codes:.*(?:\n.+)*", documents, re.MULTILINE)
    assert re.search(rf"\b{code}\b", told)


@pytest.mark.parametrize("variable", VARIABLES)
def test_every_environment_variable_is_documented(documents: str, variable: str) -> None:
    assert variable in documents


def test_the_table_of_keys_is_that_of_the_keymap(documents: str) -> None:
    table = key_table(load_keymap("qwerty", user_file=None))
    rows = [line for line in table.splitlines() if line.startswith("|")]
    assert rows
    assert [row for row in rows if row not in documents] == []


def test_every_column_of_a_claims_file_is_documented(documents: str) -> None:
    for column in COLUMNS:
        empty = "; may be empty" if column.may_be_empty else ""
        assert f"| `{column.name}` | {column.meaning}{empty} | `{column.example}` |" in documents
        assert column.problem(column.example) == ""


def public(tree: ast.Module) -> Iterator[ast.Module | ast.ClassDef | ast.FunctionDef]:
    """The module and every public class and function in it, at any depth of classes."""
    yield tree
    nodes: list[ast.Module | ast.ClassDef] = [tree]
    while nodes:
        for node in nodes.pop().body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                nodes.append(node)
                yield node
            elif isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                yield node


@pytest.mark.parametrize("package", PACKAGES)
def test_everything_public_has_a_docstring(package: str) -> None:
    bare = [
        f"{path.relative_to(ROOT)}: {getattr(node, 'name', 'the module')}"
        for path in sorted((ROOT / package).rglob("*.py"))
        for node in public(ast.parse(path.read_text()))
        if not ast.get_docstring(node)
    ]
    assert bare == []


def test_the_example_of_a_users_own_keys_can_be_used(tmp_path: Path) -> None:
    (example,) = re.findall(r"```toml\n(.*?)```", (ROOT / "README.md").read_text(), re.DOTALL)
    own = tmp_path / "keys.toml"
    own.write_text(example)
    assert load_keymap(user_file=own).keys_for("flip") == ("b",)


def test_every_file_that_the_documents_point_at_is_there() -> None:
    for name in ("README.md", "DEVELOPERS.md"):
        for target in re.findall(r"\]\(([^)#:]+)\)", (ROOT / name).read_text()):
            assert (ROOT / target).is_file(), f"{target} in {name}"
