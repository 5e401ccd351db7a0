"""What a tag costs in a long session, beside one in an empty one: each touches one run alone.

``python -m tests.bench.tag`` prints, as medians over ``TAGS`` tags in one process, the milliseconds
from the command to the ruling and the ladder as the panels ask for them: in a session with one run
and nothing else, and in one of 12 runs and 2,000 lines; for first tags, and for the same tags given
again. The ratio is what counts: at most 2.
"""

import statistics
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from sessions.record.entries import Entry, Note, RunBegun, Shown
from sessions.record.journal import Draft, Journal
from tests.sessions.samples import faultless_run, header, spot
from tui.bench.review import Review
from tui.bench.tagging import tag_due

RUNS, LINES, TAGS = 12, 2000, 24
APART = 1000
"""Frames from one run to the next."""


def entries(runs: int, lines: int) -> Iterator[Entry]:
    """Whole runs, an open one at the end, and frames shown and notes until there are so many."""
    said: list[Entry] = []
    for run in range(1, runs):
        said += faultless_run(header("cycle").event, run, (run - 1) * APART)
    while len(said) < lines - 1:
        number = len(said)
        seen = Shown(ranges=((number * 5, number * 5 + 2),))
        said.append(seen if number % 2 else Note(text="a remark", at=spot(number)))
    yield from said
    yield RunBegun(run=runs, begins=spot((runs - 1) * APART))


def opened(folder: Path, runs: int, lines: int) -> Review:
    """A review with a session of so many runs and lines, on its last run."""
    head = header("cycle", frames=RUNS * APART)
    drafts = [Draft(entry) for entry in entries(runs, lines)]
    path = folder / f"{runs}-{lines}.jsonl"
    Journal.create(path, head, first=drafts).close()
    return Review(Journal.reopen(path), lambda frame: spot(frame).pts, lambda _: 0)


def tag(review: Review, number: int) -> None:
    """One more tag, as a key gives it, and what the bench then asks for."""
    run = review.needed_run()
    assert run.begins is not None
    review.go(run.begins.frame + 100 + number)
    review.seen.show(review.frame)
    review.chosen = review.checked(run).ladder.checkpoints[number].id
    tag_due(review, "proven")
    assert review.ruling.runs
    assert review.checkpoint is None or review.checkpoint.title


def median_ms(reviews: Sequence[Review], rounds: int) -> list[float]:
    """The median of a tag in each review, in milliseconds; they take turns, tag by tag."""
    taken: list[list[float]] = [[] for _ in reviews]
    for number in (n for _ in range(rounds) for n in range(TAGS)):
        for times, review in zip(taken, reviews, strict=True):
            begun = time.perf_counter()
            tag(review, number)
            times.append((time.perf_counter() - begun) * 1000)
    return [statistics.median(times) for times in taken]


def main() -> None:
    """Print the medians and their ratio, for first tags and for the same again."""
    with tempfile.TemporaryDirectory() as name:
        reviews = [opened(Path(name), 1, 1), opened(Path(name), RUNS, LINES)]
        assert len(reviews[1].lines) == LINES
        for what, rounds in (("first", 1), ("again", 3)):
            few, many = median_ms(reviews, rounds)
            print(
                f"{what}: {few:.2f} ms in an empty session, {many:.2f} ms in one of {RUNS} runs "
                f"and {LINES} lines: {many / few:.2f} times as long"
            )
        for review in reviews:
            review.journal.close()


if __name__ == "__main__":
    main()
