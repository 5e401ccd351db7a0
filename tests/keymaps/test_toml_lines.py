import json
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keymaps.toml_lines import Path, line_numbers, nearest_line

ODD = '''\
# a comment with = and [brackets] and "quotes"
format = "x" # trailing = comment
'quoted # key' = 'a "literal" # no comment'
"escaped \\" key" = "end \\\\"
many = [
  "one", # ] not the end

  "two", ["inner",
   "last"],
]
text = """
[not.a.table]
note = "no"
quotes "" and \\""" end"""
raw = \'\'\'
key = 'no'
\'\'\'\'
when = 1979-05-27 07:32:00.5
[ keys . "a b" ]
step.forward = "right"
step . back=["left","b"]
inline = { x = 1, "y.z" = { deep = [ 1, 2 ] }, e = {} }

[[rows]]
name = "first"
[[rows]]
name = "second"
[last]'''

PLACES: list[tuple[Path, int]] = [
    (("format",), 2),
    (("quoted # key",), 3),
    (('escaped " key',), 4),
    (("many",), 5),
    (("many", 0), 6),
    (("many", 1), 8),
    (("many", 2), 8),
    (("many", 2, 1), 9),
    (("text",), 11),
    (("raw",), 15),
    (("when",), 18),
    (("keys",), 19),
    (("keys", "a b"), 19),
    (("keys", "a b", "step"), 20),
    (("keys", "a b", "step", "forward"), 20),
    (("keys", "a b", "step", "back"), 21),
    (("keys", "a b", "step", "back", 1), 21),
    (("keys", "a b", "inline", "y.z", "deep", 1), 22),
    (("keys", "a b", "inline", "e"), 22),
    (("rows",), 24),
    (("last",), 28),
]


@pytest.mark.parametrize("ends", ["\n", "\r\n"], ids=["LF", "CRLF"])
@pytest.mark.parametrize(("path", "line"), PLACES, ids=str)
def test_keys_are_found_in_oddly_written_text(path: Path, line: int, ends: str) -> None:
    text = ODD.replace("\n", ends)
    tomllib.loads(text)
    assert line_numbers(text)[path] == line


def test_nothing_inside_a_string_or_comment_is_taken_for_a_key() -> None:
    found = line_numbers(ODD)
    assert ("not", "a", "table") not in found
    assert ("note",) not in found
    assert ("key",) not in found


def test_what_is_missing_is_found_where_it_belongs() -> None:
    lines = line_numbers('a = 1\n[keys]\n"note" = []\n')
    assert nearest_line(lines, ("keys", "note", 0)) == 3
    assert nearest_line(lines, ("keys", "help")) == 2
    assert nearest_line(lines, ("version",)) == 1


_NAMES = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=6).map(
    lambda name: json.dumps(name, ensure_ascii=False).replace("\x7f", "\\u007f")
)
_GAPS = st.sampled_from(["", " ", "\t"])
_LINE_ENDS = st.sampled_from(["\n", "\n\n", " # [x] = 'y'\n", '\n# """\n'])
_SCALARS = st.one_of(
    st.integers().map(str),
    st.sampled_from(["true", "1.5", "07:32:00", '"""a\n"b" = 1"""', "'''\n[x]\n'''", '"#"', "''"]),
    _NAMES,
)


@st.composite
def documents(draw: st.DrawFn) -> str:
    """A valid TOML text of one table, in any formatting that the language allows."""
    text = draw(_LINE_ENDS) + "[table]" + draw(_LINE_ENDS)
    for name in draw(st.lists(_NAMES, unique_by=json.loads, max_size=6)):
        items = draw(st.lists(_SCALARS, max_size=3))
        gap = draw(st.sampled_from(["", " ", "\n", " # ],\n"]))
        array = "[" + gap + f",{gap}".join(items) + gap + "]"
        value = draw(st.one_of(_SCALARS, st.just(array)))
        text += draw(_GAPS) + name + draw(_GAPS) + "=" + draw(_GAPS) + value + draw(_LINE_ENDS)
    return text


def _paths(value: Any, path: Path = ()) -> set[Path]:
    inner = value.items() if isinstance(value, dict) else enumerate(value)
    found = {path} if path else set()
    for name, child in inner:
        here = (*path, name)
        found |= _paths(child, here) if isinstance(child, dict | list) else {here}
    return found


@given(documents())
def test_every_entry_of_a_valid_text_has_its_line_and_nothing_else_has(text: str) -> None:
    found = line_numbers(text)
    assert found.keys() == _paths(tomllib.loads(text))
    for path, line in found.items():
        if len(path) == 2:
            written = text.split("\n")[line - 1].strip(" \t")
            name, _ = json.JSONDecoder().raw_decode(written)
            assert name == path[1]
