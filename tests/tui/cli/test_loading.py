"""Each command loads what it needs, and nothing that only another one does."""

import gc
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.sessions.docket.docket_samples import claim, new_docket, standing_review
from tui.cli.start import loading

HEAVY = {"textual", "rich", "av", "PIL", "numpy"}

COMMAND = """
import atexit, json, sys
atexit.register(lambda: print(json.dumps(sorted(sys.modules))))
from tui.__main__ import main
sys.exit(main(sys.argv[1:]))
"""

SHOWN = """
import sys
from tui.cli import start
start.check_terminal = lambda: None
from tui.app import FramecallApp
FramecallApp.run = lambda app: app._first_screen()
"""
"""Before the command: as in a terminal, up to the first screen."""


def loaded(script: str, *arguments: str | Path, cache: Path) -> set[str]:
    """The modules, ours by their full names and others by the first part, at the end of a run."""
    # coverage is kept out: it would load modules of its own
    env = {name: value for name, value in os.environ.items() if not name.startswith("COV")}
    env |= {"FRAMECALL_CACHE": str(cache)}
    command = [sys.executable, "-c", script, *map(str, arguments)]
    ran = subprocess.run(command, capture_output=True, text=True, timeout=60, env=env)
    assert "Traceback" not in ran.stderr, ran.stderr
    names = set(json.loads(ran.stdout.splitlines()[-1]))
    return names | {name.partition(".")[0] for name in names}


def test_help_loads_neither_the_domain_nor_a_screen_nor_a_decoder(tmp_path: Path) -> None:
    found = loaded(COMMAND, "--help", cache=tmp_path)
    assert "argparse" in found
    assert not found & (HEAVY | {"pydantic", "sessions.ruling.judge", "keymaps"})


def test_ruling_loads_no_screen_no_decoder_and_no_pictures(tmp_path: Path) -> None:
    session = standing_review(new_docket(tmp_path / "docket", [claim("C-1")]), "C-1", "one")
    found = loaded(COMMAND, "rule", session, cache=tmp_path)
    assert "sessions.ruling.judge" in found
    assert not found & (HEAVY | {"tui.footage", "tui.screens", "tui.documents", "jinja2"})


def test_a_review_loads_no_documents_no_demo_no_docket_and_no_settling(
    clip: Path, tmp_path: Path
) -> None:
    session = tmp_path / "session.jsonl"
    arguments = ("review", clip, "--event", "cycle", "--session", session)
    found = loaded(SHOWN + COMMAND, *arguments, cache=tmp_path)
    assert {"tui.bench.screen", "av", "textual"} <= found
    others = {"tui.documents", "tui.demo", "tui.docket.screen", "tui.settling.screen"}
    assert not found & (
        others | {"jinja2", "sessions.docket.docket", "sessions.settling.agreement"}
    )


def test_no_garbage_is_looked_for_while_code_is_loaded() -> None:
    assert gc.isenabled()
    with loading():
        assert not gc.isenabled()
        with loading():
            pass
        assert not gc.isenabled()
    assert gc.isenabled()


def test_garbage_is_looked_for_again_where_loading_fails() -> None:
    with pytest.raises(ImportError), loading():
        raise ImportError
    assert gc.isenabled()
