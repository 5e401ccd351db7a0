"""Loading what a screen needs, as fast as it goes."""

import gc
import os
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def loading() -> Iterator[None]:
    """Import modules inside this: nothing is looked through for garbage while they are loaded.

    There is none in code, and looking takes a tenth of the time of loading it. What is loaded is
    left out of later searches as well.
    """
    # numpy's threads would spin for a whole frame after each product of small matrices
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        if was_enabled:
            gc.enable()
