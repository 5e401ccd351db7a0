"""A review with a run to tag, and the bench, for the tests of dialogs."""

from tests.tui.bench.conftest import app, opened

__all__ = ["app", "opened"]
