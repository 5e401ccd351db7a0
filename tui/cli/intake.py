"""``framecall intake``: from a folder of footage and a results list to a docket's claims."""

import argparse
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from sessions.docket.claims import ListedClaim, claims_csv, read_claims
from sessions.docket.docket import DocketFolder
from sessions.docket.intake import (
    MAY_LACK,
    NAMES,
    Intake,
    Origin,
    Results,
    Taken,
    appended,
    guess,
    lacking,
    numbered,
    pair,
    read_results,
    sort,
    take,
)
from sessions.docket.settings import keep_results, read_settings
from sessions.errors import FramecallError
from sessions.plural import plural
from sessions.record.wholefile import write_whole
from sessions.sanitize import sanitize
from tui.cli.output import OPEN, RULED, say, table
from tui.cli.start import loading

ENDINGS = frozenset(
    [
        ".mp4",
        ".m4v",
        ".mov",
        ".mkv",
        ".webm",
        ".avi",
        ".ts",
        ".m2ts",
        ".mts",
        ".mpg",
        ".mpeg",
        ".3gp",
        ".flv",
        ".mxf",
    ]
)
"""How the names of footage end, where a folder is searched."""


class IntakeError(FramecallError):
    """Footage or results cannot be taken in as they were asked for."""


@dataclass(frozen=True, slots=True)
class FoundFootage:
    """Footage that was found: its path within the docket, and what is known of it."""

    path: str
    sha256: str = ""
    seconds: str = ""
    rate: str = ""
    recorded: str = ""
    fit: str = ""
    refused: str = ""


def add_intake(parser: argparse.ArgumentParser) -> None:
    """Take what ``framecall intake`` takes."""
    parser.description = (
        "Find footage in a docket, tell what it is fit for, and make claims of a results list: "
        "any CSV or TSV with names in its first line. Claims that are listed already stay as they "
        "are. Nothing is written until you agree."
    )
    parser.add_argument("folder", type=Path, metavar="DIR", help="the docket, or a new folder")
    parser.add_argument(
        "footage", type=Path, nargs="*", metavar="FOOTAGE",
        help="files or folders within the docket (default: its folder footage)",
    )  # fmt: skip
    parser.add_argument("--results", type=Path, metavar="FILE", help="the results list")
    parser.add_argument(
        "--column", action="append", default=[], metavar="NAME=COLUMN",
        help="take a claim's NAME from this column of the list; kept in docket.toml",
    )  # fmt: skip
    parser.add_argument(
        "--always", action="append", default=[], metavar="NAME=TEXT",
        help="what NAME is in every line, where the list does not tell it; kept too",
    )  # fmt: skip
    parser.add_argument(
        "--pair", action="append", default=[], metavar="LINE=FOOTAGE",
        help="the footage of a line of the list, where names do not tell it",
    )  # fmt: skip
    parser.add_argument("--yes", action="store_true", help="write the claims without asking")


def run_intake(arguments: argparse.Namespace) -> int:
    """Tell of the footage and take in the results; returns the exit code."""
    folder = DocketFolder(arguments.folder)
    clips = tuple(_clips(folder, arguments.footage))
    claims = read_claims(folder.claims_file) if folder.claims_file.exists() else ()
    say(footage_text(clips, claims))
    if arguments.results is None:
        return RULED
    results = read_results(arguments.results)
    columns = _columns(results, folder, arguments)
    taken = take(results, columns, arguments.results)
    taken = _paired(taken, clips, _pairs(arguments.pair, taken, clips))
    found = sort(taken, claims)
    found = replace(found, new=numbered(found.new, [claim.claim for claim in claims]))
    say(intake_text(found))
    if not found.new:
        return RULED if not found.without and not found.other else OPEN
    if not arguments.yes and not _agreed(f"Write {plural(len(found.new), 'claim')}?"):
        say("Nothing was written.\n")
        return OPEN
    _write(folder, [one.claim for one in found.new])
    keep_results(folder.settings_file, columns)
    say(f"{plural(len(found.new), 'claim')} written to {sanitize(str(folder.claims_file))}.\n")
    return RULED if not found.without and not found.other else OPEN


# -- footage


