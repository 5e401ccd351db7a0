"""The settling screen by keys: stepping, taking, looking again, finishing."""

from pathlib import Path

import pytest

from keymaps.commands import Where, commands_on
from keymaps.keymap import Keymap, keymap_names, load_keymap
from sessions.docket.claim_state import State
from sessions.record.entries import DifferenceSettled, Entry, Look
from tests.proofs import mostly_proofs
from tests.tui.benching import LARGE, SMALL
from tests.tui.conftest import PlainSource
from tests.tui.settling.conftest import Settle
from tests.tui.settling.settlers import (
    broken,
    docket_of,
    make_app,
    on_settling,
    one_fault,
    one_sided,
    other_matters,
    right_entries,
    seen_otherwise,
    settler,
    state,
    truth,
    write,
)
from tui.app import CommandSearch
from tui.bench.screen import BenchScreen
from tui.settling.screen import SettlingScreen

LAST = truth().runs[-1].run


def two_faults() -> list[Entry]:
    """Differs twice: at the first and at the second stack built."""
    at = ("f1.s1.let-go", "f1.s2.let-go")
    return [
        broken(entry) if isinstance(entry, Look) and entry.run == LAST and entry.checkpoint in at
        else entry
        for entry in right_entries()
    ]  # fmt: skip


def frame_of(checkpoint: str) -> int:
    looks = (
        e
        for e in right_entries()
        if isinstance(e, Look) and (e.run, e.checkpoint) == (LAST, checkpoint)
    )
    return next(looks).by.frame


