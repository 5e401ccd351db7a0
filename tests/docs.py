"""Write the parts of the documents that say what the code says: ``python -m tests.docs``.

Such a part stands between two comments that name it; ``tests/test_docs.py`` holds it equal to
what is made here.
"""

import argparse
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from json import dumps
from pathlib import Path
from typing import Any

from keymaps.card import key_table
from keymaps.keymap import Keymap, load_keymap
from sessions.docket import records
from sessions.docket.claims import COLUMNS
from sessions.docket.csv_table import Column
from sessions.evidence.verdict import Verdict
from sessions.record.recording import session_schema
from sessions.rules.events import event_names, load_event
from sessions.rules.ladder import Statement, build_ladder
from sessions.rules.rulebook import rules
from tui.cli.command_line import COMMANDS, command_line
from tui.cli.reference import PAGES, VARIABLES, commands, usage

ROOT = Path(__file__).parent.parent
MANUAL = ROOT / "tui" / "docs"
DOCUMENTS = (
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    ROOT / "tests" / "bench" / "README.md",
    *sorted(MANUAL.glob("*.md")),
)
"""All documents for people."""

COMMAND = "uv run python -m tests.docs"

PART = re.compile(
    r"(<!-- (?P<name>[\w-]+), written by tests/docs\.py -->\n).*?(<!-- end -->)", re.S
)


def filled(text: str) -> str:
    """A document with each of its generated parts as it should be."""
    return PART.sub(lambda m: f"{m[1]}\n{PARTS[m['name']]().strip()}\n\n{m[3]}", text)


def row(*cells: str) -> str:
    """A row of a Markdown table."""
    return f"| {' | '.join(cells)} |"


def table(head: tuple[str, ...], rows: Iterator[tuple[str, ...]]) -> str:
    """A Markdown table."""
    return "\n".join([row(*head), row(*["---"] * len(head)), *(row(*cells) for cells in rows)])


def _contents() -> str:
    return "\n".join(f"- [{page}]({page}.md): {_first_sentence(page)}" for page in PAGES[1:])


def _first_sentence(page: str) -> str:
    """What a page says of itself: the sentence under its title."""
    paragraph = (MANUAL / f"{page}.md").read_text(encoding="utf-8").split("\n\n")[1]
    return " ".join(paragraph.split()).split(". ")[0].rstrip(".") + "."


def _keymap() -> Keymap:
    """The QWERTY keys, whatever keys of their own the developer has."""
    return load_keymap("qwerty", user_file=ROOT / "keymaps" / "qwerty.toml")


def _keys() -> str:
    return key_table(_keymap())


LOOKING = (
    ("take up the lens, or lay it down", "lens"),
    ("enlarge; reduce", "lens.enlarge", "lens.reduce"),
    ("move the lens left, right, up, down", "lens.left", "lens.right", "lens.up", "lens.down"),
    (
        "move it by one pixel left, right, up, down",
        "nudge.left", "nudge.right", "nudge.up", "nudge.down",
    ),
    ("flip to the frame before, and back", "flip"),
    ("flip by itself", "flip.run"),
    ("show the pair side by side", "pair.side"),
    ("show what moved between the two", "pair.difference"),
    ("measure from the middle of the lens, in pixels", "marker"),
    ("darker; brighter", "light.down", "light.up"),
    ("less contrast; more; fine contrast", "contrast.down", "contrast.up", "contrast.local"),
    ("show the plain frame again", "plain"),
    ("space the film strip by 1, 2, 5 or 10 frames", "strip.step"),
)  # fmt: skip

SETTLING = (
    ("take the finding on the left", "settle.first"),
    ("take the finding on the right", "settle.second"),
    ("look again on the bench, and tag it anew", "settle.again"),
    ("go to the next difference; to the one before", "settle.next", "settle.previous"),
    ("where three reviewers differ: show the next two side by side", "settle.others"),
    ("list what else differs and needs no settling", "settle.remarks"),
    ("finish, once nothing differs", "settle.finish"),
)


