"""The folders are the layers, and the domain can be used without a terminal or a decoder."""

import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from importlinter import cli as importlinter

ROOT = Path(__file__).parent.parent
PACKAGES = ("sessions", "keymaps", "tui")

TOP = {
    "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "uv.lock",
    "tui", "keymaps", "sessions", "tests",
}  # fmt: skip
"""What may lie at the top, next to what a dot hides."""

LONGEST = 500
"""Lines that a file may have: it is as long as one idea."""

TERMINAL = {
    "bench": {"dialogs", "panels", "review_screen", "screen"},
    "settling": {"panels", "screen"},
    "docket": {"dialogs", "panels", "screen"},
}
"""The modules of each screen that may know the terminal; what the others decide needs none."""


def tracked() -> list[str]:
    """Every file that belongs to the project; skips where only Git could tell which those are."""
    if not (ROOT / ".git").exists():
        pytest.skip("not a Git working tree: what else lies here is not the project's")
    listing = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return [name for name in listing.stdout.split("\0") if name]


def test_the_contracts_between_the_layers_hold(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    path = list(sys.path)
    try:
        assert importlinter.lint_imports(no_cache=True) == importlinter.EXIT_STATUS_SUCCESS
    finally:
        sys.path[:] = path


def test_there_is_a_contract_for_every_layer() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]
    layers = next(c["layers"] for c in settings["contracts"] if c["type"] == "layers")
    assert layers == ["tui", "keymaps", "sessions"]
    assert set(settings["root_packages"]) == set(PACKAGES)
    forbidden = [c for c in settings["contracts"] if c["type"] == "forbidden"]
    domain = next(c for c in forbidden if "sessions" in c["source_modules"])
    assert {"textual", "rich", "av", "PIL", "numpy"} <= set(domain["forbidden_modules"])


def test_the_top_level_holds_only_what_it_may() -> None:
    top = {name.split("/")[0] for name in tracked()}
    assert {name for name in top if not name.startswith(".")} <= TOP


def loaded_by(*modules: str) -> set[str]:
    """The top-level modules that are loaded once some modules of ours are imported."""
    script = (
        "import importlib, json, sys\n"
        f"for name in {list(modules)!r}: importlib.import_module(name)\n"
        "print(json.dumps(sorted({name.split('.')[0] for name in sys.modules})))"
    )
    # coverage is kept out: it would load modules of its own
    env = {k: v for k, v in os.environ.items() if not k.startswith("COV")}
    ran = subprocess.run(
        [sys.executable, "-c", script],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
        env=env,
    )
    return set(json.loads(ran.stdout))


def modules_of(package: str) -> list[str]:
    return [
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        for path in sorted((ROOT / package).rglob("*.py"))
    ]


@pytest.mark.parametrize("package", ["sessions", "keymaps"])
def test_the_domain_loads_no_terminal_no_decoder_and_no_pictures(package: str) -> None:
    loaded = loaded_by(*modules_of(package))
    assert package in loaded
    assert not loaded & {"textual", "rich", "av", "PIL", "numpy", "tui"}


@pytest.mark.parametrize("screen", TERMINAL)
def test_what_a_screen_decides_needs_no_terminal(screen: str) -> None:
    names = modules_of(f"tui/{screen}")
    pure = [name for name in names if name.rsplit(".", 1)[1] not in TERMINAL[screen]]
    assert {name.rsplit(".", 1)[1] for name in names} >= TERMINAL[screen]
    assert "textual" not in loaded_by(*pure)


def test_the_command_line_loads_only_what_a_command_needs() -> None:
    loaded = loaded_by("tui.__main__")
    assert "sessions" in loaded
    assert not loaded & {"textual", "rich", "av", "PIL", "numpy"}


def test_the_ruling_is_printed_without_a_terminal_or_a_decoder() -> None:
    loaded = loaded_by("tui.cli.session", "keymaps.card")
    assert not loaded & {"textual", "rich", "av", "PIL", "numpy"}


def test_a_file_is_as_long_as_one_idea() -> None:
    lengths = {
        name: len((ROOT / name).read_text(encoding="utf-8").splitlines())
        for name in tracked()
        if name.endswith(".py") and (ROOT / name).exists()
    }
    assert lengths
    assert {name for name, lines in lengths.items() if lines > LONGEST} == set()