async def test_a_claim_is_settled_by_keys_alone(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    made = settle(right_entries(), two_faults())
    async with on_settling(made, source, keymap) as on:
        assert "Difference 1 of 2" in on.line("where")
        assert on.line("question").startswith(f"Run {LAST}: Let go: 1st 3: both hands are clear of")
        await on.press("left")
        assert f"Run {LAST}: Let go: 1st 3. Why do you take this side? R1: in order" in on.text
        await on.answer("it is clear in 300")
        assert "Settled as R1 found it" in on.line("message")
        assert "Difference 2 of 2" in on.line("where")
        await on.press("right")
        await on.answer("the hand is on it")
        assert "nothing left" in on.line("where")
        await on.press("ctrl+e")
        assert "Finish settling?" in on.text
        assert "as R2: the hand is on it" in on.text
        await on.press("enter")
        assert on.line("message").startswith("Settled. ")
        assert "finished" in on.line("where")
    assert state(made.folder) is State.SETTLED


async def test_both_frames_are_shown_and_count_as_seen(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    made = settle()
    frame = frame_of("f1.s1.let-go")
    source.absent = {frame}
    async with on_settling(made, source, keymap) as on:
        assert source.wanted[-1] == frame
        assert not on.screen.showing.shows(frame + 1)
        source.absent = set()
        assert source.on_ready is not None
        source.on_ready(frame)
        await on.settle()
        assert on.screen.showing.shows(frame + 1)
        assert on.line("frames").split("  ")[0] == f"frame {frame}, named by R1"
        assert on.line("captions").startswith(f"← ✓ R1: in order at frame {frame}")
        assert f"→ ✗ R2: FAULT at frame {frame + 1}" in on.line("captions")


async def test_the_brackets_stand_on_one_time_line(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    made = settle()
    frame = frame_of("f1.s1.let-go")
    async with on_settling(made, source, keymap, LARGE) as on:
        panel = on.screen.query_one("#around")
        scale, first, second, third, fourth = [panel.render_line(y).text for y in range(5)]
        at = scale.index(str(frame))
        assert scale[scale.index(str(frame + 1)) - 6 :].startswith(f"{frame}")
        assert (first[:9], first[at]) == ("R1   met ", "]")
        assert (second[:9], second[at]) == ("R1   due ", "(")
        assert (third[at + 6], fourth[at + 6]) == ("(", "]")
        assert f"(?,{frame}] both hands are clear of 1st 3" in first


async def test_a_reason_that_is_cancelled_or_empty_settles_nothing(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    made = settle()
    async with on_settling(made, source, keymap) as on:
        await on.press("left", "escape")
        assert on.is_clear
        assert made.settlement.left == 1
        await on.press("left", "enter")
        assert "A reason is needed" in on.text
        await on.press("2", "ctrl+q")  # typed into the line, and no command
        assert not on.is_clear
        await on.press("escape", "ctrl+e")
        assert "1 difference is not settled yet." in on.line("message")


async def test_looking_again_opens_the_bench_there_and_asks_why(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    made = settle()
    frame = frame_of("f1.s1.let-go")
    async with on_settling(made, source, keymap) as on:
        await on.press("enter")
        assert isinstance(on.app.screen, BenchScreen)
        assert on.app.screen.review.frame == frame + 1
        assert f"frame {frame + 1}/" in on.text
        await on.press("y")
        assert "Let go: 1st 3: in order at frame" in on.text
        await on.press("ctrl+q")
        assert f"Run {LAST}: Let go: 1st 3. What did you see when you looked again?" in on.text
        await on.answer("clear in the frame after")
        assert on.is_clear
        assert "Settled anew" in on.line("message")
        assert "looked at again: clear in the frame after" in on.text
        await on.press("ctrl+e", "enter")
    assert state(made.folder) is State.SETTLED


async def test_leaving_the_bench_without_a_tag_settles_nothing(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    made = settle()
    async with on_settling(made, source, keymap) as on:
        await on.press("enter")
        await on.press("ctrl+q")
        assert on.is_clear
        assert on.line("message") == "Nothing was tagged anew."
        assert on.screen.showing.shows(made.settlement.frames[1])
        assert source.on_ready == on.screen._frame_decoded
        assert not any(
            isinstance(line.entry, DifferenceSettled) for line in made.settlement.review.lines
        )


async def test_what_the_bench_cannot_finish_is_said_there(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    async with on_settling(settle(), source, keymap) as on:
        await on.press("enter")
        await on.press("ctrl+e")
        assert "A settling is finished where its differences are listed" in on.text


async def test_the_arrows_step_through_the_differences(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    async with on_settling(settle(right_entries(), two_faults()), source, keymap) as on:
        await on.press("down")
        assert "Difference 2 of 2" in on.line("where")
        assert "Let go: 2nd 3" in on.line("question")
        await on.press("down", "up")
        assert "Difference 2 of 2" in on.line("where")


@pytest.mark.parametrize("size", mostly_proofs([SMALL, LARGE], [LARGE]))
async def test_what_is_no_checkpoint_is_shown_with_its_frames(
    settle: Settle, source: PlainSource, keymap: Keymap, size: tuple[int, int]
) -> None:
    async with on_settling(settle(right_entries(), other_matters()), source, keymap, size) as on:
        told = []
        for _ in range(4):
            told.append([on.line("question"), on.line("captions"), *on.lines[-15:]])
            await on.press("down")
        started, fumbles, reading, cup = ("\n".join(lines) for lines in told)
        assert "R1: never started over" in started
        assert "the one before" in on.text
        assert "R2: f1.s1 going down at frame" in fumbles
        assert "Reading of the display" in reading
        assert "Maker's mark of cup 1" in cup


async def test_a_wide_stretch_is_drawn_with_several_frames_to_a_column(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    def early(look: Look) -> Entry:
        by = look.by.model_copy(update={"frame": look.by.frame - 100, "pts": look.by.pts - 100})
        return look.model_copy(update={"saw": "refuted", "by": by})

    made = settle(right_entries(), seen_otherwise("exact", early))
    async with on_settling(made, source, keymap) as on:
        lines = [on.screen.query_one("#around").render_line(y).text for y in range(5)]
        assert all(len(line.rstrip()) <= SMALL[0] for line in lines)
        frame = frame_of("exact")
        assert lines[0].split()[1] == str(frame - 104)
        assert lines[1].index("]") > lines[4].index("]") + 40


async def test_long_codes_are_cut(
    settle: Settle, source: PlainSource, keymap: Keymap, tmp_path: Path
) -> None:
    folder = docket_of(tmp_path / "long", right_entries())
    write(folder, "a-reviewer-with-a-long-code", one_fault())
    made = settler(folder)
    async with on_settling(made, source, keymap) as on:
        assert on.screen.query_one("#around").render_line(3).text.startswith("a-r… met ")
    made.close()


async def test_where_nothing_is_left_it_can_still_be_looked_at_and_finished(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    made = settle(one_sided(), right_entries())
    async with on_settling(made, source, keymap) as on:
        assert on.line("question").startswith("No checkpoint differs")
        assert on.line("where").startswith("No difference")
        await on.press("down", "left")
        assert "No checkpoint differs" in on.line("message")
        await on.press("enter")
        assert isinstance(on.app.screen, BenchScreen)
        await on.press("1")
        await on.press("ctrl+q")
        assert on.line("message") == f"Ruling now: {made.settlement.review.ruling.summary}"
        await on.press("ctrl+e", "escape")
        assert made.settlement.review.lines[-1].entry.kind != "finished"
        await on.press("ctrl+e", "enter")
        assert on.line("message").startswith("Settled. ")
    assert state(made.folder) is State.SETTLED


async def test_the_lens_shows_both_frames_closer(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    async with on_settling(settle(), source, keymap) as on:
        coarse = on.screen.pane.scale
        await on.press("M")
        assert source.magnified
        assert "lens 4x" in on.line("where")
        assert on.screen.pane.scale == pytest.approx(coarse / 4, rel=0.1)
        await on.press("Z")
        assert "difference" in on.line("where")


async def test_a_review_that_changed_is_said_at_once(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    made = settle()
    with made.folder.session("C-1", "R2").open("ab") as file:
        file.write(b"torn")
    async with on_settling(made, source, keymap) as on:
        await on.press("left", "escape")
        assert "was changed" not in on.line("message"), (
            "what was never acknowledged changes nothing"
        )
        made.folder.session("C-1", "R2").write_bytes(b"")
        await on.press("left")
        assert on.is_clear
        assert "was changed" in on.line("message")


async def test_a_failing_source_and_a_small_terminal_are_said(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    source.failure = "The file can no longer be read."
    async with on_settling(settle(), source, keymap) as on:
        assert on.line("message") == "The file can no longer be read."
        await on.pilot.resize_terminal(60, 20)
        await on.settle()
        assert "60 by 20 is too small" in on.text


async def test_help_palette_redraw_and_quit_work_as_on_the_bench(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    async with on_settling(settle(), source, keymap) as on:
        await on.press("question_mark")
        assert "Keys (QWERTY)" in on.text
        assert "Keys: QWERTY" not in on.text
        assert on.text.index("Settle differences") < on.text.index("Look closer")
        assert "Move through the footage" not in on.text
        await on.press("escape", "ctrl+l")
        assert on.is_clear
        hits = [hit async for hit in CommandSearch(on.screen).discover()]
        assert [hit.help for hit in hits] == [c.help for c in commands_on(Where.SETTLING)]
        await on.press("ctrl+p")
        assert not on.is_clear
        await on.press("escape")
        await on.press("ctrl+q")
        assert not on.app.is_running or on.app._exit


async def test_a_command_of_the_palette_is_done(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    async with on_settling(settle(right_entries(), two_faults()), source, keymap) as on:
        (hit,) = [h async for h in CommandSearch(on.screen).search("Next difference")]
        hit.command()
        await on.settle()
        assert "Difference 2 of 2" in on.line("where")


@pytest.mark.parametrize("name", mostly_proofs(keymap_names(), ["qwerty"]))
async def test_every_key_of_a_keymap_reaches_its_command(
    settle: Settle, source: PlainSource, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    keymap = load_keymap(name, user_file=None)
    done: list[str] = []
    monkeypatch.setattr(SettlingScreen, "action_do", lambda _, command: done.append(command))
    wanted = []
    app = make_app(settle(), source, keymap)
    async with app.run_test(size=SMALL) as pilot:
        for command in commands_on(Where.SETTLING):
            # the application itself takes the key that quits
            for key in keymap.keys_for(command.id) if command.id != "quit" else ():
                await pilot.press(key)
                wanted.append(command.id)
    assert done == wanted


async def test_other_sides_and_what_needs_no_settling_have_keys(
    settle: Settle, source: PlainSource, keymap: Keymap
) -> None:
    made = settle(right_entries(), two_faults())
    async with on_settling(made, source, keymap) as on:
        await on.press("tab")
        assert "there are no other sides" in on.line("message")
        await on.press("v")
        assert "What needs no settling" in on.text
        assert "Standing (standing): R1: stands; R2: scratch" in " ".join(on.text.split())