def _pressed(rows: tuple[tuple[str, ...], ...]) -> str:
    """What to press for what, by command ids."""
    keymap = _keymap()
    return table(
        ("to", "press"),
        ((words, ", ".join(f"`{keymap.first_key(c)}`" for c in ids)) for words, *ids in rows),
    )


def _commands() -> str:
    parser = command_line()
    parts = []
    for name, command in commands(parser).items():
        parts.append(f"## framecall {name}\n\n`{usage(name, command)}`\n\n{command.description}")
        if taken := [a for a in command._actions if "--help" not in a.option_strings]:
            parts.append(table(("given", "what it is"), ((_given(a), _help(a)) for a in taken)))
    return "\n\n".join(parts)


def _given(action: argparse.Action) -> str:
    value = str(action.metavar or (action.dest if not action.option_strings else ""))
    if action.nargs == 0:
        value = ""
    return f"`{' '.join([*action.option_strings, value]).strip()}`".replace("|", r"\|")


def _help(action: argparse.Action) -> str:
    choices = f": {', '.join(action.choices)}" if action.choices else ""
    return f"{action.help}{choices}"


def _command_list() -> str:
    return table(
        ("command", "what it does"),
        ((f"`framecall {name}`", command.help) for name, command in COMMANDS.items()),
    )


def _variables() -> str:
    return table(("variable", "what it does"), ((f"`{n}`", text) for n, text in VARIABLES.items()))


def _columns(columns: Iterable[Column]) -> str:
    def rows() -> Iterator[tuple[str, ...]]:
        for column in columns:
            empty = "; may be empty" if column.may_be_empty else ""
            empty = "; may be missing" if column.may_lack else empty
            yield f"`{column.name}`", f"{column.meaning}{empty}", f"`{column.example}`"

    return table(("column", "what it holds", "for example"), rows())


def _kleene() -> str:
    values = (Verdict.PROVEN, Verdict.UNPROVEN, Verdict.REFUTED)
    tables = []
    for word, combined in (("and", Verdict.__and__), ("or", Verdict.__or__)):
        head = (f"A {word} B", *(f"B {b}" for b in values))
        rows = ((f"**A {a}**", *(str(combined(a, b)) for b in values)) for a in values)
        tables.append(table(head, rows))
    return "\n\n".join(tables)


def _rules() -> str:
    return table(
        ("rule", "what must be so", "what refutes it", "what is right", "judged by", "source"),
        (
            (f"`{r.id}`", r.title, r.refuted, r.right, r.hands or "-", r.source)
            for r in rules().values()
        ),
    )


def _ladder() -> str:
    def rows() -> Iterator[tuple[str, ...]]:
        for checkpoint in build_ladder(load_event("cycle")).checkpoints:
            rule = f"`{checkpoint.rule}`" if isinstance(checkpoint, Statement) else ""
            yield checkpoint.title, rule

    return table(("checkpoint", "rule"), rows())


def _event_file() -> str:
    path = ROOT / "sessions" / "rules" / "events" / "cycle.toml"
    return f"```toml\n{path.read_text(encoding='utf-8').strip()}\n```"


def _events() -> str:
    return table(
        ("event", "cups", "formations", "ends in"),
        (
            (f"`{e.name}`", str(e.cups), ", ".join(e.formations), e.closing)
            for e in map(load_event, event_names())
        ),
    )


def _league_file() -> str:
    path = ROOT / "tui" / "documents" / "league.example.toml"
    return f"```toml\n{path.read_text(encoding='utf-8').strip()}\n```"


