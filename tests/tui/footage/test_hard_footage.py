"""Hard footage: no frame is wrong without a sign, and what is sound is not called broken."""

from collections.abc import Callable
from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest

from tests.proofs import mostly_proofs, pairs
from tests.tui.footage import hard
from tui.footage.footage import Footage
from tui.footage.order import NO_STAMP

Made = Callable[[str], Path]

FRAMES = 120


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """The sound clip of a name, made once."""
    folder, known = tmp_path_factory.mktemp("sound"), dict[str, Path]()

    def make(name: str) -> Path:
        if name not in known:
            known[name] = hard.sound(name, folder, FRAMES).path
        return known[name]

    return make


def open_anew(path: Path) -> Footage:
    return Footage.open(path, path.parent / "cache")


EVERY_DAY = ("H.264, mp4", "VP9, webm", "MPEG-2, ps")
OTHERS = [name for name in hard.SOURCES if name not in EVERY_DAY and "avi" not in name]
GAPS = [(67, 1), (34, 12)]
"""The first picture that is missing, and how many are."""
each_codec = pytest.mark.parametrize(
    "name", [*EVERY_DAY, *(pytest.param(name, marks=pytest.mark.proof) for name in OTHERS)]
)


@pytest.mark.parametrize(
    ("name", "gap"),
    [
        *pairs(EVERY_DAY, GAPS),
        *(pytest.param(*case, marks=pytest.mark.proof) for case in product(OTHERS, GAPS)),
    ],
)
def test_after_a_gap_no_frame_is_wrong_without_a_sign(
    name: str, gap: tuple[int, int], made: Made, tmp_path: Path
) -> None:
    at, count = gap
    source = made(name)
    truth = hard.sound_pictures(source)
    left = [truth[n] for n in hard.shown_without(source, at, count)]
    footage = open_anew(hard.without(source, tmp_path / source.name, at, count))
    found = hard.tally(footage, left)
    assert (found.frames, found.wrong, found.missing) == (FRAMES - count, 0, 0)
    assert (found.told > 0) or count == 1  # one picture may be one that nothing builds on


@each_codec
def test_a_sound_clip_copied_packet_by_packet_is_not_called_broken(
    name: str, made: Made, tmp_path: Path
) -> None:
    source = made(name)
    footage = open_anew(hard.without(source, tmp_path / source.name, FRAMES, 0))
    found = hard.tally(footage, hard.sound_pictures(source))
    assert (found.wrong, found.missing, found.flagged, found.told) == (0, 0, 0, 0)
    assert footage.index.joints == ()


JOINED = ("H.264, ts", "MPEG-2, ps", "VP9, webm", "H.264, fragments", "H.264, mp4", "H.264, avi")


@pytest.mark.parametrize("name", mostly_proofs(JOINED, ["H.264, ts", "VP9, webm", "H.264, mp4"]))
def test_recordings_one_after_the_other_are_ordered_each_by_itself(
    name: str, made: Made, tmp_path: Path
) -> None:
    source = made(name)
    truth = hard.sound_pictures(source)
    footage = open_anew(hard.joined(tmp_path / source.name, source, source))
    found = hard.tally(footage, truth + truth)
    assert (found.frames, found.wrong, found.missing) == (2 * FRAMES, 0, 0)
    assert found.flagged <= 2  # a transport stream marks the last picture before a joint
    assert footage.index.joints == (FRAMES,)
    times = [footage.time(n) for n in range(footage.frames)]
    assert times == sorted(set(times))


def test_fragments_whose_clock_starts_again_are_another_recording(
    made: Made, tmp_path: Path
) -> None:
    source = made("H.264, fragments")
    truth = hard.sound_pictures(source)
    footage = open_anew(hard.fragments_again(source, tmp_path / "again.mp4"))
    found = hard.tally(footage, truth + truth)
    assert (found.wrong, found.missing, found.flagged, found.told) == (0, 0, 0, 0)
    assert footage.index.joints == (FRAMES,)


def test_recordings_of_two_codecs_and_clocks_are_told_apart(made: Made, tmp_path: Path) -> None:
    one, other = made("H.264, mp4"), made("MPEG-4, mp4")
    footage = open_anew(hard.joined(tmp_path / "two.mp4", one, other))
    found = hard.tally(footage, hard.sound_pictures(one) + hard.sound_pictures(other))
    assert (found.wrong, found.missing, found.flagged, found.told) == (0, 0, 0, 0)


