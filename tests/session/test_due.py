"""The watch's order, which is kept between two edges, is always the one that sorting anew would give."""

import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from builders import COLOUR, JobBuilder
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace as changed

import benchtool.session.due as due_module
from benchtool.job.cards import CardTime, DoublingPacing
from benchtool.job.windows import FOR_GOOD, Window
from benchtool.session.due import Due, clock_time, due_now
from benchtool.trade.windows import Span, WindowKind

START = datetime(2026, 3, 14, 9, tzinfo=UTC)


def after(minutes: float) -> datetime:
    return START + timedelta(minutes=minutes)


def window(
    name: str, opens: float, closes: float | None, kind: WindowKind = WindowKind.FLASH, *, needed: bool = True
) -> Window:
    span = Span(START, after(opens), after(closes) if closes is not None else None)
    return Window(
        piece=name, piece_name=name, layer=name, layer_name="Promoter", kind=kind, coat=1, span=span, then="coat 2",
        needed=needed,
    )  # fmt: skip


WINDOWS = (
    window("a", 10, 60),
    window("b", 12, None),
    window("c", 0, 45, WindowKind.POT_LIFE),
    window("d", 0, 25, WindowKind.POT_LIFE),
    window("e", 90, None, WindowKind.TAPE, needed=False),
    window("f", 15, None, WindowKind.CURE, needed=False),
    window("g", 5, 20),
)


class Bench:
    """As much of a session as the watch looks at."""

    def __init__(self, windows: tuple[Window, ...] = WINDOWS) -> None:
        self.documents: Any = [SimpleNamespace(title="job")]
        self.windows = windows

    def watch(self, now: datetime) -> Iterator[tuple[Any, Window]]:
        for w in self.windows:
            yield self.documents[0], w


def shown(bench: Any, minutes: float) -> list[tuple[str, str, str, int]]:
    return [(d.place, d.numerals, d.words, d.rank) for d in due_now(bench, after(minutes))]


def test_the_order_kept_is_the_order_sorted_anew() -> None:
    bench = Bench()
    orders = set()
    for step in range(4 * 130):
        lines = shown(bench, step / 4)
        assert lines == shown(Bench(), step / 4)
        orders.add(tuple(place for place, *_ in lines))
    assert len(orders) > 5


def test_a_clock_set_back_and_a_window_that_goes_are_seen_at_once() -> None:
    bench = Bench()
    for minutes in (61.0, 1.0, 30.0, 29.0):
        assert shown(bench, minutes) == shown(Bench(), minutes)
    bench.windows = WINDOWS[1:]
    assert shown(bench, 29.0) == shown(Bench(WINDOWS[1:]), 29.0)


def test_a_line_says_what_the_air_does_to_its_wait() -> None:
    """Twice as long for each 10 °C colder (Q10 = 2): at 13 °C a flash by a card of 23 °C takes twice as long."""
    paced = changed(COLOUR, paces={CardTime.EVERY: DoublingPacing(reference_degC=23)})
    bench = JobBuilder().card(paced).piece().prep("wash").layer("colour", paced, 2).read_air(13, 50).ready().coat()
    [flash] = [w for w in bench.all_windows() if w.kind is WindowKind.FLASH]
    now = flash.span.started_at + timedelta(seconds=1)
    line = Due(document=SimpleNamespace(title="Job"), window=flash, now=now, phase=flash.phase(now), rank=2)  # type: ignore[arg-type]
    assert flash.span.opens_at - flash.span.started_at == 2 * (paced.flash or timedelta(0))
    assert line.words.startswith("then coat 2; ")
    assert "2 times as long" in line.words


