"""Events as files: those that come with the program, and every way in which a file can be wrong."""

from fractions import Fraction
from pathlib import Path

import pytest

from sessions.errors import EventError
from sessions.rules.events import Formation, Hand, Rounding, event_names, load_event

GOOD = """\
format = "framecall-event"
version = 1
name = "own"
title = "Own"
cups = 12
formations = ["3-6-3", "6-6", "1-10-1"]
closing = "3-6-3"
[allowance]
warm_ups = 2
attempts = 3
[clock]
starts = "first hand"
resolution = "0.01"
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "own.toml"
    path.write_text(text, encoding="utf-8")
    return path


def refusal(path: Path) -> str:
    with pytest.raises(EventError) as caught:
        load_event(str(path))
    return str(caught.value)


# The table of events: common practice, no source. Allowances from memory.
@pytest.mark.parametrize(
    ("name", "cups", "formations"),
    [
        ("3-3-3", 9, ("3-3-3",)),
        ("3-6-3", 12, ("3-6-3",)),
        ("cycle", 12, ("3-6-3", "6-6", "1-10-1")),
    ],
)
def test_the_events_of_the_trade(name: str, cups: int, formations: tuple[str, ...]) -> None:
    event = load_event(name)
    assert (event.name, event.cups, event.formations) == (name, cups, formations)
    assert (event.allowance.warm_ups, event.allowance.attempts) == (2, 3)
    assert (event.clock.starts, event.clock.stops) == (Hand.FIRST, Hand.LAST)
    assert event.clock.step == Fraction(1, 1000)
    assert event.clock.rounding is Rounding.UNSTATED
    assert event.order.take_down == "as built"


def test_the_cycle_ends_in_closed_columns_of_a_3_6_3() -> None:
    assert load_event("cycle").closing == "3-6-3"


def test_every_event_that_is_listed_loads() -> None:
    assert event_names() == ["3-3-3", "3-6-3", "cycle"]
    assert [load_event(name).name for name in event_names()] == event_names()


def test_an_event_of_ones_own_is_a_file(tmp_path: Path) -> None:
    event = load_event(str(written(tmp_path, GOOD)))
    assert event.title == "Own"
    assert event.clock.step == Fraction(1, 100)
    assert [row.name for row in event.rows] == ["3-6-3", "6-6", "1-10-1"]


RULE = """[[rules]]
id = "table.stand"
title = "Stands at the table"
refuted = "the competitor sat down"
right = "stand at the table"
source = "from memory"
"""


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("framecall-event", "other", "format: "),
        ("version = 1", "version = 2", "version: "),
        ("cups = 12", "cups = 13", "3-6-3 uses 12 cups, but the event has 13"),
        ('"6-6"', '"6-3"', "6-3 uses 9 cups, but the event has 12"),
        ('"6-6"', '"5-7"', '"5-7" has a stack of 5 cups, which is no pyramid'),
        ('"6-6"', '"six"', '"six" is not a formation such as 3-6-3'),
        ('"6-6"', '""', '"" is not a formation such as 3-6-3'),
        ('"6-6"', '"1-1-1"', '"1-1-1" has no stack to build up'),
        ('"6-6"', '"1-1-1-1-1-1-1-1-1-3"', "formations.stacks: "),
        ('closing = "3-6-3"', 'closing = "flat"', 'closing: "flat" is not a formation'),
        ('closing = "3-6-3"', 'closing = "3-3-3"', "3-3-3 uses 9 cups"),
        ("attempts = 3", "attempts = 0", "allowance.attempts: "),
        ("warm_ups = 2", "warm_ups = -1", "allowance.warm_ups: "),
        ("warm_ups = 2", "warmups = 2", "allowance.warm_ups: is missing"),
        ('"first hand"', '"left hand"', "clock.starts: "),
        ('"0.01"', '"fast"', 'clock.resolution: "fast" is not a number of seconds'),
        ('"0.01"', '"1/0"', 'clock.resolution: "1/0" is not a number of seconds'),
        ('"0.01"', '"1e-999999999"', "is not a number of seconds"),
        ('"0.01"', '"-0.01"', "clock.resolution: the resolution must be above 0 seconds"),
        ('"0.01"', '"0"', "clock.resolution: the resolution must be above 0 seconds"),
        ("[clock]", "[clock]\nspeed = 3", "clock.speed: is not an entry"),
        ("[clock]", '[coverage]\nlongest_unseen = "-1"\n[clock]', "cannot be below 0 seconds"),
        ("[clock]", '[coverage]\nlongest_unseen = "x"\n[clock]', '"x" is not a number of seconds'),
        ("[clock]", '[order]\nshortest_unit = "-1"\n[clock]', "must not be below 0 seconds"),
        ("[clock]", f"{RULE}{RULE}[clock]", 'there is a rule "table.stand" already'),
        ("[clock]", f'{RULE}kind = "grip"\n[clock]', "has a kind of checkpoint, which asks for it"),
        ('name = "own"', 'name = "my own"', "name: "),
    ],
)
def test_a_wrong_entry_is_named_with_its_file_and_place(
    tmp_path: Path, old: str, new: str, says: str
) -> None:
    assert old in GOOD
    path = written(tmp_path, GOOD.replace(old, new))
    sentence = refusal(path)
    assert sentence.startswith(f"The event file {path} does not hold: ")
    assert says in sentence
    assert sentence.endswith("; mend that entry.")
    assert "\n" not in sentence


def test_a_file_that_is_not_toml_is_named_with_its_line(tmp_path: Path) -> None:
    sentence = refusal(written(tmp_path, GOOD.replace("cups = 12", "cups 12")))
    assert "own.toml is not TOML" in sentence
    assert "line 5" in sentence


def test_a_file_that_is_not_text_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_bytes(b"\xff\xfe\x00")
    assert refusal(path) == f"The event file {path} is not UTF-8 text; save it as UTF-8."


def test_a_number_too_long_to_read_is_refused(tmp_path: Path) -> None:
    sentence = refusal(written(tmp_path, GOOD.replace("cups = 12", f"cups = {'9' * 5_000}")))
    assert "is not TOML" in sentence


def test_a_byte_order_mark_is_no_part_of_an_event_file(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert load_event(str(path)).title == "Own"


def test_a_file_of_brackets_without_end_is_refused(tmp_path: Path) -> None:
    assert "is not TOML" in refusal(written(tmp_path, f"a = {'[' * 100_000}"))


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    path = tmp_path / "none.toml"
    sentence = refusal(path)
    assert str(path) in sentence
    assert sentence.endswith("check its path.")


def test_a_folder_is_no_event_file(tmp_path: Path) -> None:
    folder = tmp_path / "folder.toml"
    folder.mkdir()
    assert "cannot be read (Is a directory)" in refusal(folder)


def test_an_unknown_event_is_answered_with_those_that_there_are() -> None:
    with pytest.raises(EventError, match='no event "6-6-6"; take one of 3-3-3, 3-6-3, cycle'):
        load_event("6-6-6")


def test_a_formation_knows_its_pyramids_and_its_singles() -> None:
    row = Formation.parse("1-10-1")
    assert row.name == "1-10-1"
    assert row.cups == 12
    assert row.pyramids == (2,)
    assert row.has_singles
    assert not Formation.parse("6-6").has_singles


@pytest.mark.parametrize("name", ["cycle", "Cycle", "CYCLE"])
def test_an_event_is_known_by_its_name_in_any_case(name: str) -> None:
    assert load_event(name).name == "cycle"
