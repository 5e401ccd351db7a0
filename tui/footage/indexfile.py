"""Keeping indexes in the cache folder, under the fingerprint of the footage."""

import hashlib
import io
import json
from dataclasses import astuple
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

from tui.footage.cachefolder import keep
from tui.footage.index import FootageIndex, Part
from tui.footage.indexing import build_index
from tui.footage.intake import Progress

_VERSION = 4
_ARRAYS = (
    "packet_pts", "packet_dts", "packet_size", "key", "hidden", "times", "packet_pos",
)  # fmt: skip


def index_of(
    path: Path,
    sha256: str,
    folder: Path,
    progress: Progress | None = None,
    track: int | None = None,
) -> FootageIndex:
    """The index of the footage, from the cache folder or built afresh and kept there."""
    name = sha256 if track is None else f"{sha256}-{track}"
    kept = folder / "indexes" / f"{name}.npz"
    try:
        return _decoded(kept.read_bytes())
    except (OSError, ValueError):
        index = build_index(path, progress, track)
        keep(kept, _encoded(index))
        return index


def _encoded(index: FootageIndex) -> bytes:
    head = {
        "version": _VERSION,
        "library": _library(),
        "time_base": str(index.time_base),
        "recordings": index.recordings,
        "parts": [astuple(part) for part in index.parts],
        "flaws": index.flaws,
        "losses": index.losses,
        "refreshing": index.refreshing,
        "empty": index.empty,
        "lost_somewhere": index.lost_somewhere,
        "error": index.error,
        "stamps_derived": index.stamps_derived,
        "found_by_decoding": index.found_by_decoding,
        "known_by_dts": index.known_by_dts,
        "usual_step": index.usual_step,
    }
    buffer = io.BytesIO()
    arrays = {name: getattr(index, name) for name in _ARRAYS}
    np.savez_compressed(buffer, head=np.array(json.dumps(head)), **arrays)
    content = buffer.getvalue()
    return hashlib.sha256(content).digest() + content


def _decoded(content: bytes) -> FootageIndex:
    """The index kept in ``content``; ValueError if that is damaged or of another version."""
    digest, arrays = content[:32], content[32:]
    if hashlib.sha256(arrays).digest() != digest:
        raise ValueError("damaged")
    with np.load(io.BytesIO(arrays), allow_pickle=False) as kept:
        head = json.loads(str(kept["head"]))
        if (head.pop("version"), head.pop("library")) != (_VERSION, _library()):
            raise ValueError("written by another version")
        columns = {name: kept[name] for name in _ARRAYS}
    head["time_base"] = Fraction(head["time_base"])
    head["parts"] = tuple(
        Part(first, None if span is None else tuple(span), *rest)
        for first, span, *rest in head["parts"]
    )
    for name in ("recordings", "refreshing"):
        head[name] = tuple(head[name])
    for name in ("flaws", "losses"):
        head[name] = tuple((int(packet), str(words)) for packet, words in head[name])
    return FootageIndex(**columns, **head)


def _library() -> list[int]:
    """The demuxer's version: another one may find other time stamps."""
    return list(av.library_versions["libavformat"])
