"""Plain words on who looked at the footage, whether they agreed, and what was settled between them.

Text from outside is left as it is here; whoever prints it shows its hidden characters.
"""

from collections.abc import Iterable, Iterator

from sessions.plural import joined, nouns
from sessions.record.amendments import Amendment
from sessions.settling.settlement import SettledPoint
from tui.documents.pages import DocketFacts, RulingDocument

ALONE = "This ruling rests on the review by {0} alone; nobody else has reviewed the footage."


def reviewers(document: RulingDocument) -> tuple[str, ...]:
    """Who looked at the footage, a sentence an entry."""
    return tuple(_reviewers(document))


def names_of(document: RulingDocument) -> tuple[str, ...]:
    """The reviewers whose reviews the ruling rests on; who settled them is none of these."""
    reviews = document.session.settles if document.docket is None else document.docket.reviews
    return tuple(review.reviewer for review in reviews) or (document.ruling.reviewer,)


def settled(document: RulingDocument) -> tuple[str, ...]:
    """What the reviewers saw differently and how each point was settled, an entry a point."""
    return tuple(_point(point, document) for point in document.settled)


def _reviewers(document: RulingDocument) -> Iterator[str]:
    settles, docket = document.session.settles, document.docket
    names = names_of(document)
    if len(names) < 2:
        yield ALONE.format(*names)
        yield from _amended(document.ruling.reviewer, document.session.amended)
        return
    blind = ", before any of them knew the claimed time or what another had found"
    looked = f"{joined(names)} each looked at the footage on their own"
    yield f"{looked}{blind if _blind(docket) else ''}."
    for review in docket.reviews if docket is not None else ():
        yield from _amended(review.reviewer, review.amended)
    yield from _one_sided(docket)
    if not settles:
        yield "They came to the same ruling."
        return
    yield from _amended(document.ruling.reviewer, document.session.amended)
    count = len(document.settled)
    points = "one point" if count == 1 else f"{count} points"
    yield f"They saw {points} differently, which {document.ruling.reviewer} settled afterwards:"


def _one_sided(docket: DocketFacts | None) -> Iterator[str]:
    """Who alone tagged an attempt with the claimed time: no second look has checked that one."""
    reviews = () if docket is None else docket.reviews
    found = [review.reviewer for review in reviews if review.claimed]
    others = [review.reviewer for review in reviews if review.claimed is False]
    if found and others:
        yield (
            f"An attempt with the claimed time was recorded by {joined(found)} only; "
            f"{joined(others)} recorded none."
        )


def _amended(reviewer: str, amended: Iterable[Amendment]) -> Iterator[str]:
    """Every change to a finished review: its reviewer may have known the claim by then."""
    for amendment in amended:
        yield (
            f"{reviewer} changed the review after it was finished, when the claim may have been "
            f"known; the reason given: {amendment.reason.rstrip('.')}."
        )


def _blind(docket: DocketFacts | None) -> bool:
    return docket is not None and all(review.blind for review in docket.reviews)


def _point(point: SettledPoint, document: RulingDocument) -> str:
    run = "" if point.run is None else f"Run {point.run}: "
    looked = f"looked at again by {document.ruling.reviewer}"
    how = looked if point.taken is None else f"settled as {point.taken} found it"
    frames = joined([str(place.frame) for place in point.at])
    where = f" ({nouns(len(point.at), 'frame')} {frames})" if point.at else ""
    return f"{run}{point.title}: {how}{where}. The reason given: {point.reason}"