def test_what_follows_in_a_file_and_cannot_be_read_is_said(made: Made, tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    data = made("H.264, mp4").read_bytes()
    path.write_bytes(data + b"\0\0\0\x10ftypisom\0\0\0\0" + b"\0\0\0\x10moov" + bytes(8))
    footage = open_anew(path)
    assert footage.frames == FRAMES
    assert footage.facts.demux_error == "what follows in the file cannot be read"


@pytest.mark.parametrize("name", mostly_proofs(["HEVC, ts", "H.264, ts"], ["H.264, ts"]))
def test_one_lost_piece_of_a_transport_stream_leaves_no_frame_wrong_without_a_sign(
    name: str, made: Made, tmp_path: Path
) -> None:
    source = made(name)
    truth = hard.sound_pictures(source)
    seconds = [Fraction(n, 60) for n in range(FRAMES)]
    pieces = hard.video_pieces(source)
    told = 0
    for piece in pieces[len(pieces) // 8 :: len(pieces) // 4]:
        footage = open_anew(hard.one_piece_lost(source, tmp_path / "lost.ts", piece))
        found = hard.tally(footage, truth, seconds)
        assert (found.wrong, found.missing <= 1) == (0, True)
        told += found.told + found.missing
    assert told


@pytest.mark.parametrize("name", mostly_proofs(["H.264, avi", "MPEG-4, avi"], ["MPEG-4, avi"]))
def test_an_avi_that_lost_pictures_is_counted_and_its_times_doubted(
    name: str, made: Made, tmp_path: Path
) -> None:
    source, lost = made(name), (50, 51, 80)
    frame_of = open_anew(source).index.frame_of
    gone = {int(frame_of[place]) for place in lost}
    truth = [seen for n, seen in enumerate(hard.sound_pictures(source)) if n not in gone]
    footage = open_anew(hard.without_chunks(source, tmp_path / source.name, lost))
    found = hard.tally(footage, truth)
    assert (found.wrong, found.missing) == (0, 0)
    assert "counts 120 pictures and 117 were found" in footage.index.lost_somewhere
    assert open_anew(source).index.lost_somewhere == ""


@pytest.mark.parametrize("suffix", mostly_proofs([".mp4", ".mkv"], [".mkv"]))
def test_stamps_that_are_those_of_decoding_are_given_out_in_the_order_shown(
    suffix: str, made: Made, tmp_path: Path
) -> None:
    source = made("H.264, mp4")
    footage = open_anew(hard.stamped_as_decoded(source, tmp_path / f"a{suffix}"))
    seconds = [Fraction(n, 60) for n in range(FRAMES)]
    found = hard.tally(footage, hard.sound_pictures(source), seconds)
    assert (found.wrong, found.missing, found.flagged, found.told) == (0, 0, 0, 0)
    assert found.late <= Fraction(1, 1000)


@pytest.mark.parametrize(
    "name", mostly_proofs(["H.264, ts", "MPEG-2, ts", "HEVC, ts"], ["MPEG-2, ts"])
)
def test_pictures_without_stamps_are_placed_and_timed_by_their_neighbours(
    name: str, made: Made, tmp_path: Path
) -> None:
    source, bare = made(name), (40, 41, 42, 77, FRAMES - 1)
    footage = open_anew(hard.without_stamps(source, tmp_path / source.name, bare))
    seconds = [Fraction(n, 60) for n in range(FRAMES)]
    found = hard.tally(footage, hard.sound_pictures(source), seconds)
    assert (found.wrong, found.missing, found.flagged, found.told) == (0, 0, 0, 0)
    assert found.late <= Fraction(1, 1000)
    assert NO_STAMP not in footage.index.pts


@pytest.mark.parametrize("packed", [False, True])
def test_reordered_pictures_in_avi_come_in_the_order_shown(
    packed: bool, made: Made, tmp_path: Path
) -> None:
    source = made("MPEG-4, avi")
    path = hard.packed(source, tmp_path / "packed.avi") if packed else source
    footage = open_anew(path)
    seconds = [Fraction(n, 60) for n in range(FRAMES)]
    found = hard.tally(footage, hard.sound_pictures(source), seconds)
    assert (found.wrong, found.missing, found.flagged, found.told) == (0, 0, 0, 0)
    assert found.late == 0
    assert footage.index.parts[0].unpacks is packed


def test_a_damaged_head_of_a_second_recording_does_not_hide_the_first(
    made: Made, tmp_path: Path
) -> None:
    path = tmp_path / "a.mkv"
    path.write_bytes(made("VP9, webm").read_bytes() + b"\x1a\x45\xdf\xa3" + bytes(60))
    assert open_anew(path).frames == FRAMES
