"""Ruling documents to test with: invented sessions, and plain pictures in place of footage."""

from dataclasses import dataclass, field
from fractions import Fraction
from hashlib import sha256
from typing import Any

import numpy as np

from sessions.record.entries import Entry, Reading
from sessions.record.header import Claim, FootageFacts, Header
from sessions.record.session import Session
from sessions.ruling.judge import rule
from sessions.ruling.ruling import Ruling, place_of
from tests.sessions.samples import cups_and_frames, faultless_run, header, spot
from tests.sessions.tags import session_from
from tui.documents.exhibits import Pixels, Stills, plan, take_stills
from tui.documents.league import League
from tui.documents.pages import Exhibit, PictureFacts, RulingDocument, SessionFacts
from tui.footage.picture import Picture

SIZE = (320, 180)
CLAIM = Claim(id="C-17", competitor="LQ-500")

LEAGUE = League(
    format="framecall-league",
    version=1,
    name="Lantern Quay Stacking League",
    address=("Records office", "1 Invented Quay"),
    appeal="Write to us.\n\nWithin\nfourteen days.",
)


@dataclass
class PlainPictures:
    """A bright square on grey that moves four pixels a frame, in place of a frame store."""

    size: tuple[int, int] = SIZE
    flaws: dict[int, str] = field(default_factory=dict)

    def full(self, frame: int) -> Picture:
        width, height = self.size
        pixels = np.full((height, width, 3), 80, np.uint8)
        left = 4 * frame % (width - 24)
        pixels[height // 2 : height // 2 + 24, left : left + 24] = (240, 200, 40)
        return Picture(frame, spot(frame).pts, pixels, self.size, self.flaws.get(frame))


def still_picture(pixels: Pixels) -> Picture:
    return Picture(0, 0, pixels, (pixels.shape[1], pixels.shape[0]), None)


def head(claim: Claim = CLAIM, event: str = "3-3-3", **changes: Any) -> Header:
    """The header of a session; ``changes`` are of the header, or of its footage."""
    plain = header(event)
    footage = {name: changes.pop(name) for name in list(changes) if name in _FOOTAGE}
    facts = plain.footage.model_copy(update=footage)
    return plain.model_copy(update={"claim": claim, "footage": facts, **changes})


_FOOTAGE = frozenset(FootageFacts.model_fields)


def session(
    *tags: str, claim: Claim = CLAIM, before: tuple[Entry, ...] = (), **changes: Any
) -> Session:
    """A session of these tags, with every cup's mark seen and all of the footage shown."""
    first = head(claim, **changes)
    return session_from(first, tags, *cups_and_frames(first), *before)


def claimed(*tags: str, run: int = 1, **changes: Any) -> Session:
    """As ``session``, but what is claimed is the time that a run reads."""
    told = session(*tags, **changes)
    time = next(ruled.time for ruled in rule(told).runs if ruled.run == run)
    return session(*tags, claim=CLAIM.model_copy(update={"time": time}), **changes)


def exhibits(ruling: Ruling) -> tuple[Exhibit, ...]:
    return plan(ruling, lambda frame: place_of(ruling.footage, frame, spot(frame).pts))


def document(
    told: Session, pictures: PlainPictures | None = None, **changes: Any
) -> tuple[RulingDocument, dict[str, Stills]]:
    """The document of a session as ruling 1, with its stills."""
    source, ruling = pictures or PlainPictures(), rule(told)
    taken = [take_stills(exhibit, source, Fraction(1)) for exhibit in exhibits(ruling)]
    fields: dict[str, Any] = {
        "program": "framecall 0",
        "issued": "2031-06-01T10:00:00Z",
        "number": 1,
        "session": session_facts(),
        "event": told.header.event,
        "picture": PICTURE,
        "ruling": ruling,
        "exhibits": tuple(exhibit for exhibit, _ in taken),
    }
    made = RulingDocument.model_validate(fields | changes)
    return made, {exhibit.name: stills for exhibit, stills in taken}


def session_facts(**changes: Any) -> SessionFacts:
    fields: dict[str, Any] = {
        "file": "invented.session.jsonl",
        "sha256": sha256(b"invented").hexdigest(),
        "program": "framecall 0",
        "begun": "2031-05-04T09:30:00Z",
        "entries": 20,
        "first_entry": "2031-05-04T09:30:00Z",
        "last_entry": "2031-05-04T09:40:00Z",
        "withdrawn": 1,
        "finished": None,
        "blind": None,
        "settles": (),
        "calls": (("still", 12), ("1/4", 3)),
        "unseen": (),
        "real_speed": ((0, 99),),
    }
    return SessionFacts.model_validate(fields | changes)


PICTURE = PictureFacts(
    size=SIZE,
    pixel_aspect="1:1",
    pixel_format="yuv420p",
    matrix="BT.709",
    matrix_assumed=True,
    full_range=False,
    range_assumed=False,
    scan="progressive",
    rotation=0,
    declared_rate="30000/1001",
    decoder="none",
    stills="JPEG",
)

SCRATCH = ("clean 1 at 0", "look 1 start.grip refuted 8")
DOUBT = ("clean 1 at 0", "look 1 start.grip unproven 9 10")
STANDS = ("clean 1 at 0",)


def two_runs() -> tuple[Entry, ...]:
    """Two runs that stand by themselves; the second reads a hundredth of a second less."""
    event = head().event
    first = list(faultless_run(event, 1, 0))
    (time,) = [float(entry.display) for entry in first if isinstance(entry, Reading)]
    return (*first, *faultless_run(event, 2, 300, f"{time - 0.01:.3f}"))
