"""Whether footage is fit to be judged: what was found, where, and what it means for a ruling."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Literal

import numpy as np

from sessions.plural import plural
from sessions.ruling.timing import seconds_text
from sessions.validation import Frozen
from tui.footage.facts import scanned_of
from tui.footage.fields import REPEATS, WHOLE
from tui.footage.footage import Footage
from tui.footage.intake import changed_just_now

Weight = Literal["to know", "with care", "not to be trusted"]

_FROZEN = 3
"""This many repeated pictures in a row are a picture that stands still."""
_UNEVEN = Fraction(11, 10)  # the longest of 99 in 100 intervals, against the usual one
_MOST_NAMED = 6
_SHORTAGE = 2  # pictures that a declared number may be off by: writers round


class FitnessNote(Frozen):
    """One thing about the footage: ``frames`` are ranges, first and last included."""

    kind: str
    weight: Weight
    found: str
    """What was found, and where, in words."""
    means: str
    """What it means for a ruling."""
    frames: tuple[tuple[int, int], ...] = ()


class Fitness(Frozen):
    """What is known of footage before it is judged.

    ``facts`` are names and words; rates are in frames a second, times in seconds. ``doubt`` is the
    smallest that the footage can resolve; ``checked`` whether every frame was decoded for this.
    """

    format: Literal["framecall-footage"] = "framecall-footage"
    version: Literal[1] = 1
    name: str
    sha256: str
    size_bytes: int
    frames: int
    seconds: str
    rate: str | None
    usual_interval: str
    longest_interval: str
    doubt: str
    checked: bool
    by_field: bool = False
    """Whether each field of a picture of two is a frame of its own."""
    facts: dict[str, str]
    notes: tuple[FitnessNote, ...]

    @property
    def worst(self) -> Weight:
        """The greatest weight of all notes."""
        weights: tuple[Weight, ...] = ("not to be trusted", "with care")
        return next((w for w in weights if any(n.weight == w for n in self.notes)), "to know")

    @property
    def line(self) -> str:
        """All of it in one line: what is to be looked at with care, the doubt, and the rate."""
        kinds = dict.fromkeys(note.kind for note in self.notes if note.weight != "to know")
        told = f"look with care at: {', '.join(kinds)}" if kinds else "nothing found against it"
        rate = f"{self.rate} a second" if self.rate else "no steady rate"
        fields = ", each a field" if self.by_field else ""
        unchecked = "" if self.checked else " Not yet decoded throughout."
        frame = _ms(Fraction(self.usual_interval))
        return f"Footage: {told}. One frame is {frame} ({rate}{fields}).{unchecked}"


def fitness(footage: Footage) -> Fitness:
    """What is known of the footage by now; more is once :meth:`Footage.check` is through."""
    usual, longest = _intervals(footage)
    rate = footage.steady_rate
    last = footage.time(footage.frames - 1) - footage.time(0)
    return Fitness(
        name=footage.name,
        sha256=footage.sha256,
        size_bytes=footage.size_bytes,
        frames=footage.frames,
        seconds=seconds_text(last + usual),
        rate=None if rate is None else _number(rate),
        usual_interval=str(usual),
        longest_interval=str(longest),
        doubt=_doubt(footage, usual, longest),
        checked=footage.checks.done,
        by_field=footage.steps_by_field,
        facts=dict(_facts(footage, rate, usual, longest)),
        notes=tuple(_notes(footage)),
    )


def _intervals(footage: Footage) -> tuple[Fraction, Fraction]:
    """The usual interval between frames and the longest of 99 in 100, in seconds."""
    index, rate = footage.index, footage.steady_rate
    if rate is not None:
        return 1 / rate, 1 / rate
    steps = np.diff(index.pts)
    steps = np.sort(steps[steps > 0])
    if not len(steps):
        return Fraction(1, 25), Fraction(1, 25)
    most = int(steps[min(len(steps) - 1, 99 * len(steps) // 100)])
    return index.usual_step * index.time_base, most * index.time_base


def _doubt(footage: Footage, usual: Fraction, longest: Fraction) -> str:
    words = f"One frame is {_ms(usual)}: two things closer than that cannot be told apart."
    if longest >= usual * _UNEVEN:
        words += f" The rate varies: some frames last {_ms(longest)}, and there no less is told."
    if footage.time_doubt:
        words = "No time can be told from this footage; what is seen in one frame still can."
    return words


def _facts(
    footage: Footage, rate: Fraction | None, usual: Fraction, longest: Fraction
) -> Iterator[tuple[str, str]]:
    facts = footage.facts
    yield "Container", facts.container
    yield "Codec", facts.codec
    yield "Decoder", facts.decoder
    yield "Picture", f"{footage.width} x {footage.height} pixels"
    turned = f"{facts.rotation} degrees clockwise" if facts.rotation else "not turned"
    yield "Turned for display", turned + (", mirrored" if facts.mirrored else "")
    aspect = footage.pixel_aspect
    yield "Pixel aspect", f"{aspect.numerator}:{aspect.denominator}"
    yield "Pixel format", facts.pixel_format
    assumed = " (assumed, not declared)"
    yield "Colour matrix", facts.matrix + (assumed if facts.matrix_assumed else "")
    full = "full" if facts.full_range else "limited"
    yield "Colour range", full + (assumed if facts.range_assumed else "")
    yield "Scan, as the pictures say", facts.scan
    yield "Stepped", "by field" if footage.steps_by_field else "by frame"
    yield "Rate by the time stamps", _rate_words(rate) if rate else "not steady"
    declared = facts.nominal_rate
    yield "Rate declared", _rate_words(declared) if declared else "none declared"
    yield "Usual interval", _ms(usual)
    yield "Longest of 99 in 100 intervals", _ms(longest)
    yield "Frames counted", str(footage.frames)
    yield "Frames declared", str(facts.declared_frames or "none declared")
    length = facts.declared_seconds
    yield "Length declared", f"{seconds_text(length)} s" if length else "none declared"
    yield "Start time code", facts.start_timecode or "none"
    yield "Picture track", f"{facts.track} of {facts.tracks}"
    yield "Sound", ", ".join(facts.sound) or "none"
    yield "Capture rate told", _rate_words(facts.capture_rate) if facts.capture_rate else "none"
    yield "Written by, as the file says", ", ".join(facts.programs) or "not said"


def _notes(footage: Footage) -> Iterator[FitnessNote]:
    for family in (_about_time, _about_order, _about_edits, _about_pictures, _about_the_file):
        yield from family(footage)


def _about_time(footage: Footage) -> Iterator[FitnessNote]:
    joints = footage.index.joints
    if joints:
        yield FitnessNote(
            kind="joints",
            weight="not to be trusted",
            found=f"{plural(len(joints) + 1, 'recording')} one after the other: another begins at "
            f"{_named('frame', joints)}",
            means="No run can be timed across a joint, as the time that went by is not known. "
            "After it, times go on by one frame.",
            frames=tuple((joint, joint) for joint in joints),
        )
    if footage.time_doubt:
        yield FitnessNote(
            kind="lost pictures",
            weight="not to be trusted",
            found=_capital(footage.time_doubt),
            means="Frames come earlier than they were taken, by an unknown time: no run can be "
            "timed. Ask for the original recording.",
        )
    gaps = footage.facts.gaps
    if gaps:
        longest = max(missing for _, missing in gaps)
        yield FitnessNote(
            kind="gaps",
            weight="with care",
            found=f"{plural(len(gaps), 'gap')} in time, the longest of {_ms(longest)} more than "
            f"usual, before {_named('frame', [frame for frame, _ in gaps])}",
            means="What happened in a gap is not on the footage: an instant there is bracketed by "
            "the frames on its two sides, and no closer.",
            frames=tuple((frame, frame) for frame, _ in gaps),
        )
    elif footage.steady_rate is None and not joints:
        yield FitnessNote(
            kind="varying rate",
            weight="with care",
            found="The frames do not come at a steady rate",
            means="Times are told from the stamp of each frame, not from a rate; there is no time "
            "code.",
        )
    yield from _about_speed(footage)


def _about_speed(footage: Footage) -> Iterator[FitnessNote]:
    captured, rate = footage.facts.capture_rate, footage.steady_rate or footage.facts.nominal_rate
    if footage.capture_rate and captured and rate:
        yield FitnessNote(
            kind="slow motion",
            weight="not to be trusted",
            found=f"The file says that it was taken at {_rate_words(captured)} and is shown at "
            f"{_rate_words(rate)}: {_number(captured / rate)} times slower than life",
            means="Times of runs are the stamps' divided by that factor, and the ruling says so. "
            "Hold them against the display: it shows the true time.",
        )


def _about_order(footage: Footage) -> Iterator[FitnessNote]:
    if footage.index.found_by_decoding:
        yield FitnessNote(
            kind="order",
            weight="to know",
            found="The container does not tell the order of the frames; it was found by decoding "
            "them once",
            means="The order is that of the decoder. Times are the container's, given out in that "
            "order.",
        )


def _about_edits(footage: Footage) -> Iterator[FitnessNote]:
    if footage.whole:
        yield FitnessNote(
            kind="hidden pictures",
            weight="with care",
            found="Edit lists are left out of account: what they hide is shown and numbered",
            means="Numbers and times are not those of the footage as players show it. The session "
            "says so, and goes on that way.",
        )
        return
    hidden = _hidden(footage)
    if hidden > 0:
        yield FitnessNote(
            kind="hidden pictures",
            weight="with care",
            found=f"{plural(hidden, 'picture')} in the file {'is' if hidden == 1 else 'are'} not "
            "shown, as an edit list leaves them out",
            means="The footage was trimmed without being encoded again, or begins before its first "
            "whole picture. `--whole` shows them, in a session of its own.",
        )


def _hidden(footage: Footage) -> int:
    """How many pictures an edit list hides: those marked, and those that are not even read."""
    return int(footage.index.hidden.sum()) + footage.probed.cut_out


def _about_pictures(footage: Footage) -> Iterator[FitnessNote]:
    flaws = footage.ledger.flaws()
    if flaws:
        count = sum(flaw.last - flaw.first + 1 for flaw in flaws)
        spans = _spans([(flaw.first, flaw.last) for flaw in flaws])
        yield FitnessNote(
            kind="damaged pictures",
            weight="not to be trusted",
            found=f"{plural(count, 'frame')} may show what was not there: {_span_words(spans)} "
            f"({flaws[0].words})",
            means="Such a frame is marked on the bench. What is seen in it proves nothing.",
            frames=tuple(spans),
        )
    repeated = _spans([(frame, frame) for frame in footage.checks.repeated])
    frozen = [span for span in repeated if span[1] - span[0] + 1 >= _FROZEN]
    if frozen:
        yield FitnessNote(
            kind="frozen pictures",
            weight="with care",
            found=f"The picture stands still over {_span_words(frozen)}",
            means="Nothing can be seen to happen there: the recorder or a converter held a "
            "picture.",
            frames=tuple(frozen),
        )
    single = [span for span in repeated if span not in frozen]
    if single:
        count = sum(last - first + 1 for first, last in single)
        yield FitnessNote(
            kind="repeated pictures",
            weight="with care",
            found=f"{plural(count, 'frame')} repeat the picture before them: {_span_words(single)}",
            means="The footage was recorded at a lower rate than it is shown at. A repeated frame "
            "adds no instant: bracket by the frames that differ.",
            frames=tuple(single),
        )
    if footage.checks.resized:
        changes = footage.checks.resized
        yield FitnessNote(
            kind="another size",
            weight="with care",
            found=f"The picture changes its size, or is turned, at {_named('frame', changes)}",
            means="The footage was put together, or the recorder was turned. Each picture is shown "
            "in its own shape within that of the first; distances before and after cannot be "
            "compared.",
            frames=tuple((frame, frame) for frame in changes),
        )
    yield from _about_fields(footage)


def _about_fields(footage: Footage) -> Iterator[FitnessNote]:
    scanned = scanned_of(footage.read or footage.index, footage.probed.scanned)
    interlaced = int((scanned % REPEATS != WHOLE).sum())
    held = int((scanned >= REPEATS).sum())
    if footage.scan in ("top", "bottom"):
        yield FitnessNote(
            kind="interlaced",
            weight="with care",
            found=f"Every picture is taken for two fields, the {footage.scan} one first, whatever "
            "it says of itself",
            means="Whoever opened it said so. A wrong order shows what moves going back and forth.",
        )
    elif interlaced and footage.steps_by_field:
        yield FitnessNote(
            kind="interlaced",
            weight="with care",
            found=f"{plural(interlaced, 'picture')} of two fields, taken one after the other; each "
            "field is a frame here, and the lines between its own are interpolated",
            means="Each frame shows one instant. Fine detail up and down is half as sharp: lines "
            "that are not its own prove nothing. Flags may be wrong: where things go back and "
            "forth, or two frames always show the same, try another `--scan`.",
        )
    elif interlaced:
        yield FitnessNote(
            kind="interlaced",
            weight="with care",
            found=f"{plural(interlaced, 'picture')} of two fields, shown woven",
            means="A frame shows two instants, half a frame apart; what moves has combed edges. "
            "`--scan fields` steps by field, in a session of its own.",
        )
    if held:
        yield FitnessNote(
            kind="pulled down",
            weight="to know",
            found=f"{plural(held, 'picture')} held for three fields, as film is shown at 30 a "
            "second",
            means="A field shown again adds no instant and is no frame; times are those of the "
            "stamps.",
        )


def _about_the_file(footage: Footage) -> Iterator[FitnessNote]:
    facts = footage.facts
    declared = facts.declared_frames
    short = declared is not None and declared - facts.packets - footage.probed.cut_out > _SHORTAGE
    if facts.demux_error or (short and not footage.time_doubt and "AVI" not in facts.container):
        counted = f"{declared} pictures declared, {facts.packets} found" if short else ""
        yield FitnessNote(
            kind="not whole",
            weight="with care",
            found="; ".join(filter(None, (facts.demux_error, counted))),
            means="The file holds less than it says: it was cut off, or part of it cannot be read. "
            "What is there is judged; ask for the whole recording.",
        )
    if changed_just_now(footage.path):
        yield FitnessNote(
            kind="just written",
            weight="with care",
            found="The file was written to within the last seconds",
            means="It may still be recorded or copied; wait until that has finished.",
        )
    if facts.tracks > 1:
        yield FitnessNote(
            kind="several tracks",
            weight="to know",
            found=f"{facts.tracks} picture tracks; number {facts.track} is judged",
            means="The track that the file marks as its default is taken, else the largest; "
            "`--track N` takes another.",
        )
    if facts.programs:
        yield FitnessNote(
            kind="written by a program",
            weight="to know",
            found=f"The file says that it was written by {', '.join(facts.programs)}",
            means="It may have been copied, cut or encoded again since it was recorded; a recorder "
            "may also name itself here. Ask for the original where it matters.",
        )


def _spans(ranges: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Ranges with those that touch put together."""
    spans: list[tuple[int, int]] = []
    for first, last in sorted(ranges):
        if spans and first <= spans[-1][1] + 1:
            spans[-1] = (spans[-1][0], max(last, spans[-1][1]))
        else:
            spans.append((first, last))
    return spans


