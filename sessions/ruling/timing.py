"""Times as rationals: elapsed time between two brackets, and whether a display agrees with it.

An instant in ``(a, b]`` has a time in ``(pts(a), pts(b)]`` seconds, so the time elapsed between two
instants lies strictly between the bounds below. Uncertainty: JCGM 100:2008, 4.3.7, an instant is
rectangular over its bracket, with variance (width / 2)^2 / 3 = width^2 / 12; the variances of
start and stop add (5.1.2). Clause numbers from memory.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from sessions.rules.events import Clock, Rounding


@dataclass(frozen=True, slots=True)
class Elapsed:
    """The open interval of an elapsed time, and its variance, in seconds and seconds squared."""

    shortest: Fraction
    longest: Fraction
    variance: Fraction

    @property
    def midpoint(self) -> Fraction:
        """The best estimate, in seconds."""
        return (self.shortest + self.longest) / 2

    @property
    def uncertainty(self) -> float:
        """Standard uncertainty in seconds: for words, never for a verdict."""
        return math.sqrt(self.variance)


def elapsed(start: tuple[Fraction, Fraction], stop: tuple[Fraction, Fraction]) -> Elapsed:
    """Elapsed time from a start in ``(a, b]`` to a stop in ``(c, d]``, all in seconds."""
    (a, b), (c, d) = start, stop
    return Elapsed(c - b, d - a, ((b - a) ** 2 + (d - c) ** 2) / 12)


def displayed(display: str, clock: Clock) -> tuple[Fraction, Fraction]:
    """The least and greatest time in seconds that a display's reading can stand for."""
    reading, step = Fraction(display), clock.step
    low, high = {
        Rounding.UNSTATED: (-step, step),
        Rounding.NEAREST: (-step / 2, step / 2),
        Rounding.DOWN: (Fraction(0), step),
        Rounding.UP: (-step, Fraction(0)),
    }[clock.rounding]
    return reading + low, reading + high


def agrees(display: str, clock: Clock, by_picture: Elapsed) -> bool:
    """Whether the picture leaves the displayed time possible."""
    least, most = readings_possible(by_picture, clock)
    return least < Fraction(display) < most


def readings_possible(by_picture: Elapsed, clock: Clock) -> tuple[Fraction, Fraction]:
    """The open bounds, in seconds, of what a display can read by the picture."""
    low, high = displayed("0", clock)
    return by_picture.shortest - high, by_picture.longest - low


def bounds_text(by_picture: Elapsed, clock: Clock) -> str:
    """The bounds in seconds as ``1.983-2.017``, rounded outwards to what the display can tell.

    So a reading that agrees lies within the bounds as they are written.
    """
    unit = clock.step / 2 if clock.rounding is Rounding.NEAREST else clock.step
    low = math.floor(by_picture.shortest / unit) * unit
    high = math.ceil(by_picture.longest / unit) * unit
    places = next((n for n in range(3, 7) if (unit * 10**n).denominator == 1), 6)
    return f"{seconds_text(low, places)}-{seconds_text(high, places)}"


def seconds_text(seconds: Fraction, places: int = 3) -> str:
    """Seconds as a decimal, rounded half to even at ``places``."""
    units = round(abs(seconds) * 10**places)
    sign = "-" if seconds < 0 and units else ""
    whole, rest = divmod(units, 10**places)
    return f"{sign}{whole}.{rest:0{places}d}"


def clock_text(seconds: Fraction) -> str:
    """A time from the first frame as ``m:ss.mmm``."""
    thousandths = round(abs(seconds) * 1000)
    sign = "-" if seconds < 0 and thousandths else ""
    minutes, rest = divmod(thousandths, 60_000)
    return f"{sign}{minutes}:{rest // 1000:02d}.{rest % 1000:03d}"
