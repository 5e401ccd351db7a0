"""What the program says about itself: help, version, keys, manual, man page and completions."""

import os
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import pytest

from keymaps.card import key_card
from keymaps.keymap import keymap_names, load_keymap
from sessions.rules.events import event_names
from tests.tui.cli.conftest import Call
from tui.cli.command_line import COMMANDS
from tui.cli.reference import PAGES, SHELLS
from tui.cli.start import WAYS
from tui.picture.choice import WISHES


@pytest.mark.parametrize("name", keymap_names())
def test_the_key_card_of_a_keymap_is_printed(framecall: Call, name: str) -> None:
    result = framecall("keys", "--keymap", name)
    assert (result.code, result.err) == (0, "")
    assert result.out == key_card(load_keymap(name))


def test_keys_of_the_users_own_are_on_the_card(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = tmp_path / "own.toml"
    own.write_text('format = "framecall-keymap"\nversion = 1\n[keys]\n"note" = "ctrl+r"\n')
    monkeypatch.setenv("FRAMECALL_KEYS", str(own))
    assert "Ctrl+r" in framecall("keys").out


# -- help and version


@pytest.mark.parametrize("command", [[], *([name] for name in COMMANDS)])
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


def test_the_version_is_that_of_the_package(
    framecall: Call, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        framecall("--version")
    assert ended.value.code == 0
    assert capsys.readouterr().out == f"framecall {version('framecall')}\n"


def test_the_ways_of_drawing_are_those_that_there_are() -> None:
    assert WAYS == WISHES


# -- the manual


@pytest.mark.parametrize("page", PAGES)
def test_every_page_is_printed_as_markdown_where_there_is_no_terminal(
    framecall: Call, page: str
) -> None:
    result = framecall("manual", page)
    assert (result.code, result.err) == (0, "")
    assert result.out.startswith("# ")
    assert "\x1b" not in result.out
    assert "<!--" not in result.out


def test_without_a_page_the_contents_are_shown(framecall: Call) -> None:
    contents = framecall("manual").out
    assert contents == framecall("manual", "contents").out
    assert [page for page in PAGES[1:] if f"[{page}]({page}.md)" not in contents] == []


def test_a_page_that_there_is_not_is_refused_and_the_pages_are_named(framecall: Call) -> None:
    sentence = framecall("manual", "tapes").sentence()
    assert '"tapes"' in sentence
    assert ", ".join(PAGES) in sentence


@pytest.fixture
def in_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Standard output is taken for a terminal of 80 columns."""
    monkeypatch.setattr("tui.cli.reference._is_read_in_a_terminal", lambda: True)
    monkeypatch.setenv("COLUMNS", "80")


def pager(tmp_path: Path, text: str) -> str:
    """A command that does something with a page, in a folder whose name has a space."""
    script = tmp_path / "a pager.py"
    script.write_text(text)
    return f"'{sys.executable}' '{script}' '{tmp_path / 'paged'}'"


PAGED = """
import os, sys
with open(sys.argv[1], "wb") as paged:
    paged.write(os.environb[b"LESS"] + sys.stdin.buffer.read())
"""


@pytest.mark.usefixtures("in_a_terminal")
def test_in_a_terminal_a_page_is_drawn_and_shown_by_the_readers_pager(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("LESS", raising=False)
    monkeypatch.setenv("PAGER", pager(tmp_path, PAGED))
    result = framecall("manual", "commands")
    assert (result.code, result.out, result.err) == (0, "", "")
    paged = (tmp_path / "paged").read_text(encoding="utf-8")
    assert paged.startswith("-R")
    assert "\x1b[" in paged
    assert "framecall review" in paged


@pytest.mark.usefixtures("in_a_terminal")
@pytest.mark.parametrize("named", ["", "no-such-program --at-all"])
def test_without_any_pager_a_page_is_printed(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, named: str
) -> None:
    monkeypatch.setenv("PAGER", named)
    monkeypatch.setenv("PATH", str(tmp_path))
    result = framecall("manual", "cautions")
    assert result.code == 0
    assert "Cautions" in result.out


@pytest.mark.usefixtures("in_a_terminal")
def test_a_pager_that_is_left_before_the_end_is_no_error(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PAGER", pager(tmp_path, "import sys; sys.stdin.buffer.read(10)"))
    result = framecall("manual", "keys")
    assert (result.code, result.err) == (0, "")


# -- completions and the page for man


@pytest.mark.parametrize("shell", SHELLS)
def test_completions_know_every_command(framecall: Call, shell: str) -> None:
    result = framecall("completion", shell)
    assert (result.code, result.err) == (0, "")
    assert [name for name in COMMANDS if name not in result.out] == []
    # tcsh completes an option's first word alone
    assert "claimed-time" in result.out


TYPED = """
source {script}
COMP_WORDS=({words}) COMP_CWORD=$((${{#COMP_WORDS[@]}} - 1))
_shtab_framecall "${{COMP_WORDS[0]}}" "${{COMP_WORDS[-1]}}"
printf '%s\\n' "${{COMPREPLY[@]}}"
"""


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        ("framecall ''", set(COMMANDS)),
        ("framecall se", {"settle", "season"}),
        ("framecall review --cl", {"--claim", "--claimed-time"}),
        ("framecall review --event ''", set(event_names())),
        ("framecall review --keymap ''", set(keymap_names())),
        ("framecall review --picture p", {"pixels"}),
        ("framecall demo --clip early", {"early-rise"}),
        ("framecall manual se", {"settling", "season", "settings", "session-format"}),
        ("framecall rule ''", {"one.jsonl", "folder"}),
        ("framecall docket ''", {"folder"}),
    ],
)
def test_bash_completes_what_is_typed(
    framecall: Call, tmp_path: Path, words: str, offered: set[str]
) -> None:
    script = tmp_path / "completion.bash"
    script.write_text(framecall("completion", "bash").out)
    (tmp_path / "here" / "folder").mkdir(parents=True)
    (tmp_path / "here" / "one.jsonl").touch()
    typed = TYPED.format(script=script, words=words)
    ran = subprocess.run(
        ["bash", "--norc", "-c", typed], cwd=tmp_path / "here", capture_output=True, text=True,
        timeout=30, check=False,
    )  # fmt: skip
    assert ran.stderr == ""
    assert {word.rstrip("/") for word in ran.stdout.split()} - {"-h", "--help"} == offered


def test_a_shell_that_is_not_known_is_refused(
    framecall: Call, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        framecall("completion", "sesh")
    assert ended.value.code == 2
    said = capsys.readouterr().err
    assert [shell for shell in SHELLS if shell not in said] == []


def test_the_page_for_man_tells_every_command_option_and_variable(framecall: Call) -> None:
    result = framecall("man")
    assert (result.code, result.err) == (0, "")
    page = result.out.replace("\\-", "-")
    assert page.startswith('.TH FRAMECALL "1" "" "framecall ')
    for name in COMMANDS:
        assert f"framecall {name}" in page
    for told in ("--claimed-time", "--anew", "FRAMECALL_CACHE", "exit codes: 0 done", "appeal"):
        assert told in page


def test_the_page_for_man_is_the_same_on_every_day(
    framecall: Call, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(os.environ, "SOURCE_DATE_EPOCH", "0")
    first = framecall("man").out
    monkeypatch.setitem(os.environ, "SOURCE_DATE_EPOCH", "1000000000")
    assert framecall("man").out == first
