"""The bench: the review screen. It does commands, and gathers what the panels show."""

import time
from collections.abc import Callable, Mapping, Sequence
from functools import partial

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical
from textual.message import Message
from textual.timer import Timer

from keymaps.commands import Command, Where
from keymaps.keymap import Keymap
from sessions.docket.claims import ListedClaim
from sessions.errors import EntryRefused, FramecallError
from sessions.sanitize import sanitize
from tui.bench import rows
from tui.bench.commands import REVIEW_HANDLERS
from tui.bench.contradictions import Answer, Asking, TagsContradict
from tui.bench.dialogs import BenchDialogs
from tui.bench.finishing import Unwatched, claim_words, is_finished, missing
from tui.bench.opening import take_in
from tui.bench.panels import CupsPanel, LadderPanel, RunsPanel, TimelinePanel
from tui.bench.places import go_on_watching, go_where_awaited
from tui.bench.player import Player
from tui.bench.question import Reminder, due_text, keys_for
from tui.bench.review import Review, write_played
from tui.bench.review_screen import ReviewScreen, awaited
from tui.bench.tagging import outside_text
from tui.footage.fitness import fitness
from tui.footage.footage import Footage
from tui.picture.lens import Lens
from tui.picture.source import PictureSource
from tui.widgets.command_screen import Handler, bindings_of, one_table
from tui.widgets.panels import KeysLine, StatusPanel
from tui.widgets.picturepane import PicturePane
from tui.widgets.pictures import Pictures

FLUSH_SECONDS = 2.0
"""How often frames shown are written down while nothing is tagged."""

TICK_SECONDS = 1 / 60
"""How often playing looks which frame is due."""

STRIP_SECONDS = 0.1
"""How often the strip looks for neighbours that have been decoded since."""

FLIPS = (1, 2, 4, 8)
"""Paces of flipping by itself, in pictures a second."""

NARROW = 100
"""Columns below which there is no room for time codes."""


