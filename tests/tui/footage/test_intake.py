"""What cannot be judged is refused, in one sentence, before it can do harm."""

import os
import re
import socket
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from sessions.errors import FootageError
from tests.tui.footage import clips
from tests.tui.footage.conftest import MakeClip
from tui.footage import intake
from tui.footage.facts import probe
from tui.footage.footage import Footage
from tui.footage.intake import check_file, open_container, video_stream

Make = Callable[[Path], object]


def write(content: bytes) -> Make:
    return lambda path: path.write_bytes(content)


def make_socket(path: Path) -> None:
    with socket.socket(socket.AF_UNIX) as bound:
        bound.bind(os.fspath(path))


BAD: dict[str, tuple[str, Make, str]] = {
    "missing": ("a.mp4", lambda path: None, "does not exist; check the path"),
    "folder": ("a.mp4", lambda path: path.mkdir(), "is a folder; name a video file inside it"),
    "pipe": ("a.mp4", lambda path: os.mkfifo(path), "not a regular file; copy the footage"),
    "socket": ("a.mp4", make_socket, "not a regular file; copy the footage"),
    "empty": ("a.mp4", write(b""), "is empty; copy the footage again"),
    "text": ("a.mp4", write(b"not a film\n" * 500), "not a video that can be read"),
    "noise": ("a.mp4", write(os.urandom(100_000)), "not a video that can be read"),
    "one byte": ("a.mkv", write(b"\x1a"), "not a video that can be read"),
    "subtitles": ("a.srt", write(b"1\n00:00:01,000 --> 00:00:02,000\nHi\n"), "not a video"),
    "sound": ("a.mp4", clips.sound_only, "has no picture, only sound"),
    "playlist": (
        "a.m3u8",
        write(b"#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:10,\nother.ts\n#EXT-X-ENDLIST\n"),
        "is a list that names other files",
    ),
    "concatenation": (
        "a.ffconcat",
        write(b"ffconcat version 1.0\nfile 'other.mp4'\n"),
        "is a list that names other files",
    ),
    "name too long": ("a" * 400, lambda path: None, "cannot be reached"),
}


@pytest.mark.parametrize("kind", BAD)
def test_a_bad_file_is_refused_in_one_sentence(kind: str, tmp_path: Path) -> None:
    name, make, words = BAD[kind]
    path = tmp_path / name
    make(path)
    with pytest.raises(FootageError) as refusal:
        Footage.open(path, tmp_path / "cache")
    sentence = str(refusal.value)
    assert words in sentence
    assert name in sentence
    assert sentence.endswith(".")
    assert "\n" not in sentence
    assert refusal.value.__cause__ is None


def test_a_device_is_refused() -> None:
    with pytest.raises(FootageError, match="not a regular file"):
        check_file(Path(os.devnull))


def test_a_file_without_permission_is_refused(
    clip: MakeClip, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "access", lambda path, mode: False)  # a superuser may read anything
    with pytest.raises(FootageError, match="may not be read; ask its owner"):
        check_file(clip("mp4").path)


def test_a_recording_cut_off_before_its_index_is_named_as_such(
    clip: MakeClip, tmp_path: Path
) -> None:
    made = clip("every frame a key")  # its index is at the end
    cut = clips.truncate(made, tmp_path / "cut.mp4", Fraction(6, 10))
    with pytest.raises(FootageError, match=r"cut off before its index was written"):
        Footage.open(cut.path, tmp_path / "cache")


@pytest.mark.parametrize(
    "boxes",
    [
        b"\0\0\0\x10ftypisom\0\0\0\0" + b"\0\0\0\0mdat",  # a box to the end of the file
        b"\0\0\0\x10ftypisom\0\0\0\0" + b"\0\0\0\x01mdat" + (24).to_bytes(8, "big") + b"\0" * 8,
    ],
)
def test_the_index_is_looked_for_whatever_the_form_of_the_boxes(
    boxes: bytes, tmp_path: Path
) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(boxes)
    with pytest.raises(FootageError, match="cut off before its index was written"):
        open_container(path)


