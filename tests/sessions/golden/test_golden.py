"""An old session replays to its old ruling, for ever: whatever the program learns meanwhile.

The sessions and rulings in this folder are invented, and never change; ``make`` adds new ones.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from sessions.errors import SessionError
from sessions.record.recording import read_session, sealed
from sessions.record.session import fold
from sessions.ruling.judge import rule
from tests.sessions.golden.make import EVENTS, FOLDER, TAGS

SESSIONS = sorted(FOLDER.glob("*.session.jsonl"))


def lost(old: Any, new: Any, place: str = "") -> list[str]:
    """Where something of an old ruling is not so in a new one; what is new besides is no loss."""
    if isinstance(old, dict) and isinstance(new, dict):
        return [said for key in old for said in lost(old[key], new.get(key), f"{place}.{key}")]
    if isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        pairs = enumerate(zip(old, new, strict=True))
        return [said for at, (one, two) in pairs for said in lost(one, two, f"{place}[{at}]")]
    return [] if old == new else [f"{place}: {old!r} is now {new!r}"]


def test_there_is_one_of_each_kind_and_event() -> None:
    assert len(SESSIONS) >= len(EVENTS) * len(TAGS)


@pytest.mark.parametrize("path", SESSIONS, ids=lambda path: path.name)
def test_a_golden_session_rules_as_it_did(path: Path) -> None:
    recording = read_session(path)
    assert not recording.damage
    ruling = rule(fold(recording.header, recording.lines))
    old = path.with_suffix("").with_suffix(".ruling.json").read_text(encoding="utf-8")
    assert lost(json.loads(old), ruling.model_dump(mode="json")) == []


def test_a_change_of_a_ruling_would_be_told() -> None:
    old = {"runs": [{"standing": "stands"}], "made": True}
    assert lost(old, {**old, "more": 1}) == []
    assert lost(old, {"runs": [{"standing": "scratch"}], "made": True}) == [
        ".runs[0].standing: 'stands' is now 'scratch'"
    ]
    assert lost(old, {"runs": [], "made": True}) == [".runs: [{'standing': 'stands'}] is now []"]


def test_a_session_of_version_1_is_refused_in_one_sentence(tmp_path: Path) -> None:
    path = tmp_path / "old.session.jsonl"
    first = json.loads(SESSIONS[0].read_bytes().split(b"\n")[0])
    del first["seal"]
    body = json.dumps(first | {"version": 1}, separators=(",", ":")).encode()
    path.write_bytes(sealed(body) + b"\n")
    with pytest.raises(SessionError, match="version 1") as caught:
        read_session(path)
    assert str(caught.value).count(". ") == 0
