"""Exact decoding: runs forward from key packets, and never a wrong picture as a right one."""

from collections.abc import Callable, Iterator
from pathlib import Path

import av
import numpy as np
from av.video.frame import VideoFrame

from tui.footage.cache import FileIdentity
from tui.footage.flaws import FlawLedger
from tui.footage.index import NOT_SHOWN, FootageIndex
from tui.footage.order import CodedPacket
from tui.footage.packets import PacketSource, Placed

_MISSING = "its picture never came out of the decoder"
_FLAGGED = "the decoder reports errors in its data"
_REFUSED = "the decoder refuses its data"
_REFUSED_NEARBY = "the decoder refuses its data, or that of a frame decoded soon after it"
_UNKNOWN = "its data is not where the index says"
_NO_PICTURE = "no whole picture of it can be decoded"

_NO_CLEAN_START = "the recording begins without a whole picture"
_OUT_OF_ORDER = "its picture does not come out of the decoder in order"

# How far a run goes on instead of seeking to a key packet ahead, in packets.
_NEAR = 8
# How many keys back to look for a clean start before starting from the beginning of the file.
_EARLIER_STARTS = 12
# Pictures held back at most until those they may build on have come out. H.264 and HEVC reorder
# at most 16 pictures (ITU-T H.264 A.3.1, H.265 A.4.1, from memory).
_MAX_HELD = 32


