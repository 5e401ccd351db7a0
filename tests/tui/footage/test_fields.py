"""Interlaced footage is stepped by field, and a second decoder parts its fields alike.

The second decoder is the ffmpeg command line that the package imageio-ffmpeg carries, with its
filter ``separatefields``.
"""

import subprocess
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import imageio_ffmpeg
import numpy as np
import numpy.typing as npt
import pytest

from tests.tui.footage import clips
from tests.tui.footage.clips import Clip, read_number
from tui.bench.opening import footage_facts
from tui.footage.decoder import Decoder
from tui.footage.fields import field_alone, field_headers_of, field_order
from tui.footage.fitness import fitness
from tui.footage.footage import Footage
from tui.footage.intake import Source
from tui.footage.reader import FrameStore

Luma = npt.NDArray[np.unsignedinteger[Any]]

_H264 = {"preset": "veryfast", "crf": "16", "g": "12", "bf": "2"}
_MPEG = {"flags": "+ildct+ilme", "b": "8M", "bf": "2", "g": "12"}
_FIELDS = (("top", "top"),) * 12
_BOTTOM = (("bottom", "bottom"),) * 12


@dataclass(frozen=True)
class Kind:
    """How a clip of fields is made."""

    suffix: str
    pictures: Iterable[tuple[str, str]]
    options: dict[str, Any] = field(default_factory=dict)


KINDS = {
    "H.264, top first": Kind(".mp4", _FIELDS, {"options": {**_H264, "x264-params": "tff=1"}}),
    "H.264, bottom first, transport stream": Kind(
        ".ts", _BOTTOM, {"options": {**_H264, "x264-params": "bff=1"}}
    ),
    "H.264 with a buffer model": Kind(
        ".mkv",
        _FIELDS,
        {
            "options": {
                **_H264,
                "x264-params": "tff=1:nal-hrd=vbr:vbv-maxrate=9000:vbv-bufsize=9000",
            }
        },
    ),
    "MPEG-2, top first": Kind(".mpg", _FIELDS, {"codec": "mpeg2video", "options": _MPEG}),
    "MPEG-2, bottom first": Kind(".ts", _BOTTOM, {"codec": "mpeg2video", "options": _MPEG}),
    "DV": Kind(".avi", _BOTTOM, {"codec": "dvvideo", "size": (720, 576)}),
    "lossless": Kind(".mkv", _FIELDS, {"codec": "ffv1"}),
    "10 bits": Kind(
        ".mov",
        _FIELDS,
        {"codec": "prores_ks", "pixel_format": "yuv422p10le", "options": {"flags": "+ildct"}},
    ),
}


@pytest.fixture(scope="session")
def fields(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Make the clip of a name."""
    folder = tmp_path_factory.mktemp("fields")

    @cache
    def make(name: str) -> Clip:
        kind = KINDS[name]
        path = folder / f"{name.replace(' ', '-').replace(',', '')}{kind.suffix}"
        return clips.interlaced(path, kind.pictures, **kind.options)

    return make


def opened(clip: Clip, folder: Path, **options: Any) -> Footage:
    return Footage.open(clip.path, folder / "cache", **options)


def numbers(footage: Footage) -> list[int | None]:
    store = FrameStore(footage, (640, 640))
    try:
        return [read_number(store.get(frame).pixels) for frame in range(footage.frames)]
    finally:
        store.close()


@pytest.mark.parametrize("name", KINDS)
def test_each_field_is_a_frame_at_its_own_time(name: str, fields: Any, tmp_path: Path) -> None:
    clip = fields(name)
    footage = opened(clip, tmp_path)
    start = footage.time(0)

    assert numbers(footage) == list(clip.numbers)
    assert [footage.time(n) - start for n in range(footage.frames)] == list(clip.seconds)
    assert footage.steady_rate == 50
    first = clip.numbers and KINDS[name].pictures is _BOTTOM
    assert [footage.lines(n) for n in range(2)] == (
        ["bottom", "top"] if first else ["top", "bottom"]
    )


@pytest.mark.parametrize("name", KINDS)
def test_the_lines_of_each_field_are_those_of_a_second_decoder(
    name: str, fields: Any, tmp_path: Path
) -> None:
    clip = fields(name)
    footage = opened(clip, tmp_path)
    ours = list(own_lines(footage))
    theirs = separated(clip.path, ours[0].shape, ours[0].dtype.itemsize)

    assert len(ours) == len(theirs) == footage.frames
    assert all(np.array_equal(a, b) for a, b in zip(ours, theirs, strict=True))


def own_lines(footage: Footage) -> Iterable[Luma]:
    """The lines of luma that belong to each frame's field, as they are drawn."""
    decoder = footage.decoder()
    try:
        for frame in range(footage.frames):
            taken: list[Luma] = []

            def sink(number: int, whole: Any, wanted: int = frame, to: list[Luma] = taken) -> None:
                lines = footage.lines(number)
                if number == wanted and lines is not None:
                    drawn = field_alone(whole, lines)
                    luma = np.asarray(np.from_dlpack(drawn.planes[0]))
                    to.append(luma[0 if lines == "top" else 1 :: 2, : whole.width].copy())

            assert decoder.fetch(frame, sink)
            yield taken[0]
    finally:
        decoder.close()


def separated(path: Path, shape: tuple[int, ...], size: int) -> list[Luma]:
    grey = "gray" if size == 1 else "gray10le"
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(path), "-map", "0:v:0"]
    command += ["-vf", "separatefields,extractplanes=y", "-fps_mode", "passthrough"]
    command += ["-f", "rawvideo", "-pix_fmt", grey, "-"]
    raw = subprocess.run(command, capture_output=True, check=True).stdout
    kind = np.uint8 if size == 1 else np.uint16
    return list(np.frombuffer(raw, kind).reshape(-1, *shape))


