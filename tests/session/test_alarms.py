"""What calls, how often, and how it goes away."""

from datetime import UTC, datetime, timedelta

from benchtool.job.windows import Window
from benchtool.session.alarms import AlarmBoard, Call
from benchtool.trade.windows import Span, WindowKind

START = datetime(2026, 3, 14, 9, tzinfo=UTC)


def after(minutes: float) -> datetime:
    return START + timedelta(minutes=minutes)


def window(name: str, opens: float, closes: float | None = None, kind: WindowKind = WindowKind.FLASH) -> Window:
    span = Span(START, after(opens), after(closes) if closes is not None else None)
    return Window(
        piece=name, piece_name=name, layer=name, layer_name="Promoter", kind=kind, coat=1, span=span, then="coat 2",
        needed=True,
    )  # fmt: skip


def run(board: AlarmBoard, windows: list[Window], *minutes: float) -> list[tuple[float, Call, str]]:
    rung = []
    for m in minutes:
        ring = board.update([("job", w) for w in windows], after(m))
        if ring is not None:
            rung.append((m, ring.call, ring.words))
    return rung


def test_opening_closing_and_closed_call_once_each() -> None:
    board, w = AlarmBoard(), [window("dome", 10, 60)]
    steps = [m / 2 for m in range(140)]
    assert [(m, call) for m, call, _ in run(board, w, *steps)] == [
        (10.0, Call.NOW),
        (52.5, Call.SOON),
        (60.0, Call.LATE),
    ]


def test_the_first_look_rings_for_nothing_old() -> None:
    board = AlarmBoard()
    assert run(board, [window("dome", 10, 60)], 30, 31) == []


def test_after_a_restart_what_was_just_missed_is_up_without_a_sound() -> None:
    board = AlarmBoard()
    missed, old = window("cup", 0, 30, WindowKind.POT_LIFE), window("other", 0, 30, WindowKind.POT_LIFE)
    assert run(board, [missed], 50) == []
    assert [a.call for a in board.up()] == [Call.LATE]
    board = AlarmBoard()
    run(board, [old], 200)
    assert board.up() == ()


def test_many_at_once_are_one_sentence() -> None:
    board = AlarmBoard()
    windows = [window(f"piece {i}", 10) for i in range(10)]
    [(_, call, words)] = run(board, windows, 9, 10)
    assert call is Call.NOW
    assert words.endswith("and 8 more.")
    assert words.count("coat 2") + words.count("Coat 2") == 2


def test_the_worst_call_gives_the_sound() -> None:
    board = AlarmBoard()
    [(_, call, words)] = run(board, [window("a", 10), window("b", 5, 10)], 9.9, 10)
    assert call is Call.LATE
    assert words.startswith("b:")


def test_what_calls_stays_until_heard_or_no_longer_true() -> None:
    board, w = AlarmBoard(), window("dome", 10)
    run(board, [w], 9, 10, 11)
    assert [a.call for a in board.up()] == [Call.NOW]
    board.heard()
    assert board.up() == ()
    run(board, [w], 12)
    assert board.up() == ()
    board, w = AlarmBoard(), window("dome", 10)
    run(board, [w], 9, 10)
    run(board, [], 11)
    assert board.up() == ()


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


def test_a_pot_life_calls_before_and_at_its_end() -> None:
    board = AlarmBoard()
    rung = run(board, [window("cup", 0, 60, WindowKind.POT_LIFE)], *range(70))
    assert [(m, c) for m, c, _ in rung] == [(51, Call.SOON), (60, Call.LATE)]
