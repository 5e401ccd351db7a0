"""Time code labels of frames.

Source: SMPTE ST 12-1 (from memory): at 30000/1001 frames a second the drop-frame labels leave out
frame numbers 0 and 1 of every minute except each tenth; at 60000/1001, 0 to 3. Other rates count
every frame.
"""

from fractions import Fraction

_DROPPED = {Fraction(30000, 1001): 2, Fraction(60000, 1001): 4}


def label(frame: int, rate: Fraction, *, drops: bool = True) -> str:
    """The label ``hh:mm:ss:ff`` of a frame counted from 0 at a constant rate in frames a second.

    Where the recording does not drop labels, although its rate allows it, ``drops`` is false.
    """
    whole = round(rate)
    dropped = _DROPPED.get(rate, 0) if drops else 0
    number = frame + _left_out(frame, whole, dropped)
    seconds, ff = divmod(number, whole)
    minutes, ss = divmod(seconds, 60)
    hours, mm = divmod(minutes, 60)
    return f"{hours % 24:02d}:{mm:02d}:{ss:02d}{';' if dropped else ':'}{ff:02d}"


def frame_of(text: str, rate: Fraction, *, drops: bool = True) -> int | None:
    """The frame, of the first day, that bears a label; ``None`` where none at this rate does.

    The last mark may be a colon or a semicolon, whichever the rate is written with.
    """
    hh, mm, ss, ff = (int(part) for part in text.replace(";", ":").split(":"))
    whole, minutes = round(rate), 60 * hh + mm
    frame = (60 * minutes + ss) * whole + ff
    frame -= _DROPPED.get(rate, 0) * (minutes - minutes // 10) if drops else 0
    wanted = f"{hh:02d}:{mm:02d}:{ss:02d}:{ff:02d}"
    same = frame >= 0 and label(frame, rate, drops=drops).replace(";", ":") == wanted
    return frame if same else None


def day_of(rate: Fraction, *, drops: bool = True) -> int:
    """How many labels there are before they begin again, after 24 hours."""
    dropped = _DROPPED.get(rate, 0) if drops else 0
    return 24 * (60 * 60 * round(rate) - 54 * dropped)


def _left_out(frame: int, whole: int, dropped: int) -> int:
    """How many labels were left out before this frame."""
    minute = whole * 60 - dropped
    ten_minutes = minute * 10 + dropped
    tens, rest = divmod(frame, ten_minutes)
    minutes = 0 if rest < whole * 60 else 1 + (rest - whole * 60) // minute
    return dropped * (9 * tens + minutes)