def _clips(folder: DocketFolder, asked: Sequence[Path]) -> Iterator[FoundFootage]:
    """The footage that is asked for, each with what opening it tells."""
    with loading():
        from tui.footage.fitness import fitness
        from tui.footage.footage import Footage
    from tui.bench.opening import progress_line

    root = folder.path.resolve()
    usual = folder.path / "footage"
    for path in _files(asked or ([usual] if usual.is_dir() else [])):
        inside = path.absolute()
        if not inside.is_relative_to(folder.path.absolute()) and not path.resolve().is_relative_to(
            root
        ):
            raise IntakeError(
                f"{path} lies outside the docket {folder.path}; put it, or a link to it, inside."
            )
        name = _within(folder.path, path)
        try:
            footage = Footage.open(path, progress=progress_line())
        except FramecallError as error:
            yield FoundFootage(name, refused=str(error))
            continue
        told = fitness(footage)
        yield FoundFootage(
            path=name,
            sha256=footage.sha256,
            seconds=told.seconds,
            rate=told.rate or "not steady",
            recorded=footage.facts.recorded or "",
            fit=told.worst,
        )


def _within(folder: Path, path: Path) -> str:
    """A path within the docket, as a claims file has it."""
    try:
        return path.absolute().relative_to(folder.absolute()).as_posix()
    except ValueError:
        return path.resolve().relative_to(folder.resolve()).as_posix()


def _files(asked: Iterable[Path]) -> Iterator[Path]:
    for path in asked:
        if path.is_dir():
            inside = (p for p in path.rglob("*") if p.suffix.lower() in ENDINGS and p.is_file())
            yield from sorted(inside)
        elif path.exists():
            yield path
        else:
            raise IntakeError(
                f"There is no footage at {path}; name a file or folder that is there."
            )


FOOTAGE_HEADINGS = ("footage", "seconds", "a second", "recorded", "fit", "claims")


def footage_text(clips: Sequence[FoundFootage], claims: Iterable[ListedClaim]) -> str:
    """The footage as a table, and which of it is the same twice."""
    if not clips:
        return "No footage was found.\n"
    claimed: dict[str, list[str]] = {}
    for claim in claims:
        claimed.setdefault(claim.footage, []).append(claim.claim)
    rows = [
        (
            c.path,
            c.seconds,
            c.rate,
            c.recorded or "-",
            c.fit,
            " ".join(claimed.get(c.path, [])) or "-",
        )
        for c in clips
        if not c.refused
    ]
    told = table([FOOTAGE_HEADINGS, *rows]) if rows else ""
    refused = "".join(f"{sanitize(c.refused)}\n" for c in clips if c.refused)
    return f"{told}{refused}{''.join(_twice(clips))}"


def _twice(clips: Iterable[FoundFootage]) -> Iterator[str]:
    """A line on footage whose bytes are those of other footage."""
    first: dict[str, str] = {}
    for clip in clips:
        before = first.setdefault(clip.sha256, clip.path) if clip.sha256 else clip.path
        if before != clip.path:
            yield sanitize(f"{clip.path} is the same footage as {before}, byte for byte.") + "\n"


# -- the columns


def _columns(
    results: Results, folder: DocketFolder, arguments: argparse.Namespace
) -> dict[str, Origin]:
    """Where each column of a claim is from: as asked for, as kept, by its name, or by asking."""
    asked = {name: Origin(column=text) for name, text in _told("--column", arguments.column)}
    asked |= {name: Origin(always=text) for name, text in _told("--always", arguments.always)}
    kept = read_settings(folder.settings_file).results.origins
    usable = {n: o for n, o in kept.items() if not o.column or o.column in results.names}
    columns = guess(results) | usable | asked
    missing = lacking(columns)
    if missing and not _can_ask():
        raise IntakeError(
            f"The results list {arguments.results} has no column for {', '.join(missing)}; it has "
            f"{', '.join(results.names)}: name one with --column {missing[0]}=COLUMN, or what it "
            f"always is with --always {missing[0]}=TEXT."
        )
    if missing:
        wanted = [name for name in NAMES if name not in columns]
        columns |= dict(_ask(results, wanted))
    return {name: columns[name] for name in NAMES if name in columns}


def _told(option: str, pairs: Iterable[str]) -> Iterator[tuple[str, str]]:
    for told in pairs:
        name, mark, text = told.partition("=")
        if name not in NAMES or not mark or not text:
            raise IntakeError(
                f'{option} "{told}" names no column of a claim; write NAME=TEXT, with one of '
                f"{', '.join(NAMES)}."
            )
        yield name, text


