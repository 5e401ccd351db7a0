"""Issued rulings by their file names: ``<claim>.ruling-<number>.json`` (``.html``, ``.txt``)."""

import re
from collections.abc import Iterable, Mapping
from hashlib import sha256

_JSON = re.compile(r"(.+)\.ruling-([1-9]\d*)\.json")


def file_stem(name: str) -> str:
    """A claim's id as part of a file name; ids that would need other characters stay distinct."""
    safe = re.sub(r"[^A-Za-z0-9_-]", "_", name)
    return safe if safe == name else f"{safe}-{sha256(name.encode()).hexdigest()[:8]}"


def latest_numbers(names: Iterable[str]) -> Mapping[str, int]:
    """The number of the last ruling issued for each stem, from the names of files in a folder."""
    latest: dict[str, int] = {}
    for name in names:
        if found := _JSON.fullmatch(name):
            latest[found[1]] = max(latest.get(found[1], 0), int(found[2]))
    return latest
