"""``framecall issue``: files beside the session unless told otherwise, and clear refusals."""

from pathlib import Path

import pytest

from sessions.errors import DocumentError
from tests.tui.documents.conftest import Case, built, case
from tui.cli.issue import IssueOrder, issue_documents
from tui.cli.output import RULED

__all__ = ["built", "case"]

LEAGUE = 'format = "framecall-league"\nversion = 1\nname = "A league"\nappeal = "Write."\n'


def test_documents_lie_beside_the_session_and_are_named_on_standard_output(
    case: Case, capsys: pytest.CaptureFixture[str]
) -> None:
    assert issue_documents(IssueOrder(case.session)) == RULED
    *names, summary = capsys.readouterr().out.splitlines()
    assert [Path(name).suffix for name in names] == [".html", ".txt", ".json"]
    assert all(Path(name).parent == case.session.parent for name in names)
    assert summary == (
        "The claimed time of 1.716 s does not stand: run 2, attempt 1 is a scratch. "
        "The best on this footage that stands is 1.885 s: run 3, attempt 2."
    )


def test_every_option_reaches_the_document(case: Case, tmp_path: Path) -> None:
    league = tmp_path / "league.toml"
    league.write_text(LEAGUE, encoding="utf-8")
    moved = case.footage.rename(tmp_path / "moved.mp4")
    issue_documents(IssueOrder(case.session, footage=moved, out=case.out))
    issue_documents(
        IssueOrder(
            case.session, footage=moved, out=case.out, league=league, reason="A slip.",
            clips=True, anonymous=True,
        )
    )  # fmt: skip
    issue_documents(IssueOrder(case.session, footage=moved, out=case.out, draft=True))
    names = {path.name for path in case.out.iterdir()}
    assert {
        "invented-demo-wrist-start.draft.html",
        "invented-demo-wrist-start.ruling-2.html",
    } <= names
    assert any(name.endswith(".mp4") for name in names)
    page = (case.out / "invented-demo-wrist-start.ruling-2.html").read_text(encoding="utf-8")
    assert "A league" in page
    assert "A slip." in page
    assert "left out of this copy" in page


def test_a_person_at_a_terminal_is_told_how_far_it_has_come(
    case: Case, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    issue_documents(IssueOrder(case.session, clips=True))
    said = capsys.readouterr().err
    assert "stills: 0 %" in said
    assert "clips: 0 %" in said


def test_footage_that_is_not_beside_its_session_is_asked_for(case: Case) -> None:
    case.footage.unlink()
    with pytest.raises(DocumentError, match=r"is not beside its session; .*--footage"):
        issue_documents(IssueOrder(case.session))