def _can_ask() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def _ask(results: Results, wanted: Sequence[str]) -> Iterator[tuple[str, Origin]]:
    """Ask for each column in a terminal: by its number, or as a text that is always so."""
    say("\nThe columns of the results list, each with its first cell:\n")
    rows = [(str(n), name, results.example(name)) for n, name in enumerate(results.names, 1)]
    say(table(rows, left=3))
    say('Answer with a number; or with = and a text that holds for every line, such as "=U10".\n')
    for name in wanted:
        optional = name in MAY_LACK
        yield from _answered(name, results, f"{name}{' (Enter: none)' if optional else ''}: ")


def _answered(name: str, results: Results, prompt: str) -> Iterator[tuple[str, Origin]]:
    while True:
        answer = _line(prompt)
        if not answer and name in MAY_LACK:
            return
        if answer.startswith("=") and len(answer) > 1:
            yield name, Origin(always=answer[1:])
            return
        if answer.isdecimal() and 1 <= int(answer) <= len(results.names):
            yield name, Origin(column=results.names[int(answer) - 1])
            return
        say(f"Answer with a number from 1 to {len(results.names)}, or with = and a text.\n")


def _line(prompt: str) -> str:
    try:
        return input(prompt).strip()
    except EOFError:
        raise IntakeError("The answers ended; nothing was written. Begin again.") from None


def _agreed(question: str) -> bool:
    if not _can_ask():
        say(f"{question} Give --yes to do so.\n")
        return False
    return _line(f"{question} (y/n) ").casefold() in ("y", "yes")


# -- pairing and writing


def _pairs(
    asked: Iterable[str], taken: Sequence[Taken], clips: Sequence[FoundFootage]
) -> dict[int, str]:
    lines, paths = {one.line for one in taken}, {clip.path for clip in clips}
    found = {}
    for told in asked:
        line, _, path = told.partition("=")
        if not line.isdecimal() or int(line) not in lines:
            raise IntakeError(
                f'--pair "{told}" names no line of the results list; write LINE=FOOTAGE.'
            )
        if path not in paths:
            raise IntakeError(
                f'--pair "{told}" names no footage that was found; take one listed above.'
            )
        found[int(line)] = path
    return found


def _paired(
    taken: tuple[Taken, ...], clips: Sequence[FoundFootage], by_hand: dict[int, str]
) -> tuple[Taken, ...]:
    usable = [clip.path for clip in clips if not clip.refused]
    footage = pair(taken, usable) | by_hand
    return tuple(
        replace(one, claim=replace(one.claim, footage=footage.get(one.line, one.claim.footage)))
        for one in taken
    )


def intake_text(found: Intake) -> str:
    """What would be written, and what would not and why."""
    rows = [
        (c.claim, c.event, c.division, c.competitor, c.time, c.footage)
        for c in (one.claim for one in found.new)
    ]
    told = table([("claim", "event", "division", "competitor", "time", "footage"), *rows], left=6)
    parts = [f"\n{told}" if rows else "\nNothing is new.\n"]
    parts += [f"Line {one.line}: {said}.\n" for one in found.new for said in one.mended]
    if found.known:
        parts.append(f"{plural(len(found.known), 'line')} of the list are claims already.\n")
    parts += [
        f"Line {one.line}: claim {one.claim.claim} is listed already, and says otherwise; it stays "
        "as it is.\n"
        for one in found.other
    ]
    parts += [
        f"Line {one.line}: no footage is found for {one.claim.competitor}, {one.claim.event}, "
        f"{one.claim.time} s; give --pair {one.line}=FOOTAGE.\n"
        for one in found.without
    ]
    return "".join(sanitize_lines(parts))


def sanitize_lines(parts: Iterable[str]) -> Iterator[str]:
    """Lines with their hidden characters shown."""
    for part in parts:
        yield "\n".join(map(sanitize, part.split("\n")))


def _write(folder: DocketFolder, claims: Sequence[ListedClaim]) -> None:
    """Add claims behind those that are listed, whose bytes stay as they are."""
    path = folder.claims_file
    try:
        folder.path.mkdir(parents=True, exist_ok=True)
        if path.exists():
            write_whole(path, appended(path.read_bytes(), claims))
        else:
            write_whole(path, claims_csv(claims).encode("utf-8-sig"))
    except OSError as error:
        raise IntakeError(
            f"The claims file {path} cannot be written ({error.strerror}); check the folder."
        ) from None
