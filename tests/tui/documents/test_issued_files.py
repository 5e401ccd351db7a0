"""The chain of issued rulings: numbers, names of files, and every way in which it can be broken."""

import json
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.docket.register import file_stem
from sessions.errors import DocumentError
from tests.tui.documents.papers import STANDS, document, session
from tui.documents.issued_files import issued_rulings, next_number
from tui.documents.issuing import document_set
from tui.documents.pages import Superseded


@pytest.fixture
def chain(tmp_path: Path) -> Path:
    """A folder with two rulings, the second superseding the first."""
    for number in (1, 2):
        before = issued_rulings(tmp_path, "C-17")
        told = [
            Superseded(number=last.number, sha256=last.sha256, reason="A slip.") for last in before
        ]
        made = document(session(*STANDS), number=number, supersedes=told[-1] if told else None)
        document_set(*made, tmp_path, f"C-17.ruling-{number}")
    return tmp_path


def test_a_sound_chain_is_read_in_order(chain: Path) -> None:
    assert [ruling.number for ruling in issued_rulings(chain, "C-17")] == [1, 2]
    assert next_number(chain, "C-17") == 3


def test_other_claims_and_drafts_are_no_part_of_it(chain: Path) -> None:
    for name in (
        "C-1.ruling-9.json",
        "C-17.draft.json",
        "C-17x.ruling-8.json",
        "C-17.ruling-0.json",
    ):
        (chain / name).write_bytes(b"")
    assert next_number(chain, "C-17") == 3
    assert len(issued_rulings(chain, "C-17")) == 2
    assert issued_rulings(chain / "none", "C-17") == ()
    assert next_number(chain / "none", "C-17") == 1


def remove(path: Path) -> None:
    path.unlink()


def overwrite(path: Path) -> None:
    path.chmod(0o644)
    path.write_text("other", encoding="utf-8")


def editing(**changes: object) -> Callable[[Path], None]:
    def edit(path: Path) -> None:
        data = json.loads(path.read_bytes()) | changes
        path.chmod(0o644)
        path.write_text(json.dumps(data), encoding="utf-8")

    return edit


BREAKS: list[tuple[Callable[[Path], None], str, str]] = [
    (remove, "C-17.ruling-1.html", "No such file"),
    (overwrite, "C-17.ruling-2.txt", "its SHA-256 is not"),
    (overwrite, "C-17.ruling-2.json", "is not JSON"),
    (remove, "C-17.ruling-1.json", r"ruling-2.json .*does not follow"),
    (editing(program="x"), "C-17.ruling-1.json", r"ruling-2.json .*does not follow"),
    (editing(number=4), "C-17.ruling-1.json", "says that it is number 4"),
    (editing(format="x"), "C-17.ruling-1.json", "format:"),
    (editing(version=2), "C-17.ruling-1.json", "version:"),
]


@pytest.mark.parametrize(("do", "name", "said"), BREAKS)
def test_a_broken_chain_is_refused_with_the_file_at_fault(
    chain: Path, do: Callable[[Path], None], name: str, said: str
) -> None:
    do(chain / name)
    with pytest.raises(DocumentError, match=said):
        issued_rulings(chain, "C-17")


def test_a_ruling_that_cannot_be_read_and_a_folder_that_is_none_are_named(chain: Path) -> None:
    (chain / "C-17.ruling-3.json").mkdir()
    with pytest.raises(DocumentError, match="Is a directory"):
        issued_rulings(chain, "C-17")
    with pytest.raises(DocumentError, match=r"cannot be read .*--out"):
        next_number(chain / "C-17.ruling-1.txt", "C-17")


def test_an_issued_ruling_keeps_its_name_for_good(chain: Path) -> None:
    before = (chain / "C-17.ruling-1.json").read_bytes()
    with pytest.raises(DocumentError, match="was issued in the meantime"):
        document_set(*document(session(*STANDS)), chain, "C-17.ruling-1")
    assert (chain / "C-17.ruling-1.json").read_bytes() == before


@given(st.text(min_size=1, max_size=80))
def test_any_claim_id_makes_a_safe_file_name(claim: str) -> None:
    stem = file_stem(claim)
    assert stem.isascii()
    assert stem.replace("-", "").replace("_", "").isalnum() or set(stem) <= {"-", "_"}
    assert len(stem) <= 90


@given(st.text(min_size=1, max_size=8), st.text(min_size=1, max_size=8))
def test_different_claims_have_different_file_names(one: str, other: str) -> None:
    assert (file_stem(one) == file_stem(other)) == (one == other)


def test_an_id_that_needs_no_change_is_kept() -> None:
    assert file_stem("C-17_b") == "C-17_b"
    digest = sha256(b"../a").hexdigest()[:8]
    assert file_stem("../a") == f"___a-{digest}"


@pytest.mark.parametrize("gone", ["C-17.ruling-2.json", "C-17.ruling-*.json"])
def test_a_ruling_whose_data_is_gone_is_missed_where_its_page_is_there(
    chain: Path, gone: str
) -> None:
    for path in chain.glob(gone):
        path.unlink()
    with pytest.raises(DocumentError, match=r"C-17\.ruling-2\.json is not as it was issued \(it"):
        issued_rulings(chain, "C-17")
