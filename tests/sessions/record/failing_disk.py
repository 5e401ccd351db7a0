"""A disk that fails at one of the calls that write, or from one on, whatever is written."""

import errno
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest

CALLS = ("write", "fsync", "ftruncate")


@contextmanager
def failing_at(number: int, *, lasting: bool, partly: bool) -> Iterator[list[str]]:
    """Let the call of this number (from 0) fail, and with ``lasting`` all after it.

    With ``partly`` a write that fails has written half of its bytes before. Yields the calls made.
    """
    made: list[str] = []

    def failing(name: str, call: Callable[..., Any]) -> Callable[..., Any]:
        def called(handle: int, *rest: Any) -> Any:
            made.append(name)
            now = len(made) - 1
            if now == number or (lasting and now > number):
                if name == "write" and partly:
                    call(handle, bytes(rest[0])[: len(rest[0]) // 2])
                raise OSError(errno.EIO, os.strerror(errno.EIO))
            return call(handle, *rest)

        return called

    with pytest.MonkeyPatch.context() as patch:
        for name in CALLS:
            patch.setattr(os, name, failing(name, getattr(os, name)))
        yield made


WAYS = [(lasting, partly) for lasting in (False, True) for partly in (False, True)]
"""Once or for good, and with or without half of what was to be written."""
