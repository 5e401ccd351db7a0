import fcntl
import os
import pty
import select
import struct
import termios
import threading
import time
import tty
from collections.abc import Mapping

import pyte
import pytest
from textual._xterm_parser import XTermParser
from textual.events import CursorPosition

from tui.picture.terminal import (
    KNOCK,
    QUERIES,
    Terminal,
    TerminalQuestions,
    _window,
    ended,
    probe,
    read_replies,
    understands_queries,
)

UTF8 = {"LANG": "en_GB.UTF-8"}

XTERM = (
    b"\x1b[?2026;0$y\x1b[6;16;8t\x1b[4;720;1280t\x1bP>|XTerm(390)\x1b\\"
    b"\x1bP1$r0;48:2::1:2:3m\x1b\\\x1b[7;2R\x1b[7;2R\x1b[7;4R\x1b[?64;1;2;6;9;15;16;17;18;21;22;28c"
)
TMUX = b"\x1bP>|tmux 3.3a\x1b\\\x1b[1;2R\x1b[1;2R\x1b[1;4R\x1b[?1;2c"
NO_WIDTH = b"\x1b[7;2R\x1b[7;1R\x1b[7;4R\x1b[?1;2c"
FOOT = (
    b"\x1b[?2026;2$y\x1b[6;18;9t\x1b[4;810;1440t\x1bP>|foot(1.16.2)\x1b\\"
    b"\x1bP1$r0;48:2::1:2:3m\x1b\\\x1b[1;2R\x1b[1;2R\x1b[1;4R\x1b[?62;4;22;28;29c"
)
KITTY = (
    b"\x1b[?2026;2$y\x1b[6;20;10t\x1b[4;900;1600t\x1bP>|kitty(0.40.0)\x1b\\"
    b"\x1bP1$r48:2:1:2:3m\x1b\\\x1b_Gi=31;OK\x1b\\\x1b[9;2R\x1b[9;2R\x1b[9;4R\x1b[?62;52;c"
)
LATIN = b"\x1b[1;4R\x1b[1;5R\x1b[1;4R\x1b[?1;2c"


@pytest.mark.parametrize(
    ("replies", "environment", "expected"),
    # tmux as recorded from its version 3.3a; the others from memory
    [
        pytest.param(
            XTERM,
            {"TERM": "xterm-256color", **UTF8},
            Terminal("XTerm(390)", None, True, True, True, 1 << 24, True, True, False, (8, 16)),
            id="xterm",
        ),
        pytest.param(
            TMUX,
            {"TERM": "tmux-256color", "TMUX": "/run/tmux,1,0", **UTF8},
            Terminal("tmux 3.3a", "tmux", True, True, True, 256, True, True),
            id="tmux",
        ),
        pytest.param(
            NO_WIDTH,
            {"TERM": "xterm-256color", **UTF8},
            Terminal("", None, True, True, True, 256, False, True),
            id="a terminal that gives an octant no width",
        ),
        pytest.param(
            FOOT,
            {"TERM": "foot", **UTF8},
            Terminal(
                "foot(1.16.2)", None, True, True, True, 1 << 24, True, True, True, (9, 18),
                sixel=True,
            ),
            id="foot",
        ),
        pytest.param(
            KITTY,
            {"TERM": "xterm-kitty", "COLORTERM": "truecolor", **UTF8},
            Terminal(
                "kitty(0.40.0)", None, True, True, True, 1 << 24, True, True, True, (10, 20),
                kitty=True,
            ),
            id="kitty",
        ),
        pytest.param(
            b"", {"TERM": "vt220", **UTF8}, Terminal(utf8=True, colours=16), id="silent"
        ),
        pytest.param(
            LATIN,
            {"TERM": "xterm", **UTF8},
            Terminal("", None, True, True, False, 16, False, True),
            id="a terminal that is not set to UTF-8 although the locale is",
        ),
        pytest.param(b"", {"TERM": "dumb", "LANG": "C"}, Terminal(), id="dumb"),
        pytest.param(
            b"", {"TERM": "screen.xterm-256color", "LC_ALL": "C", **UTF8},
            Terminal(multiplexer="screen", colours=256), id="screen",
        ),
    ],
)  # fmt: skip
def test_replies_say_what_the_terminal_can_do(
    replies: bytes, environment: Mapping[str, str], expected: Terminal
) -> None:
    assert read_replies(replies, environment) == expected


def test_a_terminal_by_others_is_found_to_know_no_rep_and_is_left_clean() -> None:
    screen = pyte.Screen(80, 24)
    replies: list[str] = []
    setattr(screen, "write_process_input", replies.append)  # noqa: B010 - pyte's own way
    pyte.Stream(screen).feed(QUERIES)
    terminal = read_replies("".join(replies).encode(), {"TERM": "xterm-256color", **UTF8})
    assert (terminal.answers, terminal.reports_cursor, terminal.utf8) == (True, True, True)
    assert (terminal.repeats, terminal.kitty, terminal.sixel) == (False, False, False)
    assert "".join(screen.display).strip() == ""


def test_no_color_takes_all_colours_away_and_an_empty_one_none() -> None:
    # NO_COLOR counts when present and not empty: no-color.org, from memory
    seen = {"TERM": "xterm-256color", "COLORTERM": "truecolor"}
    assert read_replies(b"", seen | {"NO_COLOR": "1"}).colours == 0
    assert read_replies(b"", seen | {"NO_COLOR": ""}).colours == 1 << 24


