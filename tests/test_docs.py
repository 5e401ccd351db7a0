"""The documents leave out nothing that a person can use, and say nothing that is not so."""

import ast
import re
import tomllib
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest

from keymaps.keymap import keymap_names, load_keymap
from keymaps.keys import display_key
from sessions.docket.claims import COLUMNS
from sessions.evidence.sighting import Sighting, precedes
from sessions.rules.events import event_names, load_event
from sessions.ruling.timing import agrees, elapsed
from tests.docs import COMMAND, DOCUMENTS, MANUAL, PART, PARTS, ROOT, filled
from tui.cli import output
from tui.cli.command_line import COMMANDS, command_line
from tui.cli.reference import PAGES, VARIABLES, commands

PACKAGES = ("sessions", "keymaps", "tui")

NAMES = [str(path.relative_to(ROOT)) for path in DOCUMENTS]

OWN_VARIABLES = sorted(
    {
        match
        for package in PACKAGES
        for path in (ROOT / package).rglob("*.py")
        for match in re.findall(r"\bFRAMECALL_[A-Z]+\b", path.read_text())
    }
)
"""Environment variables that the code names as its own."""


@pytest.fixture(scope="module")
def documents() -> str:
    return "\n".join(path.read_text() for path in DOCUMENTS)


# -- what is generated


@pytest.mark.parametrize("name", NAMES)
def test_what_a_document_says_of_the_code_is_what_the_code_says(name: str) -> None:
    text = (ROOT / name).read_text()
    assert filled(text) == text, f"{name} is not what the code says; write it anew: {COMMAND}"


def test_every_part_that_can_be_generated_stands_in_a_document(documents: str) -> None:
    assert {match["name"] for match in PART.finditer(documents)} == set(PARTS)


def test_the_manual_has_its_pages_and_no_others() -> None:
    assert {path.stem for path in MANUAL.glob("*.md")} == set(PAGES)


# -- what people can use


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_in_the_readme(command: str) -> None:
    assert f"framecall {command}`" in (ROOT / "README.md").read_text()


@pytest.mark.parametrize("event", event_names())
def test_every_event_is_in_the_readme(event: str) -> None:
    readme = (ROOT / "README.md").read_text()
    assert f"`{event}`" in readme or f"--event {event}`" in readme


@pytest.mark.parametrize("keymap", keymap_names())
def test_every_keymap_is_documented(keymap: str) -> None:
    assert re.search(rf"\b{keymap}\b", (MANUAL / "keys.md").read_text(), re.IGNORECASE)


@pytest.mark.parametrize("code", [output.RULED, output.OPEN, output.BAD_INPUT])
def test_every_exit_code_is_documented(code: int) -> None:
    (told,) = re.findall(r"^Exit codes:.*(?:\n.+)*", (ROOT / "README.md").read_text(), re.MULTILINE)
    assert f"**{code}**" in told
    assert f"| {code} |" in (MANUAL / "commands.md").read_text()


@pytest.mark.parametrize("variable", OWN_VARIABLES)
def test_every_environment_variable_of_the_program_is_documented(variable: str) -> None:
    assert variable in VARIABLES


def test_every_example_of_a_claims_column_holds() -> None:
    assert [column.problem(column.example) for column in COLUMNS] == [""] * len(COLUMNS)


def test_the_readme_can_be_read_at_one_sitting() -> None:
    assert len((ROOT / "README.md").read_text().splitlines()) <= 150


# -- what is written by hand


def test_the_example_of_a_users_own_keys_can_be_used(tmp_path: Path) -> None:
    (example,) = re.findall(r"```toml\n(.*?)```", (MANUAL / "keys.md").read_text(), re.DOTALL)
    own = tmp_path / "keys.toml"
    own.write_text(example)
    assert load_keymap(user_file=own).keys_for("flip") == ("b",)


@pytest.mark.parametrize("name", NAMES)
def test_every_file_that_a_document_points_at_is_there(name: str) -> None:
    text = (ROOT / name).read_text()
    for target in re.findall(r"\]\(([^)#:]+)\)", text):
        assert ((ROOT / name).parent / target).is_file(), f"{target} in {name}"


KEY = re.compile(
    r"((Ctrl|Alt|Shift)\+)*(\S|[A-Z]|Enter|Space|Backspace|Tab|Del|Home|End|PgUp|PgDn|F\d\d?)"
)
OF_NO_COMMAND = {"Tab", "✓", "…"}
"""Keys of the lists themselves, and marks, which no keymap names."""


