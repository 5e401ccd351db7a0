"""Random dockets: claims of a few contests, and reviews that mostly see the same footage alike."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from hypothesis import strategies as st

from sessions.docket.claims import ListedClaim
from sessions.docket.review_summary import ReviewedRun, ReviewSummary
from sessions.ruling.ruling import Standing

TIMES = ("5.731", "5.7310", "5.732", "6.113", "6.1", "7.97")
REVIEWERS = ("R1", "R2", "R3", "Zo\u00eb%2E", "\u202eR4")
IDS = ("C-a", "C-b", "C.c", "C%2Ed", "\u0643-e", "\u202eC-f", "c g")
EVENTS = ("3-3-3", "3-3-3", "3-3-3", "cycle", "own.toml")
RIVALS = ("ZQ-1", "ZQ-1", "ZQ-2")
DIVISIONS = ("U10", "U10", "U12")
RULES = ("clock.picture", "cup.mark", "start.still", "down.let-go")
BRACKETS = st.sampled_from([None, (9, 10), (9, 11), (11, 12), (12, 13), (20, 25)])
FOOTAGE = ("f" * 64, "e" * 64)


@dataclass(frozen=True)
class Drawn:
    """The claims of a docket and all reviews of them, by the time of their last entry."""

    claims: tuple[ListedClaim, ...]
    reviews: tuple[ReviewSummary, ...]

    def of(self, claim: ListedClaim) -> tuple[ReviewSummary, ...]:
        return tuple(review for review in self.reviews if review.claim == claim.claim)


@st.composite
def runs(draw: st.DrawFn, number: int) -> ReviewedRun:
    standing = draw(
        st.sampled_from([Standing.STANDS, Standing.STANDS, Standing.SCRATCH, Standing.VOID,
                         Standing.NOT_PROVEN, Standing.OPEN])
    )  # fmt: skip
    falls = standing in (Standing.SCRATCH, Standing.VOID)
    return ReviewedRun(
        number=number,
        standing=standing,
        time=draw(st.sampled_from([*TIMES, None])),
        broken=tuple(sorted(draw(st.sets(st.sampled_from(RULES), min_size=1))))
        if falls
        else draw(st.sampled_from([(), (), RULES[:1]])),
        doubtful=tuple(sorted(draw(st.sets(st.sampled_from(RULES), max_size=1)))),
        start=draw(BRACKETS),
        stop=draw(BRACKETS),
        possible=draw(st.sampled_from([None, ("5", "6"), ("57309/10000", "29/5"), ("7", "8")])),
    )


@st.composite
def tapes(draw: st.DrawFn) -> tuple[ReviewedRun, ...]:
    return tuple(draw(runs(number)) for number in range(1, draw(st.integers(0, 3)) + 1))


@st.composite
def seen(draw: st.DrawFn, tape: tuple[ReviewedRun, ...]) -> tuple[ReviewedRun, ...]:
    """What a reviewer sees of a tape: most often what is on it."""
    match draw(st.sampled_from(["true", "true", "true", "other", "bracket", "doubt"])):
        case "other":
            return draw(tapes())
        case "bracket":
            return tuple(replace(run, start=draw(BRACKETS)) for run in tape)
        case "doubt":
            return tuple(replace(run, doubtful=("start.still",)) for run in tape)
    return tape


@st.composite
def reviews_of(
    draw: st.DrawFn, claim: ListedClaim, tape: tuple[ReviewedRun, ...], first: int
) -> list[ReviewSummary]:
    """Reviews of one claim, and now and then a settling of some or all of them."""
    names = draw(st.lists(st.sampled_from(REVIEWERS), max_size=4))
    found = [draw(review(claim, tape, name, first + n)) for n, name in enumerate(names)]
    hashes = [one.sha256 for one in found]
    for number in range(draw(st.sampled_from([0, 0, 1, 2])) if hashes else 0):
        some = draw(st.sampled_from([hashes, hashes, hashes[1:], [*hashes, "0" * 64]]))
        one = draw(review(claim, tape, draw(st.sampled_from(REVIEWERS)), first + 10 + number))
        found.append(replace(one, settles=tuple(sorted(some))))
    return draw(st.permutations(found))


@st.composite
def review(
    draw: st.DrawFn, claim: ListedClaim, tape: tuple[ReviewedRun, ...], name: str, number: int
) -> ReviewSummary:
    mostly = st.sampled_from([True] * 15 + [False])
    own = draw(seen(tape))
    named = "own" if claim.event.endswith(".toml") else claim.event
    standing = [run.time for run in own if run.standing is Standing.STANDS and run.time]
    return ReviewSummary(
        claim=claim.claim,
        reviewer=name,
        problem="" if draw(mostly) else "cannot be used: it is damaged",
        event=named if draw(mostly) else "3-6-3",
        finished=draw(mostly),
        made=draw(mostly),
        best_time=min(standing, key=float, default=None),
        runs=own,
        unwatched="" if draw(mostly) else "3 of 9 frames were never watched",
        not_shown=not draw(mostly),
        footage_sha256=claim.footage if draw(mostly) else "d" * 64,
        sha256=f"{number:064x}",
        last_at=f"2031-05-04T09:30:{number % 60:02}Z",
    )


@st.composite
def dockets(draw: st.DrawFn, rivals: bool = False) -> Drawn:
    """A docket; with ``rivals``, two competitors make all claims, so that they claim one run."""
    claims, reviews, tapes_of = [], list[ReviewSummary](), {f: draw(tapes()) for f in FOOTAGE}
    for number, name in enumerate(draw(st.lists(st.sampled_from(IDS), unique=True, min_size=1))):
        claim = ListedClaim(
            claim=name,
            event=draw(st.sampled_from(EVENTS)),
            division=draw(st.sampled_from(DIVISIONS)),
            competitor=draw(st.sampled_from(RIVALS)) if rivals else f"ZQ-{number}",
            time=draw(st.sampled_from(TIMES)),
            record=draw(st.sampled_from([*TIMES[-2:], "9.25", "9.25", "9.25", ""])),
            footage=draw(st.sampled_from(FOOTAGE)),
        )
        claims.append(claim)
        reviews += draw(reviews_of(claim, tapes_of[claim.footage], 20 * number))
    return Drawn(tuple(claims), tuple(reviews))


def names_of(drawn: Drawn) -> Sequence[str]:
    return sorted({review.reviewer for review in drawn.reviews} | {"R9"})