def test_the_colours_of_sixels_are_as_many_as_the_terminal_says() -> None:
    assert read_replies(b"\x1b[?1;0;1024S\x1b[?62;4c", UTF8).registers == 1024
    assert read_replies(b"\x1b[?1;3;0S\x1b[?62;4c", UTF8).registers == 256


def test_the_cell_comes_of_the_window_where_the_terminal_does_not_tell_it() -> None:
    assert read_replies(b"\x1b[4;480;720t", UTF8, (90, 24)).cell == (8, 20)
    assert read_replies(b"\x1b[4;480;720t", UTF8).cell is None
    assert read_replies(b"", UTF8, (90, 24), (720, 480)).cell == (8, 20)
    # terminals that do not know say 0; common practice, no source
    for unknown in (b"\x1b[6;0;0t", b"\x1b[4;0;0t", b"\x1b[6;0;0t\x1b[4;20;60t"):
        assert read_replies(unknown, UTF8, (90, 24), (720, 480)).cell == (8, 20)
        assert read_replies(unknown, UTF8, (90, 24)).cell is None
    assert read_replies(b"", UTF8, (90, 24)).cell is None


def test_the_window_s_pixels_are_asked_of_the_kernel() -> None:
    far, near = pty.openpty()
    fcntl.ioctl(near, termios.TIOCSWINSZ, struct.pack("4H", 24, 90, 720, 480))
    assert _window(near) == ((90, 24), (720, 480))
    os.close(far)
    os.close(near)


@pytest.mark.parametrize("kind", ["", "dumb", "linux"])
def test_terminals_that_would_print_the_questions_are_not_asked(kind: str) -> None:
    assert not understands_queries({"TERM": kind})
    assert understands_queries({"TERM": "xterm"})


HERE = b"\x1b[7;1R"
"""Where a terminal says its cursor is."""


def answer(terminal: int, replies: bytes, slowness: float = 0.0) -> threading.Thread:
    """A terminal at the far end that replies, and to all other questions when it has read them."""

    def run() -> None:
        read = b""
        while not read.endswith(KNOCK.encode()):
            read += os.read(terminal, 4096)
        time.sleep(slowness)
        os.write(terminal, HERE)
        while not read.endswith(QUERIES.encode()):
            read += os.read(terminal, 4096)
        time.sleep(slowness)
        for reply in (replies[:40], replies[40:]):
            os.write(terminal, reply)
            time.sleep(0.01)

    thread = threading.Thread(target=run)
    thread.start()
    return thread


@pytest.mark.parametrize(("replies", "slowness"), [(XTERM, 0), (KITTY, 0), (KITTY, 0.15)])
def test_asking_ends_with_the_sentinel_and_leaves_the_terminal_as_it_was(
    replies: bytes, slowness: float
) -> None:
    far, near = pty.openpty()
    tty.setraw(far)
    before = termios.tcgetattr(near)
    thread = answer(far, replies, slowness)
    begun = time.monotonic()
    with TerminalQuestions(near, near, longest=5) as asking:
        assert asking.replies() == replies
        assert time.monotonic() - begun < 2
        assert termios.tcgetattr(near) == before
    thread.join()
    assert tty.tcgetattr(near) == before  # type: ignore[attr-defined]
    os.close(far)
    os.close(near)


def test_a_silent_terminal_is_waited_for_no_longer_than_said() -> None:
    far, near = pty.openpty()
    begun = time.monotonic()
    with TerminalQuestions(near, near, longest=0.05) as asking:
        assert not ended(asking.replies())
    assert time.monotonic() - begun < 1
    os.close(far)
    os.close(near)


def test_answers_that_came_meanwhile_are_read_however_late_that_is() -> None:
    far, near = pty.openpty()
    tty.setraw(far)
    thread = answer(far, XTERM, slowness=0.1)
    with TerminalQuestions(near, near, longest=0.12) as asking:
        time.sleep(0.5)
        assert asking.replies() == XTERM
    thread.join()
    os.close(far)
    os.close(near)


def test_a_terminal_that_is_silent_is_asked_nothing_that_it_could_answer_late_as_if_typed() -> None:
    far, near = pty.openpty()
    tty.setraw(far)
    with TerminalQuestions(near, near, longest=0.05) as asking:
        assert asking.replies() == b""
    asked = os.read(far, 4096).decode()
    assert asked == KNOCK
    # what the library makes of the answer, whenever it comes and however it is cut: no key
    for cut in range(1, len(HERE)):
        parser = XTermParser()
        made = [*parser.feed(HERE[:cut].decode()), *parser.feed(HERE[cut:].decode())]
        assert [type(event) for event in made] == [CursorPosition]
    os.close(far)
    os.close(near)


def test_a_terminal_that_goes_away_is_not_waited_for() -> None:
    far, near = pty.openpty()
    with TerminalQuestions(near, near, longest=5) as asking:
        os.close(far)
        begun = time.monotonic()
        assert asking.replies() == b""
        assert time.monotonic() - begun < 1
    os.close(near)


def test_answers_that_nobody_waits_for_are_not_left_in_the_input() -> None:
    far, near = pty.openpty()
    tty.setraw(far)
    before = termios.tcgetattr(near)
    thread = answer(far, XTERM)

    def give_up() -> None:
        with TerminalQuestions(near, near, longest=5):
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        give_up()
    thread.join()
    assert termios.tcgetattr(near) == before
    tty.setcbreak(near, termios.TCSANOW)
    assert not select.select([near], [], [], 0.05)[0]
    os.close(far)
    os.close(near)


def test_without_a_terminal_the_environment_alone_speaks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.__stdin__", None)
    with probe({"TERM": "xterm-256color", **UTF8}) as terminal:
        assert terminal() == Terminal(utf8=True, colours=256)