def test_a_file_with_an_index_that_makes_no_sense_is_not_called_cut_off(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(b"\0\0\0\x10ftypisom\0\0\0\0" + b"\0\0\0\x0cmoov\0\0\0\0")
    with pytest.raises(FootageError, match=r"not a video that can be read|has no picture"):
        Footage.open(path, tmp_path / "cache")


def test_absurd_dimensions_are_refused_before_memory_is_taken(
    clip: MakeClip, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(intake, "MAX_PIXELS", 320 * 180 - 1)
    path = clip("mp4").path
    with (
        open_container(path) as container,
        pytest.raises(FootageError, match="declares pictures of 320 x 180 pixels"),
    ):
        video_stream(container, path)


def test_a_picture_that_turns_out_larger_than_declared_is_not_decoded(
    clip: MakeClip, tmp_path: Path
) -> None:
    """The decoder itself is held to the limit, whatever the container declares."""

    def enlarge(data: bytearray, spans: list[tuple[int, int]]) -> None:
        for start, size in spans:
            # the frame header of JPEG (ITU-T T.81, B.2.2): marker, length, precision, height, width
            at = data.index(b"\xff\xc0", start, start + size)
            data[at + 5 : at + 9] = (16384).to_bytes(2, "big") * 2

    huge = clips.damage(clip("MJPEG, mov"), tmp_path / "a.mov", enlarge)
    with pytest.raises(FootageError, match=r"no picture of .* can be decoded"):
        probe(huge.path)


def test_a_cover_picture_is_no_footage(tmp_path: Path) -> None:
    path = tmp_path / "song.mkv"
    with av.open(os.fspath(path), "w") as out:
        sound = out.add_stream("aac", rate=48000, layout="mono")
        still = out.add_attachment("cover.png", "image/png", _png())
        assert still is not None
        for packet in clips.tone(sound, 1):
            out.mux(packet)
    with pytest.raises(FootageError, match="has no picture"):
        Footage.open(path, tmp_path / "cache")


def _png() -> bytes:
    context = av.CodecContext.create("png", "w")
    context.width, context.height, context.pix_fmt = 16, 16, "rgb24"
    context.time_base = Fraction(1, 25)
    frame = av.VideoFrame.from_ndarray(np.zeros((16, 16, 3), np.uint8), "rgb24")
    return b"".join(bytes(p) for p in [*context.encode(frame), *context.encode(None)])


def test_a_film_without_a_decodable_picture_is_refused(clip: MakeClip, tmp_path: Path) -> None:
    made = clip("MJPEG, mov")
    broken = clips.damage(made, tmp_path / "a.mov", clips.zero(range(150)))
    with pytest.raises(FootageError, match=r"no picture of .* can be decoded"):
        probe(broken.path)


def test_a_film_that_cannot_be_read_to_its_first_picture_is_refused(
    clip: MakeClip, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> list[object]:
        raise IndexError

    monkeypatch.setattr("tui.footage.facts._decoded", fail)
    with pytest.raises(FootageError, match=r"no picture of .* can be decoded"):
        probe(clip("mp4").path)


def test_the_first_picture_is_not_looked_for_without_end(
    clip: MakeClip, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[object] = []

    def give_nothing(_: object, packet: object) -> list[object]:
        asked.append(packet)
        return []

    monkeypatch.setattr("tui.footage.facts._PROBE_PACKETS", 20)
    monkeypatch.setattr("tui.footage.facts._decoded", give_nothing)
    with pytest.raises(FootageError, match=r"no picture of .* can be decoded"):
        probe(clip("mp4").path)
    assert len(asked) <= 21


def test_a_name_that_looks_like_a_protocol_is_still_a_file(
    clip: MakeClip, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    odd = Path("pipe:0")
    odd.write_bytes(clip("mp4").path.read_bytes())
    with open_container(odd) as container:
        assert re.match("mov,mp4", container.format.name)


@pytest.mark.parametrize(
    ("suffix", "codec", "options", "name"),
    [
        (".h264", "libx264", clips.h264(), "raw H.264 video"),
        (".ivf", "libvpx", {"deadline": "realtime", "cpu-used": "8"}, "On2 IVF"),
        (".nut", "mpeg4", {}, "NUT"),
    ],
)
def test_a_container_that_is_not_taken_is_named_with_what_to_do(
    suffix: str, codec: str, options: dict[str, str], name: str, tmp_path: Path
) -> None:
    path = tmp_path / f"a{suffix}"
    clips.write(path, range(20), codec=codec, options=options)
    with pytest.raises(FootageError) as refusal:
        Footage.open(path, tmp_path / "cache")
    assert f"in a container that is not taken ({name})" in str(refusal.value)
    assert "remuxed, not encoded again" in str(refusal.value)


def test_a_hole_in_a_file_is_not_called_cut_off(clip: MakeClip, tmp_path: Path) -> None:
    data = bytearray(clip("every frame a key").path.read_bytes())  # its index is at the end
    at = data.rindex(b"moov") - 4
    data[at : at + 512] = bytes(512)
    path = tmp_path / "holed.mp4"
    path.write_bytes(data)
    with pytest.raises(FootageError, match=f"is damaged at byte {at}, where") as refusal:
        Footage.open(path, tmp_path / "cache")
    assert "cut off" not in str(refusal.value)


def test_a_file_without_an_index_that_changed_just_now_may_still_be_written(
    clip: MakeClip, tmp_path: Path
) -> None:
    cut = clips.truncate(clip("every frame a key"), tmp_path / "cut.mp4", Fraction(6, 10))
    with pytest.raises(FootageError, match="either it is still being written"):
        Footage.open(cut.path, tmp_path / "cache")
    os.utime(cut.path, (1, 1))
    with pytest.raises(FootageError) as refusal:
        Footage.open(cut.path, tmp_path / "cache")
    assert "still being written" not in str(refusal.value)


def test_pictures_of_the_largest_cameras_are_taken() -> None:
    assert intake.MAX_PIXELS >= 8192 * 5120


def test_a_window_is_a_part_of_a_file(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"0123456789")
    window = intake.Window(path, 2, 8)
    assert (window.readable(), window.seekable()) == (True, True)
    assert (window.read(4), window.tell(), window.read()) == (b"2345", 4, b"67")
    assert (window.seek(-1, os.SEEK_END), window.read(), window.read()) == (5, b"7", b"")
    assert (window.seek(1), window.seek(1, os.SEEK_CUR), window.read(1)) == (1, 2, b"4")
