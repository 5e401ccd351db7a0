"""The wheel, installed where nothing of the source is, does its work."""

import os
import site
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from sessions.record.journal import Journal
from tests.tui.conftest import header

ROOT = Path(__file__).parent.parent
PACKAGES = ("sessions", "keymaps", "tui")
UV = os.environ.get("UV")
"""The uv that runs the tests: it says so itself."""

pytestmark = [
    pytest.mark.proof,
    pytest.mark.skipif(UV is None, reason="not run by uv: uv run poe prove"),
]


def run(command: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    hidden = ("PYTHONPATH", "VIRTUAL_ENV", "UV_PROJECT_ENVIRONMENT")
    env = {name: value for name, value in os.environ.items() if name not in hidden}
    return subprocess.run(
        command, cwd=folder, capture_output=True, text=True, timeout=120, env=env, check=False
    )


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built with the build back end that is installed or else fetched."""
    folder = tmp_path_factory.mktemp("wheel")
    assert UV is not None
    build = [UV, "build", "--wheel", "--out-dir", str(folder), str(ROOT)]
    built = run(build, folder)
    assert built.returncode == 0, built.stderr
    (path,) = folder.glob("*.whl")
    return path


@pytest.fixture(scope="module")
def program(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The program installed from the wheel; its libraries are borrowed from this environment."""
    assert UV is not None
    folder = tmp_path_factory.mktemp("installed")
    made = run([UV, "venv", "--python", sys.executable, "venv"], folder)
    assert made.returncode == 0, made.stderr
    python = folder / "venv" / "bin" / "python"
    install = [UV, "pip", "install", "--no-deps", "--offline", "--python", str(python), str(wheel)]
    installed = run(install, folder)
    assert installed.returncode == 0, installed.stderr
    where = run([str(python), "-c", "import site; print(site.getsitepackages()[0])"], folder)
    own = Path(where.stdout.strip())
    # appended after the environment's own folder; hooks of an editable install are not run
    (own / "libraries.pth").write_text("\n".join(site.getsitepackages()))
    return folder / "venv" / "bin" / "framecall"


def test_the_wheel_holds_every_file_of_the_packages_and_nothing_else(wheel: Path) -> None:
    inside = set(zipfile.ZipFile(wheel).namelist())
    wanted = {
        str(path.relative_to(ROOT))
        for package in PACKAGES
        for path in (ROOT / package).rglob("*")
        if path.suffix in (".py", ".toml", ".tcss", ".typed", ".md", ".svg", ".j2")
    }
    assert any(name.endswith(".toml") for name in wanted)
    assert any(name.endswith(".tcss") for name in wanted)
    assert any(name.endswith("docs/contents.md") for name in wanted)
    assert wanted <= inside
    assert {name.split("/")[0] for name in inside} - set(PACKAGES) == {
        name.split("/")[0] for name in inside if ".dist-info/" in name
    }


def test_the_program_comes_from_the_wheel(program: Path, tmp_path: Path) -> None:
    python = program.with_name("python")
    for package in PACKAGES:
        ran = run([str(python), "-c", f"import {package}; print({package}.__file__)"], tmp_path)
        assert str(ROOT) not in ran.stdout
        assert str(program.parent.parent) in ran.stdout


def test_help_and_keys_are_printed_from_another_folder(program: Path, tmp_path: Path) -> None:
    helped = run([str(program), "--help"], tmp_path)
    assert (helped.returncode, helped.stderr) == (0, "")
    assert "usage: framecall" in helped.stdout
    keys = run([str(program), "keys", "--keymap", "azerty"], tmp_path)
    assert (keys.returncode, keys.stderr) == (0, "")
    assert keys.stdout.startswith("Keys: ")


def test_a_session_is_ruled_from_another_folder(program: Path, tmp_path: Path) -> None:
    session = tmp_path / "a.session.jsonl"
    Journal.create(session, header("cycle")).close()
    ruled = run([str(program), "rule", session.name], tmp_path)
    assert (ruled.returncode, ruled.stderr) == (1, "")
    assert ruled.stdout.startswith("NOT YET RULED: Open: no timed run has been begun yet.")
    assert run([str(program), "rule", "none.jsonl"], tmp_path).returncode == 2


def test_the_bench_of_the_wheel_loads(program: Path, tmp_path: Path) -> None:
    script = (
        "from tui.app import FramecallApp\n"
        "from keymaps.keymap import load_keymap\n"
        "from textual.screen import Screen\n"
        "async def leave(pilot): pilot.app.exit()\n"
        "app = FramecallApp(load_keymap('qwerty'), Screen)\n"
        "app.run(headless=True, auto_pilot=leave)\n"
        "print(app.stylesheet.source and 'styled')\n"
    )
    ran = run([str(program.with_name("python")), "-c", script], tmp_path)
    assert (ran.returncode, ran.stdout.strip()) == (0, "styled"), ran.stderr


def test_the_manual_of_the_wheel_is_shown(program: Path, tmp_path: Path) -> None:
    shown = run([str(program), "manual", "cautions"], tmp_path)
    assert (shown.returncode, shown.stderr) == (0, "")
    assert shown.stdout == (ROOT / "tui" / "docs" / "cautions.md").read_text(encoding="utf-8")


def test_a_wheel_that_is_built_again_has_the_same_bytes(wheel: Path, tmp_path: Path) -> None:
    assert UV is not None
    built = run([UV, "build", "--wheel", "--out-dir", str(tmp_path), str(ROOT)], tmp_path)
    assert built.returncode == 0, built.stderr
    (again,) = tmp_path.glob("*.whl")
    assert again.read_bytes() == wheel.read_bytes()