def _session_lines() -> str:
    """Each kind of line and entry of a session file, from the schema of the pydantic models."""
    models: dict[str, Any] = session_schema()["$defs"]
    entries = models["Line"]["properties"]["entry"]["discriminator"]["mapping"]
    names = {reference.rsplit("/", 1)[1]: kind for kind, reference in entries.items()}
    first = ["Header", "Line"]
    others = [name for name in models if name not in (*first, *names)]
    parts = []
    for name in (*first, *names, *others):
        if "properties" in models[name]:
            title = f"### `{names[name]}`" if name in names else f"### {name}"
            parts += [title, _plain(models[name].get("description", "")), _fields(models[name])]
    return "\n\n".join(part for part in parts if part)


def _plain(docstring: str) -> str:
    """A docstring as Markdown, without the rest of its lines' indentation."""
    lines = (line.strip() for line in docstring.replace("``", "`").splitlines())
    return "\n".join(lines).strip()


def _fields(model: Mapping[str, Any]) -> str:
    needed = model.get("required", [])

    def rows() -> Iterator[tuple[str, ...]]:
        for name, schema in model["properties"].items():
            default = "" if name in needed or "const" in schema else _default(schema)
            yield f"`{name}`", _type(schema).replace("|", r"\|"), default

    return table(("field", "what it holds", "where left out"), rows())


def _default(schema: Mapping[str, Any]) -> str:
    value = schema.get("default")
    return "nothing" if value in (None, "", []) or isinstance(value, dict) else f"`{dumps(value)}`"


def _type(schema: Mapping[str, Any]) -> str:
    """What a field of the schema may hold, in words."""
    if "const" in schema:
        return f"`{schema['const']}`"
    if "$ref" in schema:
        return str(schema["$ref"]).rsplit("/", 1)[1]
    if "enum" in schema:
        return "one of " + ", ".join(f"`{value}`" for value in schema["enum"])
    if choices := schema.get("anyOf") or schema.get("oneOf"):
        told = schema.get("description")
        kinds = [_type(one) for one in choices if one.get("type") != "null"]
        words = " or ".join(kinds) if len(kinds) < 5 else "one of the entries below"
        return f"{words}: {_plain(told)}" if told else words
    words = {"integer": "a whole number", "boolean": "true or false", "string": "text"}.get(
        schema.get("type", ""), str(schema.get("type", "anything"))
    )
    if schema.get("format") == "date-time":
        words = "a date and time, RFC 3339"
    if "pattern" in schema:
        words += f" of the form `{schema['pattern']}`"
    if "minimum" in schema and schema["minimum"] >= 0:
        words += f", {schema['minimum']} or more"
    if schema.get("type") == "array":
        words = "a list of " + _items(schema)
    return words


def _items(schema: Mapping[str, Any]) -> str:
    if "prefixItems" in schema:
        return "two: " + " and ".join(_type(item) for item in schema["prefixItems"])
    item = schema.get("items", {})
    one = f"[{_items(item)}]" if "prefixItems" in item else _type(item)
    return one.replace("a whole number", "whole numbers")


PARTS: Mapping[str, Callable[[], str]] = {
    "contents": _contents,
    "keys": _keys,
    "looking-keys": lambda: _pressed(LOOKING),
    "settling-keys": lambda: _pressed(SETTLING),
    "commands": _commands,
    "command-list": _command_list,
    "variables": _variables,
    "columns": lambda: _columns(COLUMNS),
    "record-columns": lambda: _columns(records.COLUMNS),
    "kleene": _kleene,
    "rules": _rules,
    "ladder": _ladder,
    "event-file": _event_file,
    "events": _events,
    "league-file": _league_file,
    "session-lines": _session_lines,
}
"""What each generated part is made by."""


def main() -> None:
    """Write every generated part anew; says which documents have changed."""
    for path in DOCUMENTS:
        before = path.read_text(encoding="utf-8")
        after = filled(before)
        if after != before:
            path.write_text(after, encoding="utf-8")
            sys.stdout.write(f"{path.relative_to(ROOT)}\n")


if __name__ == "__main__":
    main()