# --- the clock time ------------------------------------------------------------------------------------------


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Put the machine into a time zone of its own."""
    if not hasattr(time, "tzset"):
        pytest.skip("this system's time zone can't be set for one program")

    def put(name: str) -> None:
        monkeypatch.setenv("TZ", name)
        time.tzset()

    yield put
    monkeypatch.undo()
    time.tzset()


def test_the_clock_time_is_that_of_the_wall(zone: Callable[[str], None]) -> None:
    now = datetime(2026, 3, 14, 17, 42, tzinfo=UTC)  # a Saturday
    zone("CET-1CEST,M3.5.0,M10.5.0/3")
    assert clock_time(now, now) == "18:42"
    assert clock_time(now + timedelta(hours=6), now) == "Sun 00:42"
    assert clock_time(now - timedelta(hours=20), now) == "Fri 22:42"
    assert clock_time(now + timedelta(days=5, hours=13), now) == "Fri 07:42"
    assert clock_time(now + timedelta(days=7), now) == "21 Mar"
    assert clock_time(now + timedelta(days=400), now) == "18 Apr 2027"
    assert clock_time(FOR_GOOD, now) == ""
    zone("UTC0")
    assert clock_time(now, now) == "17:42"


def test_the_night_in_which_the_clocks_go_forward(zone: Callable[[str], None]) -> None:
    """29 March 2026, 02:00 became 03:00 in central Europe (IANA time zone data)."""
    zone("CET-1CEST,M3.5.0,M10.5.0/3")
    evening = datetime(2026, 3, 28, 21, 0, tzinfo=UTC)
    assert clock_time(evening, evening) == "22:00"
    assert clock_time(evening + timedelta(hours=9), evening) == "Sun 08:00"


def test_a_wait_is_never_over_before_its_clock_time_and_a_deadline_never_after(zone: Callable[[str], None]) -> None:
    zone("UTC0")
    bench = Bench((window("a", 10.5, 60.5),))
    assert [line.clock for line in due_now(bench, after(1))] == ["09:11"]
    assert [(line.clock_word, line.clock) for line in due_now(bench, after(11))] == [("until", "10:00")]
    assert [(line.clock_word, line.clock) for line in due_now(bench, after(61))] == [("since", "10:00")]
    whole = Bench((window("a", 10, None),))
    assert [line.clock for line in due_now(whole, after(1))] == ["09:10"]
    assert [line.clock_words for line in due_now(whole, after(11))] == ["since 09:10"]
    for step in range(0, 3600, 7):
        [line] = due_now(bench, after(1) + timedelta(seconds=step))
        assert line.edge is not None
        told = datetime.strptime(line.clock, "%H:%M").replace(year=2026, month=3, day=14, tzinfo=UTC)
        assert told >= line.edge if line.clock_word == "at" else told <= line.edge
        assert abs(told - line.edge) < timedelta(minutes=1)


def test_what_never_ends_has_no_clock_time() -> None:
    span = Span(START, FOR_GOOD)
    never = replace(window("a", 1, None), span=span)
    [line] = due_now(Bench((never,)), after(5))
    assert (line.clock, line.clock_word, line.clock_words, line.edge) == ("", "", "", None)
    assert line.short == "Not in this air"


# --- the bar -------------------------------------------------------------------------------------------------


def cold_flash(air_degC: float = 13.0) -> tuple[Any, Window]:
    """A flash of 10 min at 23 °C in colder air, by a doubling for each 10 °C."""
    paced = changed(COLOUR, paces={CardTime.EVERY: DoublingPacing(reference_degC=23)})
    job = JobBuilder().card(paced).piece().prep("wash").layer("colour", paced, 2)
    job = job.read_air(air_degC, 50).ready().coat()
    [flash] = [w for w in job.all_windows() if w.kind is WindowKind.FLASH]
    return job, flash


def line_of(window: Window, now: datetime) -> Due:
    document: Any = SimpleNamespace(title="Job")
    return Due(document, window, now, window.phase(now), 2)


def test_the_bar_shows_what_the_cold_added() -> None:
    """Q10 = 2: 10 K colder takes 20 min for 10; so after the card's 10 min half is done, and half is added."""
    _, flash = cold_flash()
    for minutes, filled in ((0, 0.0), (5, 0.25), (10, 0.5), (15, 0.75)):
        bar = line_of(flash, flash.span.started_at + timedelta(minutes=minutes)).bar
        assert bar.filled == pytest.approx(filled)
        assert bar.card == pytest.approx(0.5)
        assert bar.added == pytest.approx(0.5)
        assert not bar.runs_out


def test_cold_that_comes_later_sets_no_bar_back() -> None:
    """7 min at the card's 23 °C are 70 %, whatever comes then; the cold asks for 6 min more instead of 3."""
    job, _ = cold_flash(23.0)
    job.wait(minutes=7)
    [before] = [w for w in job.all_windows() if w.kind is WindowKind.FLASH]
    job.read_air(13, 50)
    [then] = [w for w in job.all_windows() if w.kind is WindowKind.FLASH]
    assert line_of(before, job.now).bar.filled == pytest.approx(0.7)
    assert line_of(before, job.now).bar.card == 1.0
    assert line_of(then, job.now).bar.filled == pytest.approx(0.7)
    assert line_of(then, job.now).bar.card == pytest.approx(0.85)
    assert then.span.opens_at - before.span.opens_at == timedelta(minutes=3)


def test_a_bar_without_air_is_the_time_gone() -> None:
    [line] = due_now(Bench((window("a", 10, 60),)), after(4))
    assert (line.bar.filled, line.bar.card, line.bar.added, line.bar.runs_out) == (pytest.approx(0.4), 1.0, 0.0, False)


