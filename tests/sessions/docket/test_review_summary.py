"""One session file, judged into a review."""

import pytest

from sessions.docket.docket import DocketFolder
from sessions.docket.review_summary import read_review
from sessions.record.entries import CupsSeen, Entry, Finished, Look, Note, Reopened, StartedOver
from sessions.ruling.ruling import Standing
from tests.sessions.docket.docket_samples import (
    FINISHED,
    STANDING_TIME,
    session_header,
    standing_review,
    write_session,
)
from tests.sessions.samples import cups_and_frames, faultless_run, spot, standing_session


def test_a_session_is_judged_into_a_review(folder: DocketFolder) -> None:
    path = standing_review(folder, "C-1", "one")
    found = read_review(path, "C-1", "one")
    assert (found.problem, found.event, found.finished, found.made) == ("", "3-3-3", True, True)
    assert found.best_time == STANDING_TIME
    assert [(r.number, r.standing, r.time) for r in found.runs] == [
        (1, Standing.STANDS, STANDING_TIME)
    ]
    assert len(found.sha256) == 64
    assert found.footage_sha256 == "a1" * 32
    assert found.last_at == "2031-05-04T09:30:00.250000Z"


def test_a_review_that_was_changed_since_it_was_finished_is_being_amended(
    folder: DocketFolder,
) -> None:
    head = session_header("C-1", "one")
    changed: list[Entry] = [Reopened(reason="A slip."), Note(text="Seen again.", at=spot(100))]
    done: list[Entry] = [*standing_session(head)[1:], FINISHED]
    told = []
    for entries in (done, [*done, *changed], [*done, *changed, Finished(blind=False)]):
        path = folder.session("C-1", "one")
        path.unlink(missing_ok=True)
        write_session(path, head, entries)
        found = read_review(path, "C-1", "one")
        assert found.finished
        told.append(found.amending)
    assert told == [False, True, False]


def test_a_review_tells_rules_broken_and_attempts_spent(folder: DocketFolder) -> None:
    head = session_header(None, "one")
    entries = [
        *cups_and_frames(head),
        *faultless_run(head.event),
        *faultless_run(head.event, run=2, first=300),
        StartedOver(run=1, at=spot(100)),
    ]
    broken = Look(run=3, checkpoint="start.still", saw="refuted", by=spot(600))
    entries += [
        e
        for e in faultless_run(head.event, run=3, first=600)
        if _checkpoint(e) != broken.checkpoint
    ]
    entries.append(broken)
    path = folder.session("C-1", "one")
    write_session(path, head, entries)
    found = read_review(path, "C-1", "one")
    assert [(r.number, r.standing, r.broken) for r in found.runs] == [
        (1, Standing.STANDS, ()),
        (2, Standing.SCRATCH, ("count.starting-over",)),
        (3, Standing.STANDS, ()),
        (4, Standing.SCRATCH, ("count.allowance", "start.still")),
    ]


def _checkpoint(entry: object) -> str | None:
    return entry.checkpoint if isinstance(entry, Look) else None


def test_a_cup_whose_mark_the_footage_cannot_show_is_a_doubt(folder: DocketFolder) -> None:
    head = session_header("C-1", "one")
    entries = standing_session(head)[1:]
    entries += [
        CupsSeen(cups=tuple(range(2, 10)), saw="proven", at=spot(0)),
        CupsSeen(cups=(1,), saw="unproven", at=spot(0)),
    ]
    path = folder.session("C-1", "one")
    write_session(path, head, entries)
    found = read_review(path, "C-1", "one")
    assert [(r.standing, r.doubtful) for r in found.runs] == [(Standing.STANDS, ("cup.mark",))]


def test_a_session_without_an_entry_was_last_touched_when_it_was_made(
    folder: DocketFolder,
) -> None:
    path = folder.session("C-1", "one")
    write_session(path, session_header("C-1", "one"), [])
    assert read_review(path, "C-1", "one").last_at == "2031-05-04T09:30:00.250000Z"


@pytest.mark.parametrize(
    ("head_claim", "head_reviewer", "said"),
    [
        ("C-2", "one", "judges claim C-2, not C-1 as its name says"),
        ("C-1", "two", "is by two, not by one as its name says"),
    ],
)
def test_a_session_under_a_wrong_name_does_not_count(
    folder: DocketFolder, head_claim: str, head_reviewer: str, said: str
) -> None:
    path = folder.session("C-1", "one")
    write_session(path, session_header(head_claim, head_reviewer), [FINISHED])
    assert read_review(path, "C-1", "one").problem == said


def test_a_session_that_goes_before_it_is_read_is_said_to_be_unread(
    folder: DocketFolder,
) -> None:
    found = read_review(folder.session("C-1", "one"), "C-1", "one")
    assert (found.problem, found.unread) == ("cannot be read (No such file or directory)", True)