def _span_words(spans: Sequence[tuple[int, int]]) -> str:
    words = [str(first) if first == last else f"{first} to {last}" for first, last in spans]
    return f"frames {_listed(words)}" if spans != [(spans[0][0],) * 2] else f"frame {words[0]}"


def _named(noun: str, numbers: Sequence[int]) -> str:
    return f"{noun}{'s' if len(numbers) > 1 else ''} {_listed([str(n) for n in numbers])}"


def _listed(words: Sequence[str]) -> str:
    more = len(words) - _MOST_NAMED
    return ", ".join(words[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _ms(seconds: Fraction) -> str:
    return f"{seconds_text(seconds * 1000, 1)} ms"


def _number(rate: Fraction) -> str:
    return str(rate.numerator) if rate.denominator == 1 else seconds_text(rate)


def _rate_words(rate: Fraction) -> str:
    exact = "" if rate.denominator == 1 else f" ({rate})"
    return f"{_number(rate)} frames a second{exact}"


def report(told: Fitness) -> str:
    """All of it as text, for a person."""
    lines = [f"{told.name}: {told.frames} frames, {told.seconds} s", told.doubt, ""]
    if not told.checked:
        lines[1:1] = ["Not every frame was decoded: more damage may be found."]
    lines += ["Found:" if told.notes else "Nothing was found against it."]
    for note in told.notes:
        lines += [f"- {note.kind} ({note.weight}): {note.found}.", f"  {note.means}"]
    wide = max(map(len, told.facts))
    lines += ["", *(f"{name:<{wide}}  {words}" for name, words in told.facts.items())]
    return "\n".join(lines) + "\n"
