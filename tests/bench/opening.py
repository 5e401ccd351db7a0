"""The first picture of footage that was never opened before, ours beside PyAV used plainly.

Run by ``uv run --group bench python -m tests.bench.opening``, with ``--megabytes`` for other sizes
and ``--clips FOLDER`` to keep the clips there. A clip of a few seconds is written again and again
into one file until that is as large as asked for. Both open it in the same process, in turn, with
no cache, and deliver its first picture as RGB at 640 x 360.
"""

import argparse
import statistics
import tempfile
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import cast

import av
from av.packet import Packet
from av.video.stream import VideoStream

from tests.bench.render import processor
from tests.tui.footage.clips import h264, write
from tui.footage.footage import Footage
from tui.footage.reader import FrameStore

SIZE = (640, 360)
ROUNDS = 5
KINDS = {
    "mp4": (".mp4", {}),
    "mp4, index first": (".mp4", {"movflags": "faststart"}),
    "fragmented mp4": (".mp4", {"movflags": "frag_keyframe+empty_moov"}),
    "mkv": (".mkv", {}),
    "mkv without cues": (".mkv", {"live": "1"}),
    "mpeg-ts": (".ts", {}),
}


def main() -> None:
    """Measure and print."""
    chosen = argparse.ArgumentParser(description="Time the first picture of new footage.")
    chosen.add_argument("--megabytes", type=int, nargs="+", default=[20, 200, 2000])
    chosen.add_argument("--clips", type=Path, metavar="FOLDER", help="where to keep the clips")
    asked = chosen.parse_args()
    print(f"{processor()}; first picture, ms: median of {ROUNDS}")
    print(f"{'':20}{'MB':>6}{'ours':>8}{'PyAV':>8}{'ratio':>7}{'all read, s':>13}")
    with tempfile.TemporaryDirectory() as folder:
        place = asked.clips or Path(folder)
        source = place / "source.mp4"
        if not source.exists():
            options = {**h264(60, 3), "crf": "4"}
            write(source, range(240), size=(1280, 720), options=options)
        for name, (suffix, options) in KINDS.items():
            for megabytes in asked.megabytes:
                path = place / f"{name.replace(' ', '-').replace(',', '')}-{megabytes}{suffix}"
                if not path.exists():
                    repeated(source, path, megabytes * 10**6, options)
                report(name, path)
                if asked.clips is None:
                    path.unlink()


def report(name: str, path: Path) -> None:
    """One row of the table."""
    own: list[float] = []
    plain: list[float] = []
    whole = 0.0
    for _ in range(ROUNDS):
        with tempfile.TemporaryDirectory() as cache:
            began = time.perf_counter()
            footage = Footage.begin(path, Path(cache))
            store = FrameStore(footage, SIZE)
            store.get(0)
            own.append(time.perf_counter() - began)
            footage.wait()
            whole = time.perf_counter() - began
            store.close()
        plain.append(timed(lambda: first_picture(path)))
    ours, theirs = (1000 * statistics.median(times) for times in (own, plain))
    size = path.stat().st_size / 1e6
    print(f"{name:20}{size:6.0f}{ours:8.0f}{theirs:8.0f}{ours / theirs:7.1f}{whole:13.1f}")


def timed(deed: Callable[[], object]) -> float:
    """How long something takes, in seconds."""
    began = time.perf_counter()
    deed()
    return time.perf_counter() - began


def first_picture(path: Path) -> object:
    """The first picture by PyAV used plainly."""
    with av.open(str(path)) as container:
        container.streams.video[0].thread_type = "AUTO"
        frame = next(container.decode(video=0))
        return frame.reformat(*SIZE, "rgb24").to_ndarray()


def repeated(source: Path, path: Path, size: int, options: dict[str, str]) -> None:
    """The clip written again and again, its time going on, until the file has ``size`` bytes."""
    with av.open(str(source)) as inp, av.open(str(path), "w", options=options) as out:
        stream = inp.streams.video[0]
        made = out.add_stream_from_template(stream)
        packets = [packet for packet in inp.demux(stream) if packet.size]
        base = stream.time_base or Fraction(1)
        length = round(Fraction(len(packets), 60) / base)
        written, turn = 0, 0
        while written < size:
            for packet in packets:
                again = cast("Packet[VideoStream]", Packet(bytes(packet)))
                again.pts = (packet.pts or 0) + turn * length
                again.dts = (packet.dts or 0) + turn * length
                again.time_base, again.is_keyframe, again.stream = base, packet.is_keyframe, made
                out.mux(again)
                written += packet.size
            turn += 1


if __name__ == "__main__":
    main()
