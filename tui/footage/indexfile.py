"""Keeping indexes in the cache folder, under the fingerprint of the footage."""

import hashlib
import io
import json
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

from tui.footage.cachefolder import keep
from tui.footage.fingerprint import Progress
from tui.footage.index import FootageIndex, build_index

_VERSION = 3
_ARRAYS = ("packet_pts", "packet_dts", "packet_size", "key", "hidden")


def index_of(
    path: Path, sha256: str, folder: Path, progress: Progress | None = None
) -> FootageIndex:
    """The index of the footage, from the cache folder or built afresh and kept there."""
    kept = folder / "indexes" / f"{sha256}.npz"
    try:
        return _decoded(kept.read_bytes())
    except (OSError, ValueError):
        index = build_index(path, progress)
        keep(kept, _encoded(index))
        return index


def _encoded(index: FootageIndex) -> bytes:
    head = {
        "version": _VERSION,
        "library": _library(),
        "time_base": str(index.time_base),
        "flaws": index.flaws,
        "error": index.error,
        "stamps_derived": index.stamps_derived,
    }
    buffer = io.BytesIO()
    arrays = {name: getattr(index, name) for name in _ARRAYS}
    if index.decoded_pts is not None:
        arrays["decoded_pts"] = index.decoded_pts
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
        if (head["version"], head["library"]) != (_VERSION, _library()):
            raise ValueError("written by another version")
        pts, dts, size, key, hidden = (kept[name] for name in _ARRAYS)
        decoded_pts = kept.get("decoded_pts")
    return FootageIndex(
        Fraction(head["time_base"]),
        pts,
        dts,
        size,
        key,
        hidden,
        tuple((int(packet), str(words)) for packet, words in head["flaws"]),
        head["error"],
        head["stamps_derived"],
        decoded_pts,
    )


def _library() -> list[int]:
    """The demuxer's version: another one may find other time stamps."""
    return list(av.library_versions["libavformat"])
