"""How a claim stands, as a page to read before its ruling is issued."""

from collections.abc import Iterator

from sessions.docket.blindness import claim_for
from sessions.docket.claim_state import ClaimState
from sessions.docket.docket import DocketFolder
from sessions.docket.review_summary import ReviewSummary
from sessions.errors import EntryRefused
from sessions.plural import joined
from sessions.ruling.judge import rule
from sessions.ruling.report import report
from sessions.sanitize import sanitize
from tui.docket.rows import AT_ODDS, SETTLED_OTHERWISE
from tui.documents.docketed import LastIssued, last_issued
from tui.documents.sources import as_listed, read_whole_session
from tui.documents.words import headline


def claim_page(folder: DocketFolder, state: ClaimState, reviewer: str) -> str:
    """The ruling of a claim, what rules it, and what was issued; else a reviewer's own ruling.

    Raises EntryRefused where the claim is not ruled and the reviewer has no review of it, and
    SessionError or DocumentError where a file is not as it was.
    """
    review = state.deciding[0] if state.deciding else _own(state, reviewer)
    path = folder.session(review.claim, review.reviewer, settling=bool(review.settles))
    listed = state.claim
    ruling = rule(as_listed(read_whole_session(path)[0], claim_for(listed, shown=True)))
    lines = [
        *([headline(ruling)] if state.deciding else []),
        *_standing(state, review),
        f"Record before: {listed.record} s." if listed.record else "There was no record before.",
    ]
    lines += state.unwatched
    if state.at_odds:
        lines.append(AT_ODDS.format(joined(state.at_odds)))
    if others := state.settled_otherwise:
        lines.append(SETTLED_OTHERWISE.format(joined(others)))
    if state.deciding:
        last = last_issued(folder, state)
        lines.append("No document was issued yet." if last is None else last_words(last))
    return plain_lines(lines) + "\n\n" + report(ruling)


def plain_lines(lines: list[str]) -> str:
    """Lines of words, their hidden characters shown."""
    return "\n".join(sanitize(line) for line in lines)


def last_words(last: LastIssued) -> str:
    """What was issued last of a claim, and whether it still holds."""
    issued = f"Ruling {last.number} was issued on {last.day}"
    if last.holds:
        return f"{issued}, from the sessions that rule the claim now."
    return f"{issued}; a session behind it was changed since, so issue it anew."


def _standing(state: ClaimState, review: ReviewSummary) -> Iterator[str]:
    if not state.deciding:
        yield f"Not ruled yet ({state.state}); your own review says:"
        return
    names = [one.reviewer for one in state.counted if not one.settles]
    yield f"Reviewed by {joined(names)}."
    if review.settles:
        yield f"What they saw differently was settled by {review.reviewer}."


def _own(state: ClaimState, reviewer: str) -> ReviewSummary:
    own = [r for r in state.reviews if r.reviewer == reviewer and not r.settles and not r.problem]
    if not own:
        raise EntryRefused(
            f"Claim {sanitize(state.claim.claim)} is not ruled yet (it is {state.state}), and you "
            "have no review of it."
        )
    return own[0]