class BenchScreen(ReviewScreen):
    """One piece of footage under review."""

    class FootageGrew(Message):
        """More of the footage has been read; posted from the thread that reads."""

    where = Where.BENCH
    BINDINGS = [  # noqa: RUF012
        *bindings_of(Where.BENCH),
        Binding("escape", "leave_question", show=False),
    ]
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (160, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-low"), (30, "-tall")]  # noqa: RUF012

    def __init__(
        self,
        review: Review,
        source: PictureSource,
        pictures: Pictures,
        keymap: Keymap,
        lens: Lens,
        clock: Callable[[], float] = time.monotonic,
        listed: ListedClaim | None = None,
        footage: Footage | None = None,
    ) -> None:
        facts = review.session.header.footage
        self.player = Player(
            lambda frame: facts.seconds(review.stamp(frame)), review.frame_at, review.frames
        )
        super().__init__(review, source, pictures, keymap, lens, self.player.drew)
        review.key_of = keymap.first_key
        self.listed, self.footage, self.clock = listed, footage, clock
        self.pane = PicturePane(source, pictures, lens, review.frames, self.showing, id="left")
        self._reminder, self._unwatched = Reminder(), Unwatched(review)
        self._pace = FLIPS[1]
        self._flips: Timer | None = None
        self.asking: Asking | None = None
        self.is_woven = False
        """Whether both fields of each picture are shown, so that none is there to judge by."""
        self.handlers = one_table(
            self.where,
            {done: partial(handler, review) for done, handler in REVIEW_HANDLERS.items()},
            self.handlers_of_lens(),
            BenchDialogs(self, review, listed, footage).handlers(),
            self._handlers_of_playing(),
            self.handlers_everywhere(),
        )

    def compose(self) -> ComposeResult:
        """The panels, top to bottom."""
        yield StatusPanel(id="where")
        with Horizontal(id="middle"):
            yield self.pane
            with Vertical(id="right"):
                yield LadderPanel(id="ladder")
                yield RunsPanel(id="runs")
                yield CupsPanel(id="cups")
        yield TimelinePanel(id="timeline")
        yield StatusPanel(id="ruling")
        yield StatusPanel(id="message")
        yield KeysLine(id="keys")

    def on_mount(self) -> None:
        """Begin the clocks."""
        if self.footage is not None and self.review.waits:
            self.footage.listeners.append(self._footage_grew)
        self.set_interval(FLUSH_SECONDS, self.flush)
        self.set_interval(STRIP_SECONDS, self._draw_strip)
        self._ticks = self.set_interval(TICK_SECONDS, self._tick, pause=True)

    # -- commands

    def perform(self, handler: Handler, command: Command | None) -> str | None:
        """Do something at rest, on a frame that is seen, and say what is to be borne in mind.

        While a question stands, a command is first of all an answer to it.
        """
        if self.asking is not None and command is not None:
            answered = self._answered(self.asking, handler, command)
            if answered is None:
                return None
            handler = answered
        if command is not None and command.of_frame and self.is_woven:
            raise EntryRefused(
                "Nothing is tagged while both fields are shown, as they are of two instants; show "
                f"them one by one again ({self.keymap.first_key('woven')})."
            )
        if command is not None and command.of_frame and self.is_flipping:
            self._stop_flipping()  # which of the two was meant?
            raise EntryRefused(flipping_stopped(self.review.frame))
        if command is not None and command.plays_on:
            return handler()
        if command is not None:
            self._come_to_rest(command)
        command_id = None if command is None else command.id
        reminder = self._reminder.before(command_id, self.review, self.pane.doubt(self.keymap))
        said = self._asked(handler, command)
        if reminder:
            self._reminder.said(self.review.run_id)
        self.lens.follow(self.review.checkpoint.kind if self.review.checkpoint else None)
        notice = self._unwatched.after(self.review)
        return " ".join(part for part in (said, notice, reminder) if part)

    def _asked(self, handler: Handler, command: Command | None) -> str | None:
        """Do it, and ask where a tag and those that stand exclude each other."""
        try:
            return super().perform(handler, command)
        except TagsContradict as found:
            if command is None:
                raise
            words = found.question(command.id, self.keymap.first_key)
            self._ask(Asking(command.id, self.review.frame, found.other, words))
            return None

    def _answered(self, asking: Asking, handler: Handler, command: Command) -> Handler | None:
        """What is still to be done of a command, after what it says to the question that stands."""
        answer = asking.answer(command.id, self.review.frame)
        if answer is Answer.LOOK:
            self.review.go(asking.looks_at(self.review.frame))
        if answer in (Answer.LOOK, Answer.WAIT):
            return None
        if answer is not Answer.GO_ON:
            self._ask(None)
        return partial(self.review.overruling, handler) if answer is Answer.WRITE else handler

    def _ask(self, asking: Asking | None) -> None:
        """Put a question, which stays on the screen until it is answered; or none any more."""
        self.asking = asking
        self.set_class(asking is not None, "-asking")  # has the message more lines, or fewer
        self.draw_soon()

    def action_leave_question(self) -> None:
        """Leave all as it was before the tag that the question is about."""
        if self.asking is not None:
            self.review.go(self.asking.frame)
            self._ask(None)
            self.changed("All is as it was.")

    @property
    def frames_judged(self) -> Sequence[int]:
        """The frame that the review is at."""
        return (self.review.frame,)

    def _come_to_rest(self, command: Command) -> None:
        """Stop playing and flipping, and remember at which speed the next tag was made."""
        self.review.speed = self.player.speed_text.rstrip("x") if self.player.is_playing else None
        self.player.pause()
        self._pause_flipping()
        if command.id != "flip":
            self.review.flip_base = None

    def _footage_grew(self) -> None:
        self.post_message(self.FootageGrew())  # from the thread that reads

    def on_bench_screen_footage_grew(self, _: "FootageGrew") -> None:
        """More of the footage has been read, or all of it."""
        self._take_in()

    def _take_in(self) -> None:
        """Tell the review how far the footage is read, and go where that was waited for."""
        if self.footage is None or not self.review.waits:
            return
        try:
            said = take_in(self.review, self.footage)
            self.player.frames = self.pane.frames = self.review.frames
            if self.review.awaited_place:
                said = go_where_awaited(self.review) or said
        except FramecallError as error:
            self.changed(str(error), error=True)
            return
        if said:
            self.changed(said)
        else:
            self.draw_soon()

    def write_seen(self) -> None:
        """Write down the frames shown and played since the last time; raises FramecallError."""
        self._take_in()  # where the disk did not take it the last time
        super().write_seen()
        write_played(self.player, self.review)

    def keep(self) -> None:
        """Write down what was shown and played last."""
        self.player.pause()
        super().keep()

    # -- playing and flipping

    def _handlers_of_playing(self) -> Mapping[str, Handler]:
        return {
            "woven": self._weave,
            "play": partial(self._play, 1),
            "play.whole": self._play_whole,
            "unwatched.next": self._go_on_watching,
            "play.reverse": partial(self._play, -1),
            "play.faster": partial(self._change_speed, 1),
            "play.slower": partial(self._change_speed, -1),
            "flip.run": self._flip_by_itself,
            "strip.step": self._space_strip,
        }

    def _weave(self) -> str:
        """Show both fields of each picture, or one by one again."""
        if self.footage is None or not self.footage.steps_by_field:
            return "This footage is not stepped by field; its pictures are whole already."
        self.is_woven = not self.is_woven
        self.source.weave(self.is_woven)
        self.showing.hide()
        if not self.is_woven:
            return "Each frame shows one field again."
        key = self.keymap.first_key("woven")
        return f"Both fields of each picture are shown: two instants. One by one again: {key}."

    def _play(self, direction: int) -> None:
        self._pause_flipping()
        self.review.flip_base = None
        self.player.toggle(direction, self.review.frame, self.clock())
        self._ticks.resume()

    def _play_whole(self) -> None:
        self._pause_flipping()
        self.review.flip_base = None
        self.player.toggle_whole(self.review.frame, self.clock())
        self._ticks.resume()

    def _go_on_watching(self) -> str:
        """Go on with what nobody watched, and play every frame of it."""
        said = go_on_watching(self.review)
        self._play_whole()
        return said

    def _change_speed(self, steps: int) -> str:
        if self.is_flipping:
            at = FLIPS.index(self._pace) + steps
            self._pace = FLIPS[max(0, min(at, len(FLIPS) - 1))]
            self._pause_flipping()
            return self._begin_flipping()
        self.player.change_speed(steps, self.review.frame, self.clock())
        return f"Speed {self.player.speed_text}."

    def _flip_by_itself(self) -> str | None:
        """Flip by itself, or stop doing so on the frame it began from."""
        if self.is_flipping:
            self._stop_flipping()
            return None
        self.player.pause()
        return self._begin_flipping()

    @property
    def is_flipping(self) -> bool:
        """Whether two frames flip by themselves."""
        return self._flips is not None

    def _begin_flipping(self) -> str:
        self._flips = self.set_interval(1 / self._pace, self._flip_on)
        return f"Flipping {self._pace} times a second."

    def _stop_flipping(self) -> None:
        """Stop on the frame that flipping began from."""
        self._pause_flipping()
        if self.review.flip_base is not None:
            self.review.flip()

    def _pause_flipping(self) -> None:
        if self._flips is not None:
            self._flips.stop()
            self._flips = None

    def _flip_on(self) -> None:
        self.review.flip()
        self.draw_soon()

    def _space_strip(self) -> str:
        self.pane.change_spacing()
        if self.pane.spacing == 1:
            return "The strip shows each frame."
        return f"The strip shows one frame in {self.pane.spacing}."

    def _tick(self) -> None:
        if not self.player.is_playing:
            self._ticks.pause()
            return
        if self.player.is_whole and not self.showing.shows(self.review.frame):
            return
        frame = self.player.frame_due(self.clock())
        if frame != self.review.frame:
            self.review.go(frame)
            self.draw_soon()

    # -- drawing

    def first_words(self) -> str:
        """What is to be said of the pictures, and what was found in the footage."""
        if self.footage is None:
            return super().first_words()
        found = f"{fitness(self.footage).line} {self.keymap.first_key('about')}: more."
        return f"{super().first_words()} {found}".strip()

    def want(self) -> None:
        """Ask for the frame that the review is at."""
        self.source.want(self.review.frame)

    def draw(self) -> None:
        """Draw the picture and every panel as the review is now."""
        if not self.is_up:
            return
        self.pane.draw(self.review.frame)
        # Behind a dialog nobody sees a frame; it counts once the dialog is left.
        if self.app.screen is self and not self.too_small and not self.is_woven:
            self.showing.seen(self.review.frame)
        self._draw_strip()
        self._draw_words()

    def _draw_strip(self) -> None:
        self.pane.draw_strip(self.review.frame)

    def _draw_words(self) -> None:
        review, clock = self.review, rows.clock_row(self.review)
        self.query_one("#where", StatusPanel).state(*self._where())
        self.query_one(LadderPanel).show_rows(rows.ladder_rows(review))
        self.query_one(RunsPanel).show_rows(rows.run_rows(review), clock)
        self.query_one(CupsPanel).show_rows(rows.cup_rows(review))
        self.query_one(TimelinePanel).show_row(rows.timeline(review))
        self._draw_ruling(clock)
        self._draw_message(self.query_one("#message", StatusPanel))
        self.draw_keys(keys_for(review))

    def _where(self) -> list[str]:
        """The parts of the status line, what matters most first."""
        review, shown = self.review, self.showing.picture
        damaged = "DAMAGED PICTURE" if shown is not None and shown.flaw else ""
        arrival = "" if self.footage is None else self.footage.arrival(review.frame).upper()
        kind = "" if self.footage is None else self.footage.frame_words(review.frame)
        kind = "BOTH FIELDS, WOVEN" if self.is_woven else kind
        unread = "" if not review.waits else f"READING, {review.progress()}"
        place = rows.place_text(review, timecode=self.size.width >= NARROW)
        reading = "" if self.showing.shows(review.frame) else "reading..."
        parts = [
            *([damaged, arrival, reading, place] if damaged else [place, arrival, reading]),
            kind,
            unread,
            outside_text(review),
            self.pane.words,
            f"playing {self.player.pace_text(self.clock())}" if self.player.is_playing else "",
            "" if review.flip_base is None else f"flip with {review.flip_base}",
            "" if review.anchor is None else f"not yet in {review.anchor}",
            "" if review.hand is None else f"{review.hand} hand",
            self.lens.words(review.frame),
            rows.number_text(review),
            self._claim(),
        ]
        return [*parts, self.pictures.words]

    def _claim(self) -> str:
        """The claim's id and whether its review is finished."""
        review, claim = self.review, self.review.session.header.claim.id
        done = "finished" if review.is_closed else "amended" if is_finished(review) else ""
        if review.amending is not None:
            done = "amending"
        return " ".join(part for part in (claim and f"claim {sanitize(claim)}", done) if part)

    def _draw_ruling(self, clock: rows.ClockRow | None) -> None:
        refuted = clock is not None and clock.state == "fault"
        words = clock.words if clock is not None else ""
        self.query_one("#ruling", StatusPanel).state(
            f"Ruling: waits until the footage is read ({self.review.progress()})"
            if self.review.waits
            else f"Ruling now: {missing(self.review) or self.review.ruling.summary}",
            "" if refuted else words,
            rows.run_explanation(self.review),
            fault=f"CLOCK: {words}" if refuted else "",
        )

    def _draw_message(self, panel: StatusPanel) -> None:
        """Show what was said last, else what is amiss; and what is due, where there is room."""
        review, shown = self.review, self.showing.picture
        told = claim_words(review, self.listed) if is_finished(review) else ""
        due = (due_text(review), told)
        if self.asking is not None and not self.too_small:
            panel.say(self.asking.words, error=True)
        elif self.message == (awaited(review.frame), True) and self.showing.shows(review.frame):
            panel.say(f"Frame {review.frame} is on the screen now; press the key again.", *due)
        elif self.message is not None:
            panel.say(self.message[0], *due, error=self.message[1])
        elif words := self.too_small or self.source.failure:
            panel.say(words, error=True)
        elif shown is not None and shown.flaw:
            panel.say(f"Not to be trusted: {shown.flaw}", *due, error=True)
        else:
            panel.state(*due)


def flipping_stopped(frame: int) -> str:
    """Why nothing is tagged while two frames flip by themselves: which one is meant, none can tell.

    ``frame`` is the one that they flipped from, and that is on the screen again.
    """
    return f"Nothing done while frames flip: press the key again if frame {frame} is meant."
