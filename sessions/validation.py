"""Words for what pydantic found wrong."""

from pydantic import ValidationError


def first_problem(error: ValidationError) -> str:
    """The first problem of a validation as ``place: what is wrong``."""
    problem = error.errors(include_url=False)[0]
    place = ".".join(str(part) for part in problem["loc"]) or "the whole"
    return f"{place}: {problem['msg'].removeprefix('Value error, ')}"