@pytest.mark.parametrize("name", NAMES)
def test_every_key_in_a_document_is_a_key_of_some_command(name: str) -> None:
    keymap = load_keymap("qwerty", user_file=ROOT / "keymaps" / "qwerty.toml")
    known = {as_told(display_key(key)) for keys in keymap.keys.values() for key in keys}
    told = {span for span in code(ROOT / name) if KEY.fullmatch(span)} - OF_NO_COMMAND
    assert {key for key in told if as_told(key) not in known} == set()


def as_told(key: str) -> str:
    """A key by its name; with Ctrl the case of a letter says nothing."""
    return key.lower() if key.startswith("Ctrl+") else key


@pytest.mark.parametrize("name", NAMES)
def test_every_command_line_in_a_document_is_one_that_is_taken(name: str) -> None:
    for line in re.findall(r"framecall ([^`\n#|]*)", "\n".join(code(ROOT / name))):
        words = line.split(" && ")[0].split(">")[0].strip(" )").split()
        if words and words[0] in COMMANDS:
            parser = commands(command_line([words[0]]))[words[0]]
            known = {option for action in parser._actions for option in action.option_strings}
            assert {word for word in words if word.startswith("--")} <= known, line


def test_the_worked_examples_of_a_verdict_are_what_the_code_computes() -> None:
    shown = (MANUAL / "verdict.md").read_text()
    for first, second, verdict in (
        (Sighting(436, 437), Sighting(438, 439), "A came first: proven"),
        (Sighting(438, 439), Sighting(436, 437), "B came first: refuted"),
        (Sighting(437, 439), Sighting(438, 439), "they overlap:   unproven"),
    ):
        assert verdict in shown
        assert verdict.endswith(f" {precedes(first, second)}")
    times = [Fraction(1001 * frame, 30000) for frame in (99, 100, 293, 294)]
    by_picture = elapsed((times[0], times[1]), (times[2], times[3]))
    clock = load_event("cycle").clock
    assert f"from {float(by_picture.shortest):.4f} to {float(by_picture.longest):.4f} s" in shown
    assert "6.482 s agrees" in shown
    assert agrees("6.482", clock, by_picture)
    assert not agrees("6.438", clock, by_picture)


PLACES = sorted(
    {
        name
        for name in re.findall(r"`([\w./-]+(?::[\w.]+)?)`", (ROOT / "DEVELOPERS.md").read_text())
        if "/" in name or name.endswith((".py", ".toml", ".md"))
    }
)
"""Files, and functions in them (``file.py:Class.method``), that the developers' page names."""


@pytest.mark.parametrize("place", PLACES)
def test_every_file_and_function_that_developers_are_sent_to_is_there(place: str) -> None:
    name, _, function = place.partition(":")
    assert (ROOT / name).exists(), place
    body = ast.parse((ROOT / name).read_text()).body if function else []
    for part in function.split(".") if function else []:
        (found,) = (node for node in body if part in named(node))
        body = getattr(found, "body", [])


def named(node: ast.AST) -> list[str]:
    """What a line of a module or class gives a name to."""
    if isinstance(node, ast.Assign | ast.AnnAssign):
        targets = node.targets if isinstance(node, ast.Assign) else [node.target]
        return [target.id for target in targets if isinstance(target, ast.Name)]
    return [getattr(node, "name", "")]


def test_every_library_is_in_the_table_of_dependencies() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    asked = [*project["project"]["dependencies"], *project["dependency-groups"]["dev"]]
    names = [re.split(r"[<>=]", line)[0] for line in asked]
    rows = re.findall(r"^\| ([\w.-]+) \| .* \| \d{4}-\d\d \|", developers(), re.MULTILINE)
    assert sorted(rows) == sorted(names)


def developers() -> str:
    return (ROOT / "DEVELOPERS.md").read_text()


def code(path: Path) -> list[str]:
    """What a document shows as code."""
    text = path.read_text()
    blocks = re.findall(r"```\w*\n(.*?)```", text, re.DOTALL)
    return blocks + re.findall(r"`([^`\n]+)`", re.sub(r"```.*?```", "", text, flags=re.DOTALL))


# -- the code itself


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
