"""The reviews behind a ruling, as a table for an official."""

from sessions.plural import plural
from sessions.record.amendments import Amendment
from sessions.record.entries import TakenOver
from tui.documents.pages import DocketFacts
from tui.documents.tables import Table


def amended_words(amendment: Amendment) -> str:
    """How much was changed in a finished review, and why."""
    return f"{plural(amendment.entries, 'entry')}; the reason: {amendment.reason}"


def reviews(docket: DocketFacts) -> Table:
    """The reviews that count, with what became of each."""
    columns = (
        "Reviewer", "Begun (UTC)", "Finished (UTC)", "Blind until then", "Frames shown",
        "Claimed time recorded", "Amended after", "SHA-256 of the session file",
    )  # fmt: skip
    rows = tuple(
        (
            r.reviewer,
            r.begun,
            r.finished or "not marked",
            "yes" if r.blind else "no",
            "not kept" if r.shown is None else str(r.shown),
            "not kept" if r.claimed is None else "yes" if r.claimed else "no",
            "; ".join(map(amended_words, r.amended)) or "no",
            r.sha256,
        )
        for r in docket.reviews
    )
    note = f"The claim is that of the claims file with SHA-256 {docket.claims_sha256}."
    for review in docket.reviews:
        if review.taken_over is not None:
            origin = origin_words(review.taken_over)
            note += f" {review.reviewer} began with own tags on the same footage: {origin}."
    return Table("Reviews that count", columns, rows, note)


def origin_words(taken: TakenOver) -> str:
    """Where tags come from that a reviewer took over from another claim."""
    return f"those on claim {taken.claim}, session SHA-256 {taken.sha256}"
