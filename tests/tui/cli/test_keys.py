"""``framecall keys`` and the help."""

from pathlib import Path

import pytest

from keymaps.card import key_card
from keymaps.keymap import keymap_names, load_keymap
from tests.tui.cli.conftest import Call


@pytest.mark.parametrize("name", keymap_names())
def test_the_key_card_of_a_keymap_is_printed(framecall: Call, name: str) -> None:
    result = framecall("keys", "--keymap", name)
    assert (result.code, result.err) == (0, "")
    assert result.out == key_card(load_keymap(name))


def test_keys_of_the_users_own_are_on_the_card(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = tmp_path / "own.toml"
    own.write_text('format = "framecall-keymap"\nversion = 1\n[keys]\n"note" = "ctrl+g"\n')
    monkeypatch.setenv("FRAMECALL_KEYS", str(own))
    assert "Ctrl+g" in framecall("keys").out


@pytest.mark.parametrize("command", [[], ["review"], ["rule"], ["keys"], ["schema"], ["demo"]])
def test_every_command_has_help(
    framecall: Call, command: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        framecall(*command, "--help")
    assert ended.value.code == 0
    assert "usage: framecall" in capsys.readouterr().out


def test_the_help_tells_the_exit_codes(framecall: Call, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        framecall("--help")
    assert "exit codes: 0 done" in capsys.readouterr().out
