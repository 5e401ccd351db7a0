"""The invented docket: claims on the clips of the demo, and sessions of two reviewers on some."""

import os
import shutil
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Literal, Self

from pydantic import Field, model_validator

from sessions.docket.claims import ListedClaim, write_claims
from sessions.docket.docket import DocketFolder
from sessions.record.entries import Entry, Finished, Look, Played, Shown
from sessions.record.header import Header
from sessions.record.journal import Journal
from sessions.record.wholefile import write_whole
from sessions.validation import Frozen
from tui.demo.build import DemoError, Progress, build, clip_path, set_aside, truth_path
from tui.demo.tagging import true_entries
from tui.demo.truth import Truth
from tui.footage.footage import Footage

How = Literal["right", "sure", "half"]
HeaderOf = Callable[[Footage, ListedClaim, str], Header]
"""Makes the first line of the session of a claim by a reviewer."""

BEGUN = datetime(2024, 3, 2, 9, 0, tzinfo=UTC)
"""When the invented reviews were begun: always the same time, which has passed."""
PACE = timedelta(seconds=5)
"""From one entry to the next."""


class PlannedClaim(Frozen):
    """A claim on a tape, of a run's time or of a time that no run reads.

    ``reviews`` says who has reviewed it, and how.
    """

    claim: str
    division: str
    record: str
    tape: str
    run: int | None = Field(default=None, ge=1)
    time: str | None = None
    reviews: dict[str, How] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _has_one_time(self) -> Self:
        if (self.run is None) == (self.time is None):
            raise ValueError("a claim is of a run, or states a time")
        return self


class Plan(Frozen):
    """Clips by the tape on which they lie, and the claims."""

    tapes: dict[str, str]
    claims: tuple[PlannedClaim, ...]


@dataclass(frozen=True)
class _LaidTape:
    footage: Footage
    truth: Truth


@cache
def plan() -> Plan:
    """The plan of the demo's docket."""
    text = resources.files("tui.demo").joinpath("docket.toml").read_text(encoding="utf-8")
    return Plan.model_validate(tomllib.loads(text))


def build_docket(
    folder: Path,
    clips: Path,
    header_of: HeaderOf,
    progress: Progress | None = None,
    *,
    scale: float = 1.0,
    workers: int = 2,
) -> None:
    """Build the docket in a folder, unless there is one; its clips are built in another first.

    Raises DemoError where the folder holds anything else, or cannot be written.
    """
    if DocketFolder(folder).claims_file.exists():
        return
    _check_empty(folder)
    build(clips, list(plan().tapes.values()), progress, workers, scale=scale)
    try:
        _build(folder, clips, header_of)
    except OSError as error:
        raise DemoError(
            f"The docket cannot be built in {folder} ({error.strerror}); name another folder."
        ) from None


def _check_empty(folder: Path) -> None:
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise DemoError(
            f"{folder} holds something else, and no claims.csv; name a folder that is new or empty."
        )


def _build(folder: Path, clips: Path, header_of: HeaderOf) -> None:
    """Build beside the folder, and put it in place whole."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    with set_aside(folder.parent) as aside:
        aside.chmod(0o755)
        _fill(DocketFolder(aside), clips, header_of)
        os.replace(aside, folder)


def _fill(docket: DocketFolder, clips: Path, header_of: HeaderOf) -> None:
    tapes = _lay(docket.path / "footage", clips)
    docket.sessions.mkdir()
    listed = [_listed(claim, tapes) for claim in plan().claims]
    for claim, planned in zip(listed, plan().claims, strict=True):
        for reviewer, how in planned.reviews.items():
            tape = tapes[planned.tape]
            head = header_of(tape.footage, claim, reviewer)
            _write(docket.session(claim.claim, reviewer), head, _entries(tape, how))
    write_claims(docket.claims_file, listed, note="invented")
    league = resources.files("tui.demo").joinpath("league.toml")
    write_whole(docket.league_file, league.read_bytes())


def _lay(folder: Path, clips: Path) -> dict[str, _LaidTape]:
    """Copy the clips under names that tell nothing of what is on them."""
    folder.mkdir()
    tapes = {}
    for tape, clip in plan().tapes.items():
        path = folder / f"{tape}.mp4"
        shutil.copy(clip_path(clips, clip), path)
        truth = Truth.model_validate_json(truth_path(clips, clip).read_bytes())
        tapes[tape] = _LaidTape(Footage.open(path), truth)
    return tapes


def _listed(claim: PlannedClaim, tapes: Mapping[str, _LaidTape]) -> ListedClaim:
    truth = tapes[claim.tape].truth
    displays = {run.run: run.display for run in truth.runs}
    return ListedClaim(
        claim=claim.claim,
        event=truth.score.event,
        division=claim.division,
        competitor=truth.score.competitor,
        time=claim.time or displays[claim.run or 0],
        record=claim.record,
        footage=f"footage/{claim.tape}.mp4",
    )


def _entries(tape: _LaidTape, how: How) -> Iterator[Entry]:
    """What a reviewer writes down."""
    tagged = list(true_entries(tape.truth, tape.footage.pts))
    if how == "half":
        half = tagged[: len(tagged) // 2]
        yield from half
        frames = [entry.by.frame for entry in half if isinstance(entry, Look)]
        yield Shown(ranges=((0, max(frames, default=0)),))
        return
    yield from (_surely(entry) if how == "sure" else entry for entry in tagged)
    for run in tape.truth.runs:
        yield Played(first=run.begins, last=run.ends, speed="1")
    yield Finished(blind=True)


def _surely(entry: Entry) -> Entry:
    """What the picture cannot tell, taken to be in order."""
    if isinstance(entry, Look) and entry.saw == "unproven":
        return Look(run=entry.run, checkpoint=entry.checkpoint, saw="proven", by=entry.by)
    return entry


def _write(path: Path, head: Header, entries: Iterator[Entry]) -> None:
    now = BEGUN

    def tick() -> datetime:
        nonlocal now
        now += PACE
        return now

    with Journal.create(path, head.model_copy(update={"made": BEGUN}), now=tick) as journal:
        for entry in entries:
            journal.append(entry)
