"""The stills of a document: which frames it shows, whole and cropped to where they differ.

Two frames are shown for each finding that is not in order, and for start and stop of the clock.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO
from math import ceil
from typing import Protocol

import numpy as np
import numpy.typing as npt
from PIL import Image, features

from sessions.ruling.brackets import Outcome
from sessions.ruling.ruling import Bracket, Place, RuledFinding, RuledRun, Ruling, Standing
from tui.documents.pages import Box, Exhibit, Shot
from tui.footage.picture import Picture

PlaceAt = Callable[[int], Place]
"""The place of a frame, by its number."""

_CLOCK = "clock"


def subjects(ruling: Ruling) -> tuple[RuledRun, ...]:
    """The runs that the document is about: those of the claimed time, else the best."""
    wanted = ruling.claimed_runs or ((ruling.best_run,) if ruling.best_run is not None else ())
    return tuple(run for run in ruling.runs if run.run in wanted)


def told_runs(ruling: Ruling) -> tuple[RuledRun, ...]:
    """Every run that counts, those that the document is about first."""
    first = subjects(ruling)
    others = [run for run in ruling.runs if run not in first]
    return tuple(run for run in (*first, *others) if run.standing is not Standing.UNCOUNTED)


def plan(ruling: Ruling, place_at: PlaceAt) -> tuple[Exhibit, ...]:
    """All exhibits in the order of the document, without their pictures."""
    frames = ruling.footage.frames
    return tuple(
        exhibit
        for run in told_runs(ruling)
        for exhibit in (
            *_of_run(run, run in subjects(ruling), frames, place_at),
            *_of_count(run, ruling, place_at),
        )
    )


def _of_count(run: RuledRun, ruling: Ruling, place_at: PlaceAt) -> Iterator[Exhibit]:
    """Where the event was started over, and for a run beyond the allowance what used the others."""
    frames = ruling.footage.frames
    used = [(s, f"Attempt {s.number} is spent by starting over") for s in ruling.spent]
    for spent, words in used:
        if spent.by_run == run.run:
            yield from _counted(run, f"over.{spent.number}", spent.at, words, frames, place_at)
    beyond = run.with_outcome(Outcome.REFUTED)
    if run.number is None or not any(f.rule == ALLOWANCE for f in beyond):
        return
    for other in ruling.runs:
        if other.number is None or other.number >= run.number or other.begins is None:
            continue
        words = f"Attempt {other.number} is run {other.run}"
        start = next((f.met for f in other.findings if f.checkpoint == _CLOCK), None)
        at = other.begins if start is None or start.by is None else start.by
        yield from _counted(run, f"number.{other.number}", at, words, frames, place_at)


ALLOWANCE = "count.allowance"


def _counted(
    run: RuledRun, name: str, at: Place, words: str, frames: int, place_at: PlaceAt
) -> Iterator[Exhibit]:
    """A frame that counts, after the one before it."""
    for first, last in _decisive(at, frames):
        yield Exhibit(
            name=f"run-{run.run}.{name}",
            run=run.run,
            checkpoint=name.partition(".")[0],
            moment=words,
            shots=(Shot(place=place_at(first)), Shot(place=place_at(last), says=(words,))),
        )


def _of_run(run: RuledRun, subject: bool, frames: int, place_at: PlaceAt) -> Iterator[Exhibit]:
    for finding in run.findings:
        wanted = subject and finding.checkpoint == _CLOCK
        is_cured = finding.outcome is Outcome.PROVEN and bool(finding.cure)
        if finding.outcome in (Outcome.PROVEN, Outcome.CONFLICT) and not (wanted or is_cured):
            continue
        for number, (brackets, pair) in enumerate(_pairs(finding, frames), 1):
            yield Exhibit(
                name=f"run-{run.run}.{finding.checkpoint}.{number}",
                run=run.run,
                checkpoint=finding.checkpoint,
                moment=finding.title if finding.checkpoint != _CLOCK else brackets[0].moment,
                shots=(_shot(pair[0], brackets, place_at), _shot(pair[1], brackets, place_at)),
            )


FramePair = tuple[int, int]


def _pairs(finding: RuledFinding, frames: int) -> Iterator[tuple[list[Bracket], FramePair]]:
    """The pairs of frames to show, none twice, each with the brackets that it shows."""
    if finding.checkpoint == _CLOCK:
        # start and stop say nothing of each other
        clock = [bracket for bracket in (finding.met, finding.due) if bracket is not None]
        yield from (([b], pair) for b in clock if (pair := _ends(b)) is not None)
        return
    brackets = [bracket for bracket in (finding.due, finding.met) if bracket is not None]
    pairs = [pair for bracket in brackets if (pair := _ends(bracket)) is not None]
    if finding.due is not None and _ends(finding.due) is None:
        pairs[:0] = _decisive(finding.due.by, frames)
    if not pairs and finding.met is not None:
        pairs = _decisive(finding.met.by or finding.met.after, frames)
    yield from ((brackets, pair) for pair in dict.fromkeys(pairs))
    cured = [pair for bracket in finding.cure[:1] for pair in _pairs_of(bracket, frames)]
    yield from (([*finding.cure], pair) for pair in cured if pair not in pairs)


def _pairs_of(bracket: Bracket, frames: int) -> list[FramePair]:
    """Both ends of a bracket, or the frame that decides after the one before it."""
    pair = _ends(bracket)
    return _decisive(bracket.by or bracket.after, frames) if pair is None else [pair]


def _ends(bracket: Bracket) -> FramePair | None:
    """Both ends of a bracket, where it has both."""
    if bracket.after is None or bracket.by is None:
        return None
    return bracket.after.frame, bracket.by.frame


def _decisive(place: Place | None, frames: int) -> list[FramePair]:
    """The frame that decides, and the one before it; for the first frame, the one after it."""
    if place is None or frames < 2:
        return []
    last = max(place.frame, 1)
    return [(last - 1, last)]


def _shot(frame: int, brackets: list[Bracket], place_at: PlaceAt) -> Shot:
    says = tuple(word for b in brackets if (word := _says(frame, b)))
    return Shot(place=place_at(frame), says=says)


def _says(frame: int, bracket: Bracket) -> str:
    """What a bracket says of one frame; empty for a frame between its ends."""
    if bracket.after is not None and frame <= bracket.after.frame:
        return bracket.not_yet or f"not yet: {bracket.moment}"
    if bracket.by is not None and frame >= bracket.by.frame:
        return bracket.so or f"already so: {bracket.moment}"
    return ""


Pixels = npt.NDArray[np.uint8]

_COLUMNS = 64
"""Blocks across a picture."""

_NOISE = 4.0
"""Mean difference of a block, in steps of 8-bit brightness, that coding noise alone can make."""

_PARTS = (Fraction(1, 4), Fraction(3, 8), Fraction(1, 2), Fraction(3, 4))
"""Parts of the width and height to try, the smallest first."""

_ENOUGH = 0.6
"""The share of all difference at which a part is wide enough."""

# ITU-R BT.709: the weights of red, green and blue in brightness
_LUMA = np.array([0.2126, 0.7152, 0.0722], np.float32)


def crop_box(first: Pixels, last: Pixels) -> Box | None:
    """The smallest part, a quarter of the width or more, that holds most of the difference.

    Pictures are (height, width, 3). ``None`` where the two hardly differ, or differ all over.
    """
    height, width = first.shape[:2]
    side = max(1, width // _COLUMNS)
    blocks = _differences(first, last, side)
    total = float(blocks.sum())
    if total == 0:
        return None
    for part in _PARTS:
        rows, columns = (max(1, ceil(count * part)) for count in blocks.shape)
        sums = _window_sums(blocks, rows, columns)
        row, column = (int(at) for at in np.unravel_index(int(sums.argmax()), sums.shape))
        if sums[row, column] >= _ENOUGH * total:
            size = max(columns * side, ceil(width * part)), max(rows * side, ceil(height * part))
            found = blocks[row : row + rows, column : column + columns]
            middle_x = (column + _middle(np.asarray(found.any(axis=0)))) * side
            middle_y = (row + _middle(np.asarray(found.any(axis=1)))) * side
            return _around(middle_x, middle_y, size, (width, height))
    return None


def _differences(first: Pixels, last: Pixels, side: int) -> npt.NDArray[np.float32]:
    """Mean difference in brightness of each block beyond noise; blocks at the edge may be left."""
    change = np.abs(first.astype(np.float32) @ _LUMA - last.astype(np.float32) @ _LUMA)
    rows, columns = max(1, change.shape[0] // side), change.shape[1] // side
    cut = change[: rows * side, : columns * side]
    means = cut.reshape(rows, -1, columns, side).mean(axis=(1, 3))
    return np.where(means > _NOISE, means, 0).astype(np.float32)


def _window_sums(
    blocks: npt.NDArray[np.float32], rows: int, columns: int
) -> npt.NDArray[np.float64]:
    """The sum in every window of the size, by its left upper block."""
    summed = np.pad(blocks.astype(np.float64).cumsum(0).cumsum(1), ((1, 0), (1, 0)))
    return np.asarray(
        summed[rows:, columns:]
        - summed[:-rows, columns:]
        - summed[rows:, :-columns]
        + summed[:-rows, :-columns]
    )


def _middle(changed: npt.NDArray[np.bool_]) -> float:
    """Half way between the first and the last block that is changed, in blocks."""
    places = np.flatnonzero(changed)
    return float(places[0] + places[-1] + 1) / 2


def _around(x: float, y: float, size: tuple[int, int], whole: tuple[int, int]) -> Box:
    """A box of the size around a place, moved so that it lies within the picture."""
    width, height = min(size[0], whole[0]), min(size[1], whole[1])
    left = min(max(0, round(x - width / 2)), whole[0] - width)
    top = min(max(0, round(y - height / 2)), whole[1] - height)
    return Box(x=left, y=top, width=width, height=height)


WHOLE_WIDTH = 1280
"""The greatest width in pixels of a whole frame in a document; crops keep every pixel."""

_QUALITY = 90


class WholePictures(Protocol):
    """Where whole pictures come from, such as a frame store."""

    def full(self, frame: int) -> Picture:
        """The picture of a frame, counted from 0, with all its pixels."""
        ...


@dataclass(frozen=True, slots=True)
class Stills:
    """The pictures of one exhibit: (first, last) whole, and cropped where they differ in part."""

    whole: tuple[bytes, bytes]
    crop: tuple[bytes, bytes] | None


def take_stills(
    exhibit: Exhibit, source: WholePictures, aspect: Fraction
) -> tuple[Exhibit, Stills]:
    """Take the pictures of an exhibit, and fill in its size, crop and flaws.

    ``aspect`` is width by height of one pixel as displayed.
    """
    first, last = (source.full(shot.place.frame) for shot in exhibit.shots)
    box = crop_box(first.pixels, last.pixels)
    height, width = first.pixels.shape[:2]
    looked = exhibit.model_copy(
        update={
            "shots": (_marked(exhibit.shots[0], first), _marked(exhibit.shots[1], last)),
            "size": (width, height),
            "crop": box,
        }
    )
    crop = None if box is None else (_part(first, box, aspect), _part(last, box, aspect))
    return looked, Stills((_whole(first, aspect), _whole(last, aspect)), crop)


def how_stills_are_made() -> str:
    """How stills are made, for the record."""
    version = features.version("jpg") or features.version("libjpeg_turbo") or "unknown"
    return (
        f"JPEG, quality {_QUALITY}, colour in full; whole frames at most {WHOLE_WIDTH} pixels "
        f"wide, crops pixel by pixel (libjpeg {version})"
    )


def displayed(pixels: Pixels, aspect: Fraction) -> Image.Image:
    """A picture as it is displayed: pixels that are not square are stretched in width."""
    picture = Image.fromarray(np.ascontiguousarray(pixels))
    if aspect == 1:
        return picture
    return picture.resize((max(1, round(picture.width * aspect)), picture.height))


def _marked(shot: Shot, picture: Picture) -> Shot:
    return shot.model_copy(update={"flaw": picture.flaw})


def _whole(picture: Picture, aspect: Fraction) -> bytes:
    image = displayed(picture.pixels, aspect)
    if image.width > WHOLE_WIDTH:
        image = image.resize((WHOLE_WIDTH, max(1, image.height * WHOLE_WIDTH // image.width)))
    return _jpeg(image)


def _part(picture: Picture, box: Box, aspect: Fraction) -> bytes:
    part = picture.pixels[box.y : box.y + box.height, box.x : box.x + box.width]
    return _jpeg(displayed(part, aspect))


def _jpeg(image: Image.Image) -> bytes:
    data = BytesIO()
    image.save(data, "JPEG", quality=_QUALITY, subsampling=0)
    return data.getvalue()