@pytest.mark.parametrize("name", [name for name in KINDS if name[:4] in ("H.26", "MPEG")])
def test_headers_say_of_each_picture_what_the_decoder_says(name: str, fields: Any) -> None:
    container, stream = Source(fields(name).path).open()
    with container:
        headers = field_headers_of(stream.codec_context)
        assert headers is not None
        told, found = {}, {}
        for place, packet in enumerate(p for p in container.demux(stream) if p.size):
            told[place] = headers.read(bytes(packet))
            packet.pts = place
            found.update({f.pts: field_order(f) for f in stream.codec_context.decode(packet)})
        found.update({f.pts: field_order(f) for f in stream.codec_context.decode(None)})

    assert len(found) == 12
    assert found == told


def test_lines_between_those_of_a_field_are_the_mean_of_the_two(
    fields: Any, tmp_path: Path
) -> None:
    footage = opened(fields("lossless"), tmp_path)
    kept: list[Any] = []
    decoder = Decoder(footage.path, footage.index, footage.ledger)
    decoder.fetch(0, lambda _, whole: kept.append(whole))
    decoder.close()
    woven = np.asarray(np.from_dlpack(kept[0].planes[0])).astype(int)
    top = np.asarray(np.from_dlpack(field_alone(kept[0], "top").planes[0]))
    bottom = np.asarray(np.from_dlpack(field_alone(kept[0], "bottom").planes[0]))

    assert np.array_equal(top[1:-1:2], (woven[:-2:2] + woven[2::2] + 1) // 2)
    assert np.array_equal(top[-1], woven[-2])
    assert np.array_equal(bottom[2::2], (woven[1:-2:2] + woven[3::2] + 1) // 2)
    assert np.array_equal(bottom[0], woven[1])


def test_mixed_footage_is_stepped_by_what_each_picture_says_of_itself(tmp_path: Path) -> None:
    clip = joined_kinds(tmp_path)
    footage = opened(clip, tmp_path)

    assert numbers(footage) == list(clip.numbers)
    assert [footage.lines(n) for n in (0, 1, 23, 24, 25, 26)] == [
        "top", "bottom", "bottom", None, None, None,
    ]  # fmt: skip
    assert footage.facts.gaps == ()
    assert "mixed: 12 pictures whole; 12 pictures of two fields, the top one first" in (
        footage.facts.scan
    )


def joined_kinds(folder: Path) -> Clip:
    """A program stream of fields, then one of whole pictures that goes on with its stamps."""
    import av

    codec = "mpeg2video"
    fields = clips.interlaced(folder / "a.mpg", _FIELDS, options=_MPEG, codec=codec)
    plain = {"b": "8M", "bf": "2", "g": "12"}
    whole = clips.interlaced(folder / "b.mpg", (("", ""),) * 12, options=plain, codec=codec)
    path, shift = folder / "mixed.mkv", Fraction(12, 25)
    with av.open(str(path), "w") as out:
        stream = None
        for part, later in ((fields, Fraction(0)), (whole, shift)):
            with av.open(str(part.path)) as inp:
                track = inp.streams.video[0]
                stream = stream or out.add_stream_from_template(track)
                for packet in inp.demux(track):
                    if packet.dts is None:
                        continue
                    packet.stream = stream
                    offset = int(later / packet.time_base)
                    packet.pts, packet.dts = (packet.pts or 0) + offset, packet.dts + offset
                    out.mux(packet)
    return Clip(
        path,
        (*fields.numbers, *whole.numbers),
        (*fields.seconds, *(shift + at for at in whole.seconds)),
    )


def test_whoever_opens_it_may_say_how_it_is_scanned(fields: Any, tmp_path: Path) -> None:
    clip = fields("H.264, top first")

    woven = opened(clip, tmp_path, scan="frames")
    swapped = opened(clip, tmp_path, scan="bottom")

    assert woven.frames == 12
    assert woven.steady_rate == 25
    assert woven.lines(0) is None
    assert [swapped.lines(n) for n in range(3)] == ["bottom", "top", "bottom"]


def test_both_fields_are_seen_while_the_picture_is_woven(fields: Any, tmp_path: Path) -> None:
    footage = opened(fields("H.264, top first"), tmp_path)
    store = FrameStore(footage, (640, 640))
    try:
        apart = store.get(4).pixels
        store.weave(True)
        woven, full = store.get(4).pixels, store.full(4).pixels
        store.weave(False)
        again = store.get(4).pixels
    finally:
        store.close()

    assert np.array_equal(apart, again)
    assert not np.array_equal(apart, woven)
    assert read_number(full[0::2]) == 4
    assert read_number(full[1::2]) == 5


def test_a_number_means_the_same_as_in_the_session(fields: Any, tmp_path: Path) -> None:
    footage = opened(fields("H.264, top first"), tmp_path)
    woven = opened(fields("H.264, top first"), tmp_path, scan="frames")
    judged = footage_facts(footage)

    assert (judged.scan, judged.nominal_rate, judged.frames) == ("fields", "50", 24)
    assert judged.timecode(5) == judged.timecode(4) == "00:00:00:02"
    assert judged.frame_of("00:00:00:02") == 4
    assert not judged.counts_as(footage_facts(woven))
    assert Footage.counted_as(judged, footage.path).frames == 24


def test_what_an_edit_list_hides_is_told_and_can_be_shown(tmp_path: Path) -> None:
    source = clips.healthy("mp4", tmp_path)  # key frames at 0, 100 and 200
    trimmed = clips.trim_by_edit_list(source, tmp_path / "trimmed.mp4", hidden=250)
    cut, whole = opened(trimmed, tmp_path), opened(trimmed, tmp_path, whole=True)

    assert (cut.frames, whole.frames) == (50, 300)
    assert "250 pictures in the file are not shown" in str(fitness(cut).notes)
    assert numbers(whole) == list(range(300))
    assert numbers(cut) == list(range(250, 300))
    assert footage_facts(whole).whole


def test_a_picture_of_another_shape_is_shown_whole_within_that_of_the_first(tmp_path: Path) -> None:
    path = tmp_path / "turned.mp4"
    flat = clips.write(tmp_path / "a.mp4", range(12), options=clips.h264(12, 0))
    upright = clips.write(
        tmp_path / "b.mp4", range(12, 24), options=clips.h264(12, 0), size=(180, 320), rotation=90
    )
    path.write_bytes(flat.path.read_bytes() + upright.path.read_bytes())
    footage = Footage.open(path, tmp_path / "cache")
    store = FrameStore(footage, (640, 640))
    try:
        small, full = store.get(12).pixels, store.full(12).pixels
    finally:
        store.close()
    footage.check()

    assert small.shape == full.shape == (180, 320, 3)
    across = round(180 * 180 / 320)
    left = (320 - across) // 2
    assert read_number(full[:, left : left + across]) == 12
    assert not full[:, : left - 1].any()
    assert not full[:, left + across + 1 :].any()
    assert "180 x 320 pixels" in footage.frame_words(12)
    assert footage.checks.resized == [12]
