"""Drawing the panels of words on the bench from the review."""

from typing import TYPE_CHECKING

from tui.bench import rows
from tui.bench.finishing import missing
from tui.bench.notices import say, where
from tui.bench.panels import CupsPanel, LadderPanel, RunsPanel, StatusPanel, TimelinePanel

if TYPE_CHECKING:
    from tui.bench.screen import BenchScreen


def draw_panels(bench: "BenchScreen") -> None:
    """Draw every panel as the review is now."""
    review, clock = bench.review, rows.clock_row(bench.review)
    bench.query_one("#where", StatusPanel).state(*where(bench))
    bench.query_one(LadderPanel).show_rows(rows.ladder_rows(review))
    bench.query_one(RunsPanel).show_rows(rows.run_rows(review), clock)
    bench.query_one(CupsPanel).show_rows(rows.cup_rows(review))
    bench.query_one(TimelinePanel).show_row(rows.timeline(review))
    _draw_ruling(bench, clock)
    say(bench, bench.query_one("#message", StatusPanel))


def _draw_ruling(bench: "BenchScreen", clock: rows.ClockRow | None) -> None:
    review = bench.review
    refuted = clock is not None and clock.state == "fault"
    words = clock.words if clock is not None else ""
    bench.query_one("#ruling", StatusPanel).state(
        f"Ruling now: {missing(review) or review.ruling.summary}",
        "" if refuted else words,
        rows.run_explanation(review),
        fault=f"CLOCK: {words}" if refuted else "",
    )
