"""A pipe in the place of any file that people write is refused in one sentence, and at once."""

import os
from pathlib import Path

import pytest

from tests.tui.cli.conftest import Call


@pytest.mark.parametrize(
    ("file", "command"),
    [
        ("claims.csv", ("docket", "{folder}", "--list")),
        ("claims.csv", ("register", "{folder}")),
        ("claims.csv", ("records", "{folder}")),
        ("results.csv", ("intake", "{folder}", "--results", "{file}")),
        ("own.toml", ("keys", "--keymap", "{file}")),
        ("own.toml", ("review", "{footage}", "--event", "{file}")),
        ("a.session.jsonl", ("rule", "{file}")),
        ("a.mp4", ("inspect", "{file}")),
    ],
)
def test_a_pipe_is_refused(
    framecall: Call, tmp_path: Path, footage: Path, file: str, command: tuple[str, ...]
) -> None:
    pipe = tmp_path / file
    os.mkfifo(pipe)
    told = [part.format(folder=tmp_path, file=pipe, footage=footage) for part in command]
    result = framecall(*told)
    assert result.code == 2
    assert " is not a" in result.err  # a regular file, or simply a file
    assert result.err.count("\n") == 1


def test_a_keymap_of_many_unknown_commands_is_refused_at_once(
    framecall: Call, tmp_path: Path
) -> None:
    path = tmp_path / "own.toml"
    head = 'format = "framecall-keymap"\nversion = 1\n[keys]\n'
    path.write_text(head + "".join(f'"foo.{n}" = "a"\n' for n in range(9000)), encoding="utf-8")
    assert framecall("keys", "--keymap", path).sentence() == (
        f'{path}, line 4: there is no command "foo.0"; the help lists all commands.'
    )
    path.write_text(head + "#" * 256_000, encoding="utf-8")
    assert "it is longer than 0.256 MB" in framecall("keys", "--keymap", path).sentence()
