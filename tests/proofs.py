"""What every run of the tests checks, and what is kept for the long proofs.

``uv run pytest`` leaves out what is marked ``proof`` and draws a few examples for each property;
``uv run poe prove`` runs the proofs, and every property again with many examples.
"""

from collections.abc import Collection, Iterable
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

FEW, MANY = "few", "many"
"""Profiles of Hypothesis: of a run of every day, and of the proofs."""


def register_profiles() -> None:
    """Tell Hypothesis how many examples each kind of run draws.

    No deadline: machines are noisy, and speed is measured by the benchmarks. A run of every day
    draws the same examples each time, so that it fails only because of what was changed.
    """
    calm = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
    settings.register_profile(FEW, calm, max_examples=20, derandomize=True, database=None)
    settings.register_profile(MANY, calm, max_examples=100)
    settings.load_profile(FEW)


def examples(few: int, many: int, **more: Any) -> settings:
    """Settings of a property: how many examples it has every day, and how many as a proof."""
    proving = settings.get_current_profile_name() == MANY
    return settings(max_examples=many if proving else few, **more)


def pairs(first: Iterable[Any], second: Iterable[Any]) -> list[Any]:
    """Every pair of two lists of parameters, most of them as proofs.

    Every day each of the longer list comes once, each of the shorter at least once.
    """
    firsts, seconds = list(first), list(second)
    few = min(len(firsts), len(seconds))
    return [
        (one, other) if i % few == j % few else pytest.param(one, other, marks=pytest.mark.proof)
        for i, one in enumerate(firsts)
        for j, other in enumerate(seconds)
    ]


def mostly_proofs(cases: Iterable[Any], everyday: Collection[Any]) -> list[Any]:
    """Parameters of a test: those of every day as they are, all others marked as proofs."""
    return [
        case if case in everyday else pytest.param(case, marks=pytest.mark.proof) for case in cases
    ]
