"""A docket of many claims with sessions that are all valid, written in seconds."""

import json
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

from sessions.docket.claims import ListedClaim
from sessions.docket.docket import DocketFolder
from sessions.record.entries import Entry, Finished
from sessions.record.header import Claim
from sessions.record.recording import line_hash, sealed
from tests.sessions.docket.docket_samples import new_docket, write_session
from tests.sessions.samples import header, standing_session

DIVISIONS = 40
EVENT = "cycle"
SESSIONS = (0, 1, 2, 3, 4)
"""Sessions of a claim, in turn."""
UNFINISHED = 7
"""Every so many sessions, one is not finished."""


def write_docket(path: Path, claims: int) -> DocketFolder:
    """A docket of so many claims and twice as many sessions."""
    folder = new_docket(path, (_claim(number) for number in range(claims)))
    finished, begun = _template(path / "a", finish=True), _template(path / "b", finish=False)
    written = 0
    for number in range(claims):
        for reviewer in range(SESSIONS[number % len(SESSIONS)]):
            written += 1
            claim, code = _claim(number).claim, f"R{reviewer + 1}"
            template = begun if written % UNFINISHED == 0 else finished
            folder.session(claim, code).write_bytes(_rewritten(template, claim, code))
    return folder


def _claim(number: int) -> ListedClaim:
    """The claimed time is what the display reads in every session."""
    claim = f"C-{number:05d}"
    return ListedClaim(
        claim,
        EVENT,
        f"D{number % DIVISIONS:02d}",
        f"S-{number}",
        "7.007",
        "",
        f"footage/{claim}.mp4",
    )


def _template(path: Path, *, finish: bool) -> list[bytes]:
    """The lines of a session, without their line feeds."""
    head = header(EVENT)
    entries: list[Entry] = standing_session(head)
    write_session(path, head, [*entries, Finished(blind=True)] if finish else entries[:-4])
    lines = path.read_bytes().splitlines()
    path.unlink()
    return lines


def _rewritten(template: list[bytes], claim: str, reviewer: str) -> bytes:
    """The session of another claim and reviewer, its chain and seals made anew."""
    return b"".join(line + b"\n" for line in _chained(template, claim, reviewer))


def _chained(template: list[bytes], claim: str, reviewer: str) -> Iterator[bytes]:
    first = json.loads(template[0])
    del first["seal"]
    first |= {"claim": Claim(id=claim).model_dump(exclude_none=True), "reviewer": reviewer}
    line = sealed(json.dumps(first, separators=(",", ":")).encode())
    yield line
    for old_before, old in pairwise(template):
        body = old[: old.rindex(b',"seal"')] + b"}"
        line = sealed(body.replace(line_hash(old_before).encode(), line_hash(line).encode(), 1))
        yield line
