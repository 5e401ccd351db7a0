"""Settings for all tests."""

import gc
import os
import sys
from pathlib import Path

from tests.proofs import register_profiles

register_profiles()

COMPILED = Path(__file__).parents[1] / ".pytest_cache" / "compiled"

if sys.dont_write_bytecode:
    # Dozens of processes import the same modules. Where the environment forbids to keep compiled
    # modules beside their source, each would compile all of them anew, which takes longer than
    # most tests: they are kept in a folder of the tests, for the processes that these start too.
    sys.dont_write_bytecode, sys.pycache_prefix = False, str(COMPILED)
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    os.environ["PYTHONPYCACHEPREFIX"] = sys.pycache_prefix

# Thousands of tests and all that they import are no garbage, and looking through them again and
# again takes a quarter of the time: what is there once the tests are collected is not looked at.
gc.set_threshold(20_000, 10, 10)


def pytest_collection_finish() -> None:
    """Leave what was loaded for the tests out of every search for garbage."""
    gc.collect()
    gc.freeze()