class Decoder:
    """One open container and one decoder; for one thread at a time.

    Each packet is given the number of its frame in place of its time stamp before it is decoded.
    Decoders carry time stamps through, so a frame that comes out says itself which it is, also
    where a file gives two frames the same time.

    A *run* goes from a key packet forward. It ends at the end of the recording, and at the first
    key after damage: what follows is decoded by a new run, so that nothing damaged, and nothing of
    another recording, can leak into it.

    Whenever the file is opened it must be the one of ``identity``; without, the one that it is now.
    """

    def __init__(
        self,
        path: Path,
        index: FootageIndex,
        ledger: FlawLedger,
        identity: FileIdentity | None = None,
        *,
        hurries: bool = True,
        track: int | None = None,
        whole: bool = False,
    ) -> None:
        self._path, self._index, self._ledger = path, index, ledger
        self._track, self._whole = track, whole
        self._source = PacketSource(
            path,
            index,
            identity or FileIdentity.of(path),
            hurries=hurries,
            track=track,
            whole=whole,
        )
        self._known_flaws = dict(index.flaws)
        self._unclean: set[int] = set()  # key packets that give no whole picture by themselves
        self._first = 0  # the first frame of use; what no other builds on is left out before it
        self._stop: Callable[[], bool] = lambda: False
        self._cut_short = False  # whether the run was stopped before its last pictures were sure
        self._begin(0, None)
        self._ended = True  # so that the first frame asked for begins a run

    def close(self) -> None:
        """Close the file."""
        self._source.close()

    @property
    def reach(self) -> int:
        """How many frames it knows: it was made when no more of them had their numbers."""
        return self._index.numbered

    def fetch(
        self,
        frame: int,
        sink: Callable[[int, VideoFrame], None],
        stop: Callable[[], bool] = lambda: False,
        first: int = 0,
    ) -> bool | None:
        """Decode up to ``frame``, handing it and each frame decoded on the way to ``sink``.

        Of the frames before ``first``, those that no other builds on may be left out. Returns
        whether ``frame`` came out; None where ``stop`` returned true before that was known. If it
        did not come, the ledger says why.
        """
        self._first, self._stop, self._cut_short = first, stop, False
        for start in self._starts(frame):
            if start is not None:
                self._begin(start, self._source.seek(start))
            came = self._run_to(frame, sink, stop)
            if came or came is None:
                return came
            if self._cut_short:
                return None
            if self._shows_missing(frame):
                self._ledger.lose(frame, _NO_PICTURE)
                return False
        for lost in np.flatnonzero(self._index.start_of == self._index.start_of[frame]).tolist():
            self._ledger.lose(lost, _NO_PICTURE)
        return False

    def _starts(self, frame: int) -> list[int | None]:
        """Packets to start from in turn, None for going on from here.

        The nearest key comes first, the first packet of the recording last.
        """
        index = self._index
        key = int(index.start_of[frame])
        first, _ = index.recording_of(key)
        starts = [index.earlier_start(key, back) for back in range(_EARLIER_STARTS + 1)]
        clean = [s for s in dict.fromkeys(starts) if s > first and s not in self._unclean]
        return [*([None] if self._goes_on_to(frame) else []), *clean, first]

    def _goes_on_to(self, frame: int) -> bool:
        """Whether running on from here reaches ``frame`` sooner than seeking to its key."""
        key = int(self._index.start_of[frame])
        if frame in self._held:
            return True
        reaches = not self._ended and self._delivered < frame and self._start <= key < self._limit
        due = range(max(self._first, self._delivered + 1), frame + 1)
        reaches = reaches and not any(left_out in due for left_out in self._left_out)
        return reaches and key <= self._next + _NEAR

    def _run_to(
        self, frame: int, sink: Callable[[int, VideoFrame], None], stop: Callable[[], bool]
    ) -> bool | None:
        """Whether the frame came; None if the run was stopped before."""
        for number, picture in self._run():
            if number < self._index.numbered:
                sink(number, picture)
            if number >= frame:
                return number == frame
            if stop():
                return None
        return False

    def _shows_missing(self, frame: int) -> bool:
        """Whether the run went past ``frame`` from a clean start and still did not give it."""
        return self._clean and self._limit > self._index.start_of[frame]

    def _begin(self, start: int, first: CodedPacket | None) -> None:
        self._pending = first
        self._start = self._next = start
        self._opening = self._index.first_frame(start)  # tells whether the run begins clean
        self._clean = False  # whether a first whole picture has come out
        self._high = -1  # last frame, in display order, to come out
        self._delivered = -1  # last frame handed on
        self._recording, self._end = self._index.recording_of(start)
        self._limit = self._end  # the key from which a new run is needed
        self._held: dict[int, VideoFrame] = {}
        self._left_out: set[int] = set()
        self._ended = False

    def _run(self) -> Iterator[tuple[int, VideoFrame]]:
        """The frames after the last one delivered, each once nothing can taint it any more."""
        while True:
            number = self._settled()
            if number is not None:
                self._delivered = number
                yield number, self._held.pop(number)
            elif self._ended:
                return
            else:
                self._step()

    def _settled(self) -> int | None:
        if not self._held:
            return None
        number = min(self._held)
        if len(self._held) > _MAX_HELD * (1 if self._index.fields is None else 2):
            awaited = self._index.settled_by[number]
            self._damage(int(self._index.packet_of[awaited]), _OUT_OF_ORDER)
            return number
        settled = self._ended or self._index.settled_by[number] <= self._high
        return number if settled else None

    def _step(self) -> None:
        packet = self._take()
        for picture in self._decode(packet):
            self._receive(picture)
        if packet is None:
            self._pass_over(self._index.frames_before(self._end))
            self._ended = True
            self._make_sure_of_end()

    def _make_sure_of_end(self) -> None:
        """Find, once a recording, the damage in the last pictures that frame threads pass over.

        At its end they hand out a picture that another of them still decodes, and
        with it what is known against it until then. One thread knows all of a picture it gives.
        """
        sure = self._recording in self._ledger.sure_ends
        if self._source.threads == 1 or sure or not self._held:
            return
        last = max(self._held)
        identity = self._source.identity
        alone = Decoder(
            self._path,
            self._index,
            self._ledger,
            identity,
            hurries=False,
            track=self._track,
            whole=self._whole,
        )
        try:
            came = alone.fetch(last, lambda *_: None, self._stop)
        finally:
            alone.close()
        if came or self._ledger.flaw(last):
            self._ledger.sure_ends.add(self._recording)
        else:
            self._cut_short = True
            self._held.clear()

    def _take(self) -> Placed | None:
        """The next packet with content; None at the end of the recording."""
        if self._pending is not None:
            placed, self._pending = (self._start, self._pending), None
            return placed
        if self._next >= self._end:
            return None
        found = self._source.read()
        if found is None and self._next < self._end:
            self._damage(self._next, _UNKNOWN)
        return found

    def _decode(self, placed: Placed | None) -> list[VideoFrame]:
        if placed is None:
            return self._decoded(None)
        place, packet = placed
        if place != self._next and self._next < self._index.packets:
            self._damage(self._next, _UNKNOWN)
        if place is None:
            return []
        self._next = place + 1
        if place in self._known_flaws:
            self._damage(place, self._known_flaws[place])
        if self._may_leave_out(place, packet):
            self._left_out.update(self._index.frames_of(place))
            return []
        shown = not self._index.hidden[place]
        packet.pts = int(self._index.frame_of[place]) if shown else self._index.frames + place
        return self._decoded(packet)

    def _may_leave_out(self, place: int, packet: CodedPacket) -> bool:
        """Whether the packet's picture is of no use, neither by itself nor for building others.

        Its header's word for that is believed only of a picture that is shown before one decoded
        earlier: so the header of a picture that carries the group cannot lie by a damaged bit.
        """
        frame = int(self._index.frame_of[place])
        if frame in (NOT_SHOWN, self._opening) or self._index.frames_of(place)[-1] >= self._first:
            return False
        moved_up = bool(self._index.settled_by[frame] > frame)
        return moved_up and self._source.disposable(packet)

    def _decoded(self, packet: CodedPacket | None) -> list[VideoFrame]:
        try:
            return self._source.decode(packet)
        except av.FFmpegError:
            # frame threads report a packet's error only when later ones have been fed
            last = self._next - 1
            place = max(self._start, last - (self._source.threads - 1))
            cause = _REFUSED if place == last else _REFUSED_NEARBY
            while place <= last:
                place = self._damage(place, cause)
            return []

    def _receive(self, picture: VideoFrame) -> None:
        number = picture.pts
        if number is None or number >= self._index.frames:
            return
        start = self._index.start_of[number]
        if start < self._start:  # leads the key that the run began with
            return
        if not self._clean and not self._begins_clean(number):
            self._ended = True
            return
        self._pass_over(number)
        if start >= self._limit:
            self._ended = True
            return
        if picture.is_corrupt:
            self._damage(int(self._index.packet_of[number]), _FLAGGED)
        for frame in self._index.frames_of(int(self._index.packet_of[number])):
            self._held[frame] = picture
            self._high = max(self._high, frame)

    def _begins_clean(self, first: int) -> bool:
        """Whether the first frame to come out is that of the key that the run began with.

        It is not where a picture is refreshed bit by bit over a group, or where the key is
        damaged. Decoders then take the encoder's word for when the picture is whole again, and
        that word has been found false; so an earlier start is needed.
        """
        self._high = first - 1
        if first != self._opening:
            self._unclean.add(self._start)
            if self._start != self._recording:
                return False
            self._ledger.damage(self._start, _NO_CLEAN_START)
        self._clean = True
        return True

    def _pass_over(self, number: int) -> None:
        """Note that all frames before ``number`` have come out by now, or never will."""
        if not self._clean:
            return
        for missing in range(self._high + 1, number):
            if missing in self._left_out:
                continue
            if self._start <= self._index.start_of[missing] < self._limit:
                self._damage(int(self._index.packet_of[missing]), _MISSING)
        self._high = max(self._high, number)

    def _damage(self, packet: int, cause: str) -> int:
        """Enter the damage; this run gives nothing from the key that ends the taint, returned."""
        end = self._ledger.damage(packet, cause)
        self._limit = min(self._limit, end)
        return end
