"""The league's settings file: its example holds, and each fault is named by its line."""

from importlib import resources
from pathlib import Path

import pytest

from sessions.errors import DocumentError
from tui.documents.league import load_league

HEAD = 'format = "framecall-league"\nversion = 1\n'


def test_the_example_holds_and_uses_every_entry() -> None:
    with resources.as_file(resources.files("tui.documents") / "league.example.toml") as path:
        league = load_league(path)
    assert league.model_fields_set == set(type(league).model_fields)
    assert len(league.appeal_paragraphs) == 2
    assert league.appeal_paragraphs[0].startswith("If you think")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            'name = "A"\nappeal = "B"\ncolour = "red"\n',
            "line 5, does not hold: colour: is not",
        ),
        (
            'name = "A"\nappeal = "B"\naddress = "Quay 1"\n',
            "line 5, does not hold: address: should be a list",
        ),
        ('name = ""\nappeal = "B"\n', "line 3, does not hold: name:"),
        (
            'name = "A"\naddress = [\n"x",\n7,\n]\nappeal = "B"\n',
            "line 6, does not hold: address.1",
        ),
        ('name = "A"\n', "line 1, does not hold: appeal: is missing"),
        ('name = "A\n', "is not TOML"),
        ("name = \xff\n", "is not UTF-8 text"),
    ],
)
def test_a_fault_is_named_with_its_line(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "league.toml"
    path.write_bytes((HEAD + text).encode("latin-1"))
    with pytest.raises(DocumentError, match=said) as caught:
        load_league(path)
    assert str(path) in str(caught.value)


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(DocumentError, match="cannot be read"):
        load_league(tmp_path / "none.toml")
