"""Issuing from a session and its footage: what is written, what is refused, and what is kept."""

import json
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import pytest

from sessions.errors import DocumentError, FootageError, SessionError
from sessions.record.entries import (
    Entry,
    Finished,
    Look,
    Played,
    Retracted,
    RunEnded,
    SettledReview,
    Settling,
)
from sessions.record.header import Claim
from sessions.ruling.brackets import Outcome
from tests.tui.documents.conftest import Case
from tui.documents.issuing import Documents, IssueWish, issue
from tui.documents.league import League
from tui.documents.pages import RulingDocument
from tui.documents.render import text

PLAIN = IssueWish()
NOW = datetime(2031, 6, 1, 10, 0, 0, tzinfo=UTC)


def issued(case: Case, wish: IssueWish = PLAIN, footage: Path | None = None) -> Documents:
    return issue(case.session, footage or case.footage, case.out, wish, lambda: NOW)


def files(case: Case) -> list[str]:
    return sorted(path.name for path in case.out.iterdir())


def without_last_end(entry: Entry) -> Entry | None:
    return None if isinstance(entry, RunEnded) and entry.run == 3 else entry


def test_a_ruling_is_written_as_page_text_and_data(case: Case) -> None:
    made = issued(case)
    assert [path.name for path in made.paths] == [
        "invented-demo-wrist-start.ruling-1.html",
        "invented-demo-wrist-start.ruling-1.txt",
        "invented-demo-wrist-start.ruling-1.json",
    ]
    page, text, data = (path.read_text(encoding="utf-8") for path in made.paths)
    assert "The claimed time of 1.716 seconds does not stand." in page
    assert "THE CLAIMED TIME OF 1.716 SECONDS DOES NOT STAND." in text
    assert RulingDocument.model_validate_json(data) == made.document
    assert page.count("data:image/jpeg") == 4 * len(made.document.exhibits) >= 12


def test_the_data_holds_the_hashes_of_session_footage_and_printed_files(case: Case) -> None:
    made = issued(case)
    assert made.document.session.sha256 == sha256(case.session.read_bytes()).hexdigest()
    assert made.document.ruling.footage.sha256 == sha256(case.footage.read_bytes()).hexdigest()
    assert made.document.printed == {
        path.name: sha256(path.read_bytes()).hexdigest() for path in made.paths[:2]
    }


def test_the_same_session_gives_the_same_bytes(case: Case, tmp_path: Path) -> None:
    first = [path.read_bytes() for path in issued(case).paths]
    again = issue(case.session, case.footage, tmp_path / "again", now=lambda: NOW)
    assert [path.read_bytes() for path in again.paths] == first


def test_the_fault_is_shown_by_the_frames_that_the_session_names(case: Case) -> None:
    made = issued(case)
    fault, begins = (e for e in made.document.exhibits if e.checkpoint == "start.flat")
    (run,) = [run for run in made.document.ruling.runs if run.run == fault.run]
    (finding,) = run.with_outcome(Outcome.REFUTED)
    assert finding.due is not None
    assert finding.due.by is not None
    assert finding.due.by == fault.shots[1].place
    assert finding.met is not None
    assert (finding.met.after, finding.met.by) == tuple(shot.place for shot in begins.shots)


def test_an_open_ruling_is_refused_but_as_a_draft(case: Case) -> None:
    case.rewrite(lambda e: None if isinstance(e, Look) and e.checkpoint == "stop.free" else e)
    with pytest.raises(DocumentError, match=r"still open .*--draft"):
        issued(case)
    assert not case.out.exists()
    made = issued(case, IssueWish(draft=True))
    assert files(case) == [
        f"invented-demo-wrist-start.draft.{kind}" for kind in ("html", "json", "txt")
    ]
    assert made.document.draft
    assert "DRAFT" in made.paths[0].read_text(encoding="utf-8")


def test_a_draft_takes_no_number_and_the_place_of_the_draft_before(case: Case) -> None:
    issued(case, IssueWish(draft=True))
    issued(case, IssueWish(draft=True))
    assert issued(case).document.number == 1
    assert issued(case, IssueWish(draft=True, reason="none needed")).document.number is None


def test_a_later_ruling_supersedes_the_one_before_and_says_why(case: Case) -> None:
    first = issued(case)
    second = issued(case, IssueWish(reason="A slip."))
    third = issued(case, IssueWish(reason="Another."))
    for before, after in ((first, second), (second, third)):
        said = after.document.supersedes
        assert said is not None
        assert said.number == before.document.number
        assert said.sha256 == sha256(before.paths[-1].read_bytes()).hexdigest()
    assert third.document.number == 3
    assert len(files(case)) == 9


@pytest.mark.parametrize("reason", [None, "", "  "])
def test_superseding_without_a_reason_is_refused(case: Case, reason: str | None) -> None:
    issued(case)
    before = files(case)
    with pytest.raises(DocumentError, match=r"Ruling 1 is issued already .* --reason"):
        issued(case, IssueWish(reason=reason))
    assert files(case) == before


def test_a_reason_with_nothing_to_supersede_is_refused(case: Case) -> None:
    with pytest.raises(DocumentError, match="no earlier ruling"):
        issued(case, IssueWish(reason="A slip."))


def test_an_overlong_reason_is_refused(case: Case) -> None:
    issued(case)
    with pytest.raises(DocumentError, match=r"reason .*2000"):
        issued(case, IssueWish(reason="x" * 2001))


def test_an_issued_ruling_that_was_changed_is_not_built_upon(case: Case) -> None:
    page = issued(case).paths[0]
    page.chmod(0o644)
    page.write_text(page.read_text(encoding="utf-8") + " ", encoding="utf-8")
    with pytest.raises(DocumentError, match=r"is not as it was issued .*SHA-256"):
        issued(case, IssueWish(reason="A slip."))