@pytest.mark.parametrize(
    ("minutes", "filled"),
    [(10, 1.0), (35, 0.5), (59, 0.02), (60, 0.0), (90, 0.0)],
)
def test_what_closes_runs_out(minutes: float, filled: float) -> None:
    [line] = due_now(Bench((window("a", 10, 60),)), after(minutes))
    assert line.bar.filled == pytest.approx(filled)
    assert line.bar.runs_out
    assert line.bar.added == 0


def test_a_pot_life_runs_out_and_what_stays_open_is_full() -> None:
    lines = {x.window.piece: x.bar for x in due_now(Bench(), after(15))}
    assert lines["c"].filled == pytest.approx(2 / 3)  # 45 min, 15 of them gone
    assert lines["b"].filled == 1.0
    assert not lines["b"].runs_out


@given(st.floats(0, 200), st.floats(0, 100), st.floats(0, 100))
def test_shares_are_shares(minutes: float, opens: float, closes: float) -> None:
    for kind in WindowKind:
        w = window("a", 0 if kind is WindowKind.POT_LIFE else opens, closes, kind)
        bar = line_of(w, after(minutes)).bar
        assert 0 <= bar.filled <= 1
        assert 0 <= bar.card <= 1


# --- what is kept between two looks --------------------------------------------------------------------------


def test_windows_made_anew_are_told_anew_even_where_no_instant_moved() -> None:
    """After an undo the same instants may hold in another air: the old windows must not go on being told."""
    _, cold = cold_flash()
    bench = Bench((cold,))
    now = cold.span.started_at + timedelta(minutes=5)
    [line] = due_now(bench, now)
    assert "2 times as long" in line.words
    same_instants = replace(cold, span=replace(cold.span, opens_by=None))
    assert same_instants == cold  # equal, though nothing of the air is left in it
    bench.windows = (same_instants,)
    [line] = due_now(bench, now)
    assert line.window is same_instants
    assert line.words == "then coat 2"
    assert line.bar.card == 1.0


def test_the_order_is_kept_while_the_windows_are_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Bench()
    due_now(bench, after(1))
    monkeypatch.setattr(due_module, "_order", lambda *_: pytest.fail("sorted anew"))
    due_now(bench, after(2))
    due_now(bench, after(4.9))


# --- words for the far view ----------------------------------------------------------------------------------


def test_words_for_the_far_view_are_short_at_every_moment() -> None:
    shorts = set()
    for kind in WindowKind:
        for closes in (None, 40.0, 5.0):
            w = window("a", 0 if kind is WindowKind.POT_LIFE else 10, closes, kind)
            w = replace(w, then="spray" if kind is WindowKind.STAND else w.then)
            for minutes in (0, 11, 39, 41, 300):
                short = line_of(w, after(minutes)).short
                assert 0 < len(short) <= 20
                shorts.add(short)
    assert {"then coat 2", "Coat 2 may go on", "Recoat closes", "Scuff it first", "Mix fresh", "Cured"} <= shorts
    assert not any(short.startswith("Spray ") for short in shorts)  # an open window is no order: is there a cup?


def test_what_is_cut_off_is_the_cause_and_not_what_comes_of_it() -> None:
    _, flash = cold_flash()
    line = line_of(flash, flash.span.started_at)
    assert line.words == "then coat 2; 10 °C below the card's 23: takes 2 times as long"
    assert line.consequence_first == "then coat 2; takes 2 times as long, 10 °C below the card's 23"
    [plain] = due_now(Bench((window("a", 10, 60),)), after(4))
    assert plain.consequence_first == plain.words == "then coat 2"


def test_the_job_is_named_only_where_two_open_jobs_have_a_piece_of_that_name() -> None:
    def job(title: str, *pieces: str) -> Any:
        state = SimpleNamespace(
            pieces={f"p{i}": SimpleNamespace(piece=SimpleNamespace(name=n)) for i, n in enumerate(pieces)}
        )
        return SimpleNamespace(title=title, state=state)

    bench: Any = Bench((window("Tank", 10, 60), window("Box", 11, 60)))
    bench.documents = [job("Blue", "Tank", "Box", "Box"), job("Red", "Lid")]
    assert [d.place for d in due_now(bench, after(1))] == ["Tank, Promoter", "Box, Promoter"]
    assert [d.names for d in due_now(bench, after(1))] == [("Tank", "Promoter"), ("Box", "Promoter")]
    bench.documents[1] = job("Red", "Lid", "Tank")
    assert [d.place for d in due_now(bench, after(1))] == ["Blue: Tank, Promoter", "Box, Promoter"]
    assert [d.names for d in due_now(bench, after(1))] == [("Blue", "Tank", "Promoter"), ("Box", "Promoter")]
