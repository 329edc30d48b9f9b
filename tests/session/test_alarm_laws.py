"""No call is ever lost, whatever happens in whatever order.

A machine draws the painter's keys, the passing of time, sleep, readings that move an edge, and windows that come and
go. Beside the board it keeps a plain account of what is owed to the painter, worked out from the phases alone.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from benchtool.job.windows import Window
from benchtool.session.alarms import GAP, MINUTE, AlarmBoard, Ring
from benchtool.session.alarmwords import MOST_WORDS
from benchtool.trade.windows import Phase, Span, WindowKind

START = datetime(2026, 3, 14, 9, tzinfo=UTC)
BADNESS = {Phase.WAITING: 0, Phase.OPEN: 1, Phase.CLOSING: 2, Phase.CLOSED: 3}


def made(number: int, at: datetime, opens_s: int, closes_s: int | None) -> Window:
    """A needed window that opens and closes so many seconds from `at`."""
    opens = at + timedelta(seconds=opens_s)
    closes = opens + timedelta(seconds=closes_s) if closes_s is not None else None
    return Window(
        piece=f"p{number}", piece_name=f"Piece {number}", layer=f"l{number}", layer_name="Base", coat=1,
        kind=WindowKind.RECOAT, span=Span(at - timedelta(hours=1), opens, closes), then="Clear", needed=True,
    )  # fmt: skip


OPENS = st.integers(1, 900)
CLOSES = st.one_of(st.none(), st.integers(30, 3_600))


class Bench(RuleBasedStateMachine):
    """A board, the windows it watches, and what is owed."""

    @initialize(
        spans=st.lists(st.tuples(OPENS, CLOSES), min_size=1, max_size=6),
    )
    def begin(self, spans: list[tuple[int, int | None]]) -> None:
        self.now, self.board = START, AlarmBoard()
        self.windows = {i: made(i, self.now, *span) for i, span in enumerate(spans)}
        self.next = len(spans)
        self.bad = dict.fromkeys(self.windows, 0)
        self.owed: set[int] = set()
        self.away: dict[int, datetime] = {}
        self.quiet = START
        self.rung: list[tuple[datetime, Ring]] = []
        self.look()

    def look(self) -> None:
        self.fresh: set[int] = set()
        for i, window in self.windows.items():
            bad = BADNESS[window.phase(self.now)]
            if i in self.bad and bad > self.bad[i]:
                self.owed.add(i)
                self.away.pop(i, None)
                self.fresh.add(i)
            if i in self.away and self.now >= self.away[i]:
                del self.away[i]
                if bad:
                    self.owed.add(i)
            # while it is put off, a call that passed and comes again is the same call
            self.bad[i] = max(bad, self.bad.get(i, bad)) if i in self.away else bad
        ring = self.board.update([("job", w) for w in self.windows.values()], self.now)
        if ring is not None:
            self.rung.append((self.now, ring))
            assert self.now >= self.quiet, "it rang while silenced"
            assert len(ring.words.split()) <= MOST_WORDS

    @rule(seconds=st.integers(1, 80), steps=st.integers(1, 4))
    def time_passes(self, seconds: int, steps: int) -> None:
        for _ in range(steps):
            self.now += timedelta(seconds=seconds)
            self.look()

    @rule(minutes=st.integers(2, 90))
    def the_laptop_sleeps(self, minutes: int) -> None:
        before = len(self.rung)
        self.now += timedelta(minutes=minutes) + GAP
        self.look()
        assert len(self.rung) <= before + 1
        if self.fresh:
            assert self.board.summary is not None
            told = {a.window.piece for a in self.board.summary.items}
            assert {f"p{i}" for i in self.fresh} <= told

    def at(self, place: tuple[str, str]) -> int:
        return next(i for i, w in self.windows.items() if w.key == place[1])

    @rule()
    def heard(self) -> None:
        shown = self.board.up()[:2]
        taken = [a.place for a in shown]
        if not shown and self.board.summary is not None:
            taken = [("job", a.window.key) for a in self.board.summary.items]
        keys = {w.key: i for i, w in self.windows.items()}
        self.board.heard()
        self.owed -= {keys[key] for _, key in taken if key in keys}

    @rule(minutes=st.sampled_from((5, 15, 60)))
    def put_off(self, minutes: int) -> None:
        up = self.board.up()
        if not up:
            return
        i = self.at(up[0].place)
        self.board.put_off(up[0], self.now, timedelta(minutes=minutes))
        self.owed.discard(i)
        if up[0].calls:
            self.away[i] = self.now + timedelta(minutes=minutes)

    @rule(minutes=st.sampled_from((5, 15)))
    def silence(self, minutes: int) -> None:
        self.quiet = self.now + timedelta(minutes=minutes)
        self.board.silence(self.now, timedelta(minutes=minutes))

    @rule()
    def sounds_on(self) -> None:
        self.quiet = self.now
        self.board.sound_again()

    @rule(spans=st.tuples(OPENS, CLOSES))
    def a_coat_is_done(self, spans: tuple[int, int | None]) -> None:
        self.windows[self.next] = made(self.next, self.now, *spans)
        self.next += 1
        self.look()

    @precondition(lambda self: self.windows)
    @rule(data=st.data(), minutes=st.integers(-3, 10))
    def a_reading_moves_an_edge(self, data: st.DataObject, minutes: int) -> None:
        i = data.draw(st.sampled_from(sorted(self.windows)))
        span, by = self.windows[i].span, timedelta(minutes=minutes)
        closes = span.closes_at + by if span.closes_at is not None else None
        self.windows[i] = replace(self.windows[i], span=replace(span, opens_at=span.opens_at + by, closes_at=closes))
        self.look()

    @precondition(lambda self: self.windows)
    @rule(data=st.data())
    def the_next_coat_goes_on(self, data: st.DataObject) -> None:
        i = data.draw(st.sampled_from(sorted(self.windows)))
        del self.windows[i]
        self.bad.pop(i, None)
        self.away.pop(i, None)
        self.owed.discard(i)
        self.look()

    @invariant()
    def nothing_owed_is_out_of_sight(self) -> None:
        shown = {a.window.key for a in self.board.up()}
        if self.board.summary is not None:
            shown |= {a.window.key for a in self.board.summary.items}
        calls = {i for i in self.owed if self.bad[i]}
        missing = [self.windows[i].piece_name for i in calls if self.windows[i].key not in shown]
        assert not missing, f"lost: {missing}"

    @invariant()
    def what_is_put_off_is_put_off_until_then(self) -> None:
        for i, until in self.away.items():
            if self.bad[i]:
                assert self.board.put_off_until("job", self.windows[i]) == until

    @invariant()
    def nothing_unheard_was_never_sounded(self) -> None:
        """But for a silence, and for the minute after a ring."""
        if self.now < self.quiet or (self.rung and self.now - self.rung[-1][0] < MINUTE):
            return
        silent = [a for a in self.board.up() if a.rung == 0 and a.calls]
        assert not silent or self.quiet == self.now, "sounds on: the next beat rings"

    @invariant()
    def a_minute_has_one_ring_for_what_is_fresh_unless_something_worse_comes(self) -> None:
        fresh = [(at, ring) for at, ring in self.rung if "ot heard yet" not in ring.words]
        for (before, first), (at, ring) in pairwise(fresh):
            if at - before < MINUTE and not ring.words.startswith("While"):
                assert ring.grave
                assert not first.grave


Bench.TestCase.settings = settings(max_examples=120, stateful_step_count=30, deadline=None)
TestBench = Bench.TestCase
