"""What calls, how often, and how it goes away."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import pytest

from benchtool.job.windows import Window
from benchtool.session.alarms import FLASH_HZ, AlarmBoard, Call, Ring, something_runs
from benchtool.session.alarmstates import AlarmState
from benchtool.session.alarmwords import MOST_WORDS, spoken
from benchtool.trade.windows import Span, WindowKind

START = datetime(2026, 3, 14, 9, tzinfo=UTC)


def after(minutes: float) -> datetime:
    return START + timedelta(minutes=minutes)


def window(
    name: str,
    opens: float,
    closes: float | None = None,
    kind: WindowKind = WindowKind.FLASH,
    *,
    needed: bool = True,
    layer: str = "Promoter",
) -> Window:
    span = Span(START, after(opens), after(closes) if closes is not None else None)
    return Window(
        piece=name, piece_name=name, layer=name, layer_name=layer, kind=kind, coat=1, span=span, then="coat 2",
        needed=needed,
    )  # fmt: skip


def look(board: AlarmBoard, windows: list[Window], minutes: float) -> Ring | None:
    return board.update([("job", w) for w in windows], after(minutes))


def run(board: AlarmBoard, windows: list[Window], *minutes: float) -> list[tuple[float, Call, str]]:
    rung = [(m, look(board, windows, m)) for m in minutes]
    return [(m, ring.call, ring.words) for m, ring in rung if ring is not None]


def beats(since: float, until: float) -> list[float]:
    """One beat a second from `since` to `until`, both minutes."""
    return [since + s / 60 for s in range(round((until - since) * 60) + 1)]


def names(board: AlarmBoard) -> list[str]:
    return [a.window.piece_name for a in board.up()]


# --- one window ------------------------------------------------------------------------------------


def test_opening_closing_and_closed_call_once_each_when_they_are_heard() -> None:
    board, rung = AlarmBoard(), []
    for m in (m / 2 for m in range(140)):
        rung += run(board, [window("dome", 10, 60)], m)
        board.heard()
    assert [(m, call) for m, call, _ in rung] == [(10.0, Call.NOW), (52.5, Call.SOON), (60.0, Call.LATE)]


def test_a_pot_life_calls_before_and_at_its_end() -> None:
    board, rung = AlarmBoard(), []
    for m in range(70):
        rung += run(board, [window("cup", 0, 60, WindowKind.POT_LIFE)], m)
        board.heard()
    assert [(m, c) for m, c, _ in rung] == [(51, Call.SOON), (60, Call.LATE)]


def test_the_first_look_rings_for_nothing_old() -> None:
    board = AlarmBoard()
    assert run(board, [window("dome", 10, 60)], 30, 31) == []


def test_after_a_restart_what_was_just_missed_is_up_without_a_sound() -> None:
    board = AlarmBoard()
    missed, old = window("cup", 0, 30, WindowKind.POT_LIFE), window("other", 0, 30, WindowKind.POT_LIFE)
    assert run(board, [missed], *range(50, 70)) == []
    assert [a.call for a in board.up()] == [Call.LATE]
    board = AlarmBoard()
    run(board, [old], 200)
    assert board.up() == ()


def test_what_closes_soon_at_the_first_look_is_up_and_rings_only_if_it_stays_unheard() -> None:
    board = AlarmBoard()
    assert [(m, c) for m, c, _ in run(board, [window("cup", 0, 60, WindowKind.POT_LIFE)], 55, 56, 57)] == [
        (57, Call.SOON)
    ]


def test_what_calls_stays_until_heard_or_answered() -> None:
    board, w = AlarmBoard(), window("dome", 10)
    run(board, [w], 9, 10, 11)
    assert [a.call for a in board.up()] == [Call.NOW]
    board.heard()
    assert board.up() == ()
    run(board, [w], 12)
    assert board.up() == ()
    board, w = AlarmBoard(), window("dome", 10)
    run(board, [w], 9, 10)
    run(board, [], 11)  # coat 2 is on: the window is gone
    assert board.up() == ()


def test_what_passes_by_itself_unheard_stays_shown_for_a_while() -> None:
    board, colder = AlarmBoard(), window("dome", 40)
    run(board, [window("dome", 10)], 9, 10)
    assert run(board, [colder], 11) == []
    [alarm] = board.up()
    assert alarm.state is AlarmState.RETURNED
    assert alarm.state_words().endswith("passed, not heard")
    assert not board.calling(after(11))
    run(board, [colder], *range(12, 21))
    assert names(board) == ["dome"]
    run(board, [colder], 21)
    assert board.up() == ()
    assert [m for m, _, _ in run(board, [colder], 39, 40)] == [40]  # and it calls anew


def test_what_passed_is_gone_once_it_is_heard() -> None:
    board, colder = AlarmBoard(), window("dome", 40)
    run(board, [window("dome", 10)], 9, 10)
    run(board, [colder], 11)
    board.heard()
    assert board.up() == ()


def test_a_deadline_that_moves_off_rings_for_nothing() -> None:
    board = AlarmBoard()
    run(board, [window("dome", 10, 60)], 53, 54)
    board = AlarmBoard()
    run(board, [window("dome", 10, 60)], 52, 53)
    board.heard()
    assert run(board, [window("dome", 10, 90)], 54, 55) == []
    assert [c for _, c, _ in run(board, [window("dome", 10, 90)], *range(56, 80))] == [Call.SOON]


# --- many at once ----------------------------------------------------------------------------------


def test_ten_in_one_minute_ring_once_and_are_one_short_sentence() -> None:
    board = AlarmBoard()
    windows = [window(f"Panel {i}", 10 + i / 10, layer="Base") for i in range(10)]
    rung = run(board, windows, *beats(9, 13))
    assert [(m, call) for m, call, _ in rung] == [(10.0, Call.NOW)]
    [(_, _, words)] = rung
    assert words == "10 come due within a minute: first Panel 0, Base: Coat 2 may go on now."
    assert len(board.up()) == 10


def test_many_at_one_instant_are_one_sentence() -> None:
    board = AlarmBoard()
    [(_, call, words)] = run(board, [window(f"piece {i}", 10) for i in range(10)], 9, 10)
    assert call is Call.NOW
    assert words.startswith("10 come due now: first piece 0")


def test_the_worst_call_gives_the_sound() -> None:
    board = AlarmBoard()
    [(_, call, words)] = run(board, [window("a", 10), window("b", 5, 10)], 9.9, 10)
    assert call is Call.LATE
    assert "first b, Promoter:" in words


def test_within_the_minute_only_something_worse_rings() -> None:
    board = AlarmBoard()
    windows = [window("a", 10), window("b", 10.4), window("cup", 0, 10.5, WindowKind.POT_LIFE)]
    run(board, windows, 9)
    board.heard()
    rung = run(board, windows, *beats(9.9, 11.4))
    assert [(round(m, 1), call) for m, call, _ in rung] == [(10.0, Call.NOW), (10.5, Call.LATE)]


def test_what_only_informs_rings_after_what_matters_and_never_twice() -> None:
    board = AlarmBoard()
    windows = [window("hood", 10, kind=WindowKind.CURE, needed=False), window("dome", 10.2)]
    rung = run(board, windows, *beats(9.9, 30))
    assert [(round(m, 1), call) for m, call, _ in rung] == [(10.0, Call.NOW), (10.2, Call.NOW)]
    assert names(board) == ["dome", "hood"]
    assert not any(a.rung > 1 for a in board.up())


def test_what_nobody_could_foresee_rings_when_the_minute_is_over() -> None:
    """A new reading may bring an edge nearer: it was not in the sentence, so it is not passed over in silence."""
    board = AlarmBoard()
    windows = [window("a", 10), window("b", 60)]
    run(board, windows, 9.9, 10)
    warmer = [windows[0], window("b", 10.5)]
    assert [round(m, 2) for m, _, _ in run(board, warmer, *beats(10.4, 12))] == [11.0]


def test_an_announced_call_that_a_reading_moves_rings_when_it_comes() -> None:
    board = AlarmBoard()
    run(board, [window("a", 10), window("b", 10.5)], 9.9, 10)
    board.heard()
    moved = [window("a", 10), window("b", 30)]
    assert [m for m, _, _ in run(board, moved, 11, 29, 30)] == [30]


def test_a_short_window_is_not_counted_twice() -> None:
    board = AlarmBoard()
    w = [window("dome", 10, 15)]  # closing for its last minute, so that too late lies within the look ahead
    run(board, w, *beats(13, 13.9))
    assert [words for _, _, words in run(board, w, 14)] == ["dome, Promoter: Coat 2 now: only 60 s left."]
    assert [(m, c) for m, c, _ in run(board, w, 14.5, 15)] == [(15, Call.LATE)]


# --- repeats, silence, putting off -----------------------------------------------------------------


def test_a_deadline_nobody_hears_rings_again_five_times() -> None:
    board = AlarmBoard()
    rung = run(board, [window("cup", 0, 60, WindowKind.POT_LIFE)], *beats(59.9, 90))
    assert [(round(m), c) for m, c, _ in rung] == [(m, Call.LATE) for m in (60, 62, 64, 66, 68, 70)]
    assert rung[1][2].startswith("Not heard yet: cup, Promoter: Pot life over")


def test_what_may_be_sprayed_rings_once() -> None:
    board = AlarmBoard()
    assert [m for m, _, _ in run(board, [window("dome", 10)], *beats(9.9, 20))] == [pytest.approx(10)]


def test_several_unheard_deadlines_ring_again_together() -> None:
    board = AlarmBoard()
    cups = [window(f"cup {i}", 0, 60 + i / 4, WindowKind.POT_LIFE) for i in range(3)]
    rung = run(board, cups, *beats(59.9, 63.9))
    assert [round(m) for m, _, _ in rung] == [60, 62]
    assert "3 not heard yet" in rung[1][2]


def test_silence_ends_by_itself_and_loses_no_words() -> None:
    board = AlarmBoard()
    windows = [window("a", 10), window("b", 40)]
    run(board, windows, 9)
    board.silence(after(9), timedelta(minutes=15))
    assert run(board, windows, 10) == []
    assert len(board.up()) == 1
    assert board.quiet_until(after(20)) == after(24)
    assert board.quiet_until(after(24)) is None
    assert [m for m, _, _ in run(board, windows, 23, 24, 39, 40)] == [24, 40]


def test_nothing_rings_again_while_silenced() -> None:
    board, cup = AlarmBoard(), [window("cup", 0, 60, WindowKind.POT_LIFE)]
    run(board, cup, 59.9, 60)
    board.silence(after(60.5), timedelta(minutes=15))
    assert [round(m, 1) for m, _, _ in run(board, cup, *beats(60.5, 76))] == [75.5]


def test_what_is_put_off_comes_back_by_itself() -> None:
    board, w = AlarmBoard(), [window("dome", 10)]
    run(board, w, 9, 10)
    board.put_off(board.up()[0], after(11), timedelta(minutes=15))
    assert board.up() == ()
    assert board.put_off_until("job", w[0]) == after(26)
    [away] = board.shelved()
    assert away.state_words() == f"put off until {after(26).astimezone():%H:%M}"
    assert [(m, c) for m, c, _ in run(board, w, *beats(11, 30))] == [(pytest.approx(26), Call.NOW)]
    assert names(board) == ["dome"]
    assert board.put_off_until("job", w[0]) is None


def test_a_deadline_comes_through_what_was_put_off() -> None:
    board, w = AlarmBoard(), [window("dome", 10, 60)]
    run(board, w, 9, 10)
    board.put_off(board.up()[0], after(30), timedelta(hours=1))
    assert [(m, c) for m, c, _ in run(board, w, 31, *beats(52, 53))] == [(52.5, Call.SOON)]


def test_a_deadline_put_off_stays_so_when_readings_move_it_to_and_fro() -> None:
    board, cup = AlarmBoard(), window("cup", 0, 60, WindowKind.POT_LIFE)
    run(board, [cup], 59.9, 60)
    board.put_off(board.up()[0], after(60), timedelta(minutes=15))
    moved = [window("cup", 0, 62, WindowKind.POT_LIFE)]
    assert run(board, moved, *beats(60.1, 74.9)) == []
    assert [(round(m), c) for m, c, _ in run(board, moved, *beats(74.9, 75.1))] == [(75, Call.LATE)]


def test_what_is_put_off_and_passes_meanwhile_does_not_come_back() -> None:
    board = AlarmBoard()
    run(board, [window("dome", 10)], 9, 10)
    board.put_off(board.up()[0], after(11), timedelta(minutes=5))
    colder = [window("dome", 40)]
    assert run(board, colder, *range(12, 20)) == []
    assert board.up() == board.shelved() == ()
    assert [m for m, _, _ in run(board, colder, 39, 40)] == [40]


def test_what_is_put_off_can_be_put_back() -> None:
    board, w = AlarmBoard(), [window("dome", 10)]
    run(board, w, 9, 10)
    board.put_off(board.up()[0], after(11), timedelta(minutes=60))
    board.put_back(board.shelved()[0], after(12))
    assert names(board) == ["dome"]
    assert [m for m, _, _ in run(board, w, 12, 13)] == [12]


def test_a_clock_set_back_prolongs_no_silence_and_no_putting_off() -> None:
    board, w = AlarmBoard(), [window("dome", 100)]
    run(board, w, 80)
    board.silence(after(80), timedelta(minutes=15))
    run(board, w, 81)
    run(board, w, 21)
    assert board.quiet_until(after(34)) == after(35)


# --- sleep and restart -----------------------------------------------------------------------------


def asleep() -> list[Window]:
    tanks = [window(f"Tank {i}", 100 + i, layer="clear") for i in range(3)]
    return [*tanks, window("Fender", 60, 200, WindowKind.RECOAT, layer="base")]


def test_after_a_sleep_one_summary_says_what_opened_and_closed() -> None:
    board = AlarmBoard()
    run(board, asleep(), 10)
    ring = look(board, asleep(), 10 + 545)
    assert ring is not None
    assert ring.call is Call.LATE
    assert ring.grave
    opened, closed = "3 opened (Tank 0 clear and more)", "1 closed: Fender base recoat"
    assert ring.words == f"While the laptop slept, 9 h 5 min: {opened}, {closed}."
    assert len(ring.words.split()) <= MOST_WORDS
    assert board.up() == ()
    assert board.summary is not None
    assert board.summary.head == "While the laptop slept, 9 h 5 min: 3 opened, 1 closed."
    lines = board.summary.lines(after(555))
    assert len(lines) == 4
    assert lines[0].startswith("Fender, base: Recoat closed 5 h 55 min ago")
    assert board.summary.lines(after(555), most=2)[-1] == "and 2 more"


def test_a_summary_rings_again_for_its_deadline_alone_and_stays_to_be_found() -> None:
    board = AlarmBoard()
    run(board, asleep(), 10)
    rung = run(board, asleep(), *beats(555, 558))
    assert [round(m) for m, _, _ in rung] == [555, 557]
    assert "Fender" in rung[1][2]
    summary = board.summary
    board.heard()
    assert board.summary is None
    assert board.up() == ()
    assert run(board, asleep(), *beats(558, 562)) == []
    assert board.recall() is summary is board.summary
    board.heard()
    assert board.summary is None


def test_what_calls_after_the_summary_is_shown_on_its_own() -> None:
    board = AlarmBoard()
    windows = [*asleep(), window("Dome", 558)]
    run(board, windows, 10, 555)
    assert [c for _, c, _ in run(board, windows, 556, 557, 558)] == [Call.LATE, Call.NOW]  # the first says it again
    assert names(board) == ["Dome"]
    board.heard()
    assert board.up() == ()
    assert board.summary is not None


def test_what_worsens_after_the_summary_comes_out_of_it() -> None:
    board, w = AlarmBoard(), [window("Dome", 20, 80)]
    run(board, w, 10, 30)
    assert board.up() == ()
    assert [c for _, c, _ in run(board, w, *beats(70.9, 71.1))] == [Call.SOON]
    assert names(board) == ["Dome"]


def test_what_is_done_after_the_sleep_is_told_no_more_nor_by_the_summary_of_the_next() -> None:
    board = AlarmBoard()
    panels = [window("Hood", 10, 20), window("Door", 10, 400)]
    look(board, panels, 1)
    look(board, panels, 15)
    assert board.summary is not None
    assert len(board.summary.items) == 2
    look(board, panels[1:], 16)  # the coat is on the hood
    assert [a.window.piece_name for a in board.summary.items] == ["Door"]
    look(board, panels[1:], 120)
    assert not any("Hood" in line for line in board.summary.lines(after(120)))
    look(board, [], 121)
    assert board.summary is None


def test_what_only_informs_is_told_in_the_summary_but_is_not_grave() -> None:
    board, w = AlarmBoard(), [window("Hood", 60, kind=WindowKind.CURE, needed=False, layer="clear")]
    run(board, w, 10)
    ring = look(board, w, 130)
    assert ring is not None
    assert ring.words == "While the laptop slept, 2 h: 1 done waiting (Hood clear)."
    assert not ring.grave


def test_a_sleep_in_which_nothing_came_due_says_nothing() -> None:
    board = AlarmBoard()
    assert run(board, asleep(), 10, 50) == []
    assert board.summary is None


def test_what_was_put_off_between_two_sleeps_stays_put_off() -> None:
    board, windows = AlarmBoard(), [window("Dome", 20, 80), window("Hood", 100)]
    run(board, windows, 10, 30, *beats(70.9, 71.1))
    board.put_off(board.up()[0], after(71.2), timedelta(minutes=60))
    [(_, _, words)] = run(board, windows, 120)
    assert "1 closed" in words  # it came through, for it got worse
    assert board.shelved() == ()
    board = AlarmBoard()
    run(board, windows, 10, 30, *beats(70.9, 71.1))
    board.put_off(board.up()[0], after(71.2), timedelta(minutes=60))
    later = [window("Dome", 20, 140), window("Hood", 100)]
    run(board, later, 72, 110)
    board.heard()
    assert board.put_off_until("job", later[0]) == after(131.2)


def test_a_sleep_under_a_silence_is_told_when_the_silence_ends() -> None:
    board = AlarmBoard()
    run(board, asleep(), 10)
    board.silence(after(10), timedelta(minutes=546))
    assert run(board, asleep(), 555) == []
    assert board.summary is not None
    assert [round(m) for m, _, _ in run(board, asleep(), *beats(555.5, 557))] == [556]


def test_what_was_put_off_until_some_time_in_the_sleep_comes_back_after_the_summary() -> None:
    """It opened before, so the summary would lie about it; and two rings at once would be one too many."""
    board = AlarmBoard()
    windows = [window("Dome", 5), *asleep()]
    run(board, windows, 4, 5)
    board.put_off(board.up()[0], after(6), timedelta(minutes=60))
    run(board, windows, 6)
    [(_, _, words)] = run(board, windows, 555)
    assert "3 opened" in words
    assert names(board) == ["Dome"]
    assert [(round(m), words) for m, _, words in run(board, windows, *beats(555, 556.5))] == [
        (556, "Dome, Promoter: Coat 2 may go on now.")
    ]


def test_after_a_restart_the_same_summary_tells_what_came_due_since() -> None:
    board = AlarmBoard()
    board.wake(after(10), after(555))
    [(_, call, words)] = run(board, asleep(), 555)
    assert call is Call.LATE
    assert words.startswith("While the bench was closed, 9 h 5 min: 3 opened")
    assert run(board, asleep(), 556) == []


def test_a_clock_put_right_says_so_in_its_summary() -> None:
    board = AlarmBoard()
    run(board, asleep(), 10)
    board.wake(after(10), after(555), "While the clock was wrong")
    [(_, _, words)] = run(board, asleep(), 555)
    assert words.startswith("While the clock was wrong, 9 h 5 min: 3 opened")


def test_a_kill_and_restart_at_once_loses_no_edge_and_rings_nothing_twice() -> None:
    w = [window("dome", 10), window("cup", 0, 60, WindowKind.POT_LIFE)]
    board = AlarmBoard()
    run(board, w, 9)
    board = AlarmBoard()
    board.wake(after(9), after(11))
    assert [c for _, c, _ in run(board, w, 11, 12)] == [Call.NOW]  # the edge at 10 fell into the gap
    board = AlarmBoard()
    board.wake(after(12), after(12.1))
    assert run(board, w, 12.1, 13) == []
    assert board.up() == ()
    assert board.summary is None


def test_a_last_look_in_the_future_tells_nothing() -> None:
    board = AlarmBoard()
    board.wake(after(900), after(555))
    assert run(board, asleep(), 555, 556) == []


def test_deadlines_missed_before_the_kill_stand_beside_the_summary() -> None:
    board = AlarmBoard()
    windows = [window("cup", 0, 30, WindowKind.POT_LIFE), window("dome", 50)]
    board.wake(after(45), after(55))
    [(_, call, words)] = run(board, windows, 55)
    assert call is Call.NOW
    assert "cup" not in words
    assert names(board) == ["cup"]


# --- words and flashes -----------------------------------------------------------------------------


def test_spoken_words_are_few_and_hold_no_figures_of_a_clock() -> None:
    long = "A very long name that somebody pasted from an order with all its numbers and dates " * 4
    board = AlarmBoard()
    windows = [replace(window(long, 10, 80), then=f"the {long}", layer_name=long) for _ in range(1)]
    [(_, _, words)] = run(board, windows, 9, 10)
    assert len(words.split()) <= MOST_WORDS
    assert "for 70 min" in words
    assert spoken("Coat 2 may go on now, for 1:06:20.") == "Coat 2 may go on now, for 66 min."
    assert spoken("Pot life over 0 s ago: mix fresh") == "Pot life over just now: mix fresh"
    assert spoken("Coat 2 is 0 s late for the card") == "Coat 2 is late for the card"
    assert spoken("Recoat closed 40 s ago: scuff") == "Recoat closed 40 s ago: scuff"
    assert spoken("It closes in 2 d 03:12.") == "It closes in 2 days."
    assert len(spoken("word " * 90).split()) == MOST_WORDS


def test_the_flash_is_slow_and_stands_still_after_a_while() -> None:
    """WCAG 2.2, success criterion 2.3.1: no more than three flashes in any one second."""
    assert FLASH_HZ <= 1
    board, w = AlarmBoard(), [window("dome", 10)]
    assert not board.flash(after(9))
    run(board, w, 9, 10)
    tenths = [board.flash(after(10) + timedelta(milliseconds=100 * i)) for i in range(600)]
    turns = [i for i in range(1, 600) if tenths[i] is not tenths[i - 1]]
    assert tenths[0]
    assert len(turns) == 20
    assert min(b - a for a, b in pairwise(turns)) == 10
    assert all(tenths[200:])
    board.heard()
    assert not board.flash(after(10.1))


def test_what_only_informs_does_not_flash() -> None:
    board = AlarmBoard()
    run(board, [window("hood", 10, kind=WindowKind.CURE, needed=False)], 9, 10)
    assert names(board) == ["hood"]
    assert not board.calling(after(10))
    assert not board.flash(after(10))


# --- what keeps the screen awake -------------------------------------------------------------------


def session(*windows: Window, coat: datetime | None = None) -> Any:
    layer = SimpleNamespace(open_coat=SimpleNamespace(started_at=coat) if coat is not None else None)
    state = SimpleNamespace(layers={"l": layer})
    return SimpleNamespace(documents=[SimpleNamespace(state=state, windows=windows)])


@pytest.mark.parametrize(
    ("windows", "coat", "runs"),
    [
        ((), None, False),
        ((), -1, True),
        ((), -12 * 60, False),  # nobody sprays a coat for twelve hours
        ((window("dome", 10),), None, True),
        ((window("dome", 12 * 60 + 1),), None, False),
        ((window("dome", -10),), None, False),  # open for good: nothing to wait for
        ((window("dome", -10, 60),), None, True),
        ((window("hood", 10, kind=WindowKind.CURE, needed=False),), None, False),
    ],
)
def test_something_runs_while_a_coat_is_sprayed_or_a_wanted_window_moves(
    windows: tuple[Window, ...], coat: float | None, runs: bool
) -> None:
    at = after(coat) if coat is not None else None
    assert something_runs(session(*windows, coat=at), START) is runs
