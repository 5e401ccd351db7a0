"""Drawing the panels of words on the bench from the desk."""

from typing import TYPE_CHECKING

from tui.review import rows
from tui.review.finishing import missing
from tui.screens.notices import say, where
from tui.widgets.panels import CupsPanel, LadderPanel, RunsPanel, StatusPanel, TimelinePanel

if TYPE_CHECKING:
    from tui.screens.bench import BenchScreen


def draw_panels(bench: "BenchScreen") -> None:
    """Draw every panel as the desk is now."""
    desk, clock = bench.desk, rows.clock_row(bench.desk)
    bench.query_one("#where", StatusPanel).state(*where(bench))
    bench.query_one(LadderPanel).show_rows(rows.ladder_rows(desk))
    bench.query_one(RunsPanel).show_rows(rows.run_rows(desk), clock)
    bench.query_one(CupsPanel).show_rows(rows.cup_rows(desk))
    bench.query_one(TimelinePanel).show_row(rows.timeline(desk))
    _draw_ruling(bench, clock)
    say(bench, bench.query_one("#message", StatusPanel))


def _draw_ruling(bench: "BenchScreen", clock: rows.ClockRow | None) -> None:
    desk = bench.desk
    refuted = clock is not None and clock.state == "fault"
    words = clock.words if clock is not None else ""
    bench.query_one("#ruling", StatusPanel).state(
        f"Ruling now: {missing(desk) or desk.ruling.summary}",
        "" if refuted else words,
        rows.run_explanation(desk),
        fault=f"CLOCK: {words}" if refuted else "",
    )
