"""Settings for all tests."""

import gc

from tests.proofs import register_profiles

register_profiles()


def pytest_collection_finish() -> None:
    """Spare the garbage collector the thousands of tests: that is a sixth of the time."""
    gc.collect()
    gc.freeze()
