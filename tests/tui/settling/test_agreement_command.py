"""``framecall agreement``: figures, words where a figure is not defined, and caution."""

import json
from pathlib import Path

import pytest

from sessions.record.entries import Look
from sessions.record.journal import Journal
from sessions.settling.agreement import agreement
from tests.tui.cli.conftest import Call
from tests.tui.settling.settlers import (
    CLAIM,
    docket_of,
    listed,
    one_fault,
    read,
    right_entries,
    write,
)
from tui.cli.agreement import FEW, first_looks, name_of, text


def rows_of(out: str) -> dict[str, list[str]]:
    """The cells of the first table by the name of the checkpoint."""
    lines = out.split("\n\n")[1].splitlines()
    return {line[:15].strip(): line[15:].split() for line in lines[1:]}


def test_no_docket_and_no_reviews_are_said(framecall: Call, tmp_path: Path) -> None:
    assert "cannot be read" in framecall("agreement", tmp_path).sentence()
    folder = docket_of(tmp_path, right_entries())
    told = framecall("agreement", folder.path)
    assert told.out == "No claim has two finished reviews yet: there is nothing to compare.\n"
    assert told.code == 0


def test_figures_are_those_of_the_reviews(framecall: Call, tmp_path: Path) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault())
    out = framecall("agreement", folder.path).out
    assert out.startswith("Agreement on 1 claim by R1, R2, as each review was finished\n")
    rows = rows_of(out)
    units = int(rows["all checkpoints"][0].rstrip("*"))
    assert float(rows["all checkpoints"][1]) == pytest.approx(1 - 1 / units, abs=0.001)
    assert rows["Let go"][0].endswith("*")
    assert rows["Two hands"][1] == "1.000"
    assert rows["Two hands"][-1] == "-"
    assert max(map(len, out.splitlines())) <= 80


def test_undefined_figures_say_why_and_few_units_ask_for_caution(
    framecall: Call, tmp_path: Path
) -> None:
    folder = docket_of(tmp_path, right_entries(), right_entries())
    out = " ".join(framecall("agreement", folder.path).out.split())
    assert "same outcome, which leaves kappa undefined: all checkpoints, " in out
    assert "Rows of fewer than 59 units (*) say little" in out
    assert "read it with the shares of the outcomes" in out


# 59 trials without an error show 95 % with a confidence of 95 %: standard formula, 1 - 0.95 ** n
def test_few_is_what_the_formula_says() -> None:
    assert 0.95**FEW < 0.05 < 0.95 ** (FEW - 1)


def test_enough_units_ask_for_no_caution(tmp_path: Path) -> None:
    claims = [listed(claim=f"C-{n}") for n in range(1, 7)]
    folder = docket_of(tmp_path, claims=claims)
    for claim in claims:
        for reviewer in ("R1", "R2"):
            write(folder, reviewer, right_entries(), claim=claim.claim)
    compared = first_looks(read(folder))
    rows = [row for row in agreement(compared) if row.pairs >= FEW]
    assert "say little" not in text(rows, compared)
    assert "Agreement on 6 claims" in text(rows, compared)


def test_json_holds_all_figures(framecall: Call, tmp_path: Path) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault())
    told = json.loads(framecall("agreement", folder.path, "--json").out)
    assert (told["format"], told["version"]) == ("framecall-agreement", 1)
    overall = told["rows"][0]
    assert overall["kind"] == "overall"
    # where one reviewer gives one outcome only, chance alone explains what they agree on
    assert overall["kappa"]["value"] == pytest.approx(0)
    assert overall["observed"]["low"] < overall["observed"]["value"] < overall["observed"]["high"]
    assert overall["distance"]["count"] > 0


def test_what_was_amended_after_finishing_does_not_count(tmp_path: Path) -> None:
    folder = docket_of(tmp_path, right_entries(), one_fault())
    before = agreement(first_looks(read(folder)))
    with Journal.reopen(folder.session(CLAIM, "R2")) as journal:
        looks = [
            (line.seq, line.entry)
            for line in journal.recording.lines
            if isinstance(line.entry, Look) and line.entry.saw == "refuted"
        ]
        ((seq, look),) = looks
        journal.append(look.model_copy(update={"saw": "proven"}), replaces=seq)
    assert agreement(first_looks(read(folder))) == before


@pytest.mark.parametrize(
    ("kind", "name"),
    [("overall", "all checkpoints"), ("let_go", "Let go"), ("cup.mark", "Maker's marks")],
)
def test_kinds_are_told_in_words(kind: str, name: str) -> None:
    assert name_of(kind) == name