def test_a_ruling_on_another_claim_is_not_superseded(case: Case) -> None:
    case.rewrite(claim=Claim(id=None, time="1.716"))
    issued(case)
    stem = case.session.name.removesuffix(".session.jsonl")
    (named,) = [name for name in files(case) if name.endswith(".html")]
    case.rewrite(claim=Claim(id=named.removesuffix(".ruling-1.html"), time="1.716"))
    assert stem.split(".")[0] in named
    with pytest.raises(DocumentError, match="is on another claim"):
        issued(case, IssueWish(reason="A slip."))


def test_nothing_is_issued_where_the_data_of_an_earlier_ruling_is_gone(case: Case) -> None:
    case.out.mkdir()
    (case.out / "invented-demo-wrist-start.ruling-4.html").write_bytes(b"")
    with pytest.raises(DocumentError, match=r"ruling-4\.json is not as it was issued \(it is miss"):
        issued(case)


def test_other_footage_is_refused(case: Case) -> None:
    data = bytearray(case.footage.read_bytes())
    other = case.footage.with_name("other.mp4")
    other.write_bytes(bytes(data) + b"\0" * 16)
    with pytest.raises(DocumentError, match="is not the footage that was judged"):
        issued(case, footage=other)
    assert not case.out.exists()


def test_footage_with_other_time_stamps_is_refused(case: Case) -> None:
    def moved(entry: Entry) -> Entry:
        if isinstance(entry, Look) and entry.checkpoint == "start.grip":
            spot = entry.by.model_copy(update={"pts": entry.by.pts + 1})
            return entry.model_copy(update={"by": spot})
        return entry

    case.rewrite(moved)
    with pytest.raises(DocumentError, match="another time stamp"):
        issued(case, IssueWish(draft=True))


def test_footage_that_is_no_video_is_refused(case: Case) -> None:
    with pytest.raises(FootageError):
        issued(case, footage=case.session)


def test_a_session_that_cannot_be_used_is_refused(case: Case, tmp_path: Path) -> None:
    with pytest.raises(SessionError, match="cannot be read"):
        issue(tmp_path / "none", case.footage, case.out)
    with pytest.raises(SessionError, match="is not a file"):
        issue(tmp_path, case.footage, case.out)
    with case.session.open("ab") as file:
        file.write(b'{"torn')
    with pytest.raises(SessionError, match="torn"):
        issued(case)


def test_a_session_without_a_claim_names_the_documents(case: Case) -> None:
    case.rewrite(claim=Claim())
    name = files_after(case)[0]
    assert name.startswith("wrist-start_")
    assert name.endswith(".ruling-1.html")


def files_after(case: Case, wish: IssueWish = PLAIN) -> list[str]:
    issued(case, wish)
    return files(case)


def test_a_session_says_how_it_was_reviewed(case: Case) -> None:
    reviews = tuple(SettledReview(reviewer=r, sha256=r[-1] * 64) for r in ("R2", "R1"))
    case.add(
        Played(first=10, last=40, speed="1", drawn=9),
        Played(first=41, last=60, speed="1/4"),
        Settling(reviews=reviews),
        Finished(blind=True),
        Retracted(seq=1),
        Retracted(seq=len(case.session.read_bytes().splitlines()) + 4),
    )
    made = issued(case, IssueWish(draft=True)).document
    facts = made.session
    assert facts.real_speed == ((10, 40),)
    assert "Frames played at real speed: 10 to 40 (pictures drawn in all: 9)" in " ".join(
        text(made).split()
    )
    assert facts.blind is True
    assert facts.finished is not None
    assert [review.reviewer for review in facts.settles] == ["R1", "R2"]
    assert facts.calls[0][0] == "still"
    assert facts.withdrawn == 1


def test_a_session_without_entries_makes_a_draft(case: Case) -> None:
    case.rewrite(lambda entry: None)
    facts = issued(case, IssueWish(draft=True)).document.session
    assert (facts.entries, facts.first_entry, facts.last_entry) == (0, None, None)


def test_clips_are_written_with_the_document_and_kept_in_its_data(case: Case) -> None:
    made = issued(case, IssueWish(clips=True))
    assert [Path(c.file).suffix for c in made.document.clips] == [".mp4", ".webp"] * 2
    for clip in made.document.clips:
        assert clip.sha256 == sha256((case.out / clip.file).read_bytes()).hexdigest()
        assert clip.exhibit.startswith("run-2.start.flat.")
        assert clip.first < clip.last
    assert made.paths[-1].suffix == ".json"


def test_how_far_it_has_come_is_told_by_stills_and_clips(case: Case) -> None:
    told: list[tuple[str, int, int]] = []
    wish = IssueWish(clips=True)
    issue(case.session, case.footage, case.out, wish, progress=lambda *said: told.append(said))
    for what in ("stills", "clips"):
        counts = [(done, total) for name, done, total in told if name == what]
        total = counts[0][1]
        assert total > 0
        assert counts == [(done, total) for done in range(total + 1)]
    assert told[-1][0] == "clips"


def test_the_leagues_words_are_in_the_document(case: Case) -> None:
    league = League(format="framecall-league", version=1, name="A <League>", appeal="Write.")
    made = issued(case, IssueWish(league=league))
    assert "A &lt;League&gt;" in made.paths[0].read_text(encoding="utf-8")


def test_the_data_is_plain_ascii(case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    case.rewrite(reviewer="R\u202e1")
    made = issued(case)
    assert made.paths[-1].read_bytes().isascii()
    assert json.loads(made.paths[-1].read_bytes())["ruling"]["reviewer"] == "R\u202e1"
