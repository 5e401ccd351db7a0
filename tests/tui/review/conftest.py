"""A desk with a run to tag."""

import pytest

from tests.tui.reviewing import do
from tui.review.desk import Desk


@pytest.fixture
def opened(desk: Desk) -> Desk:
    """A desk with run 1 opened at frame 5."""
    do(desk, "run.begin", at=5)
    return desk
