"""Every state of a call, with everything that can happen in it."""

from datetime import UTC, datetime, timedelta

import pytest

from benchtool.job.windows import Window
from benchtool.session.alarmstates import AlarmState, Call, Happening, Priority, call_of, priority, step, weight
from benchtool.trade.windows import Phase, Span, WindowKind

HAPPENINGS = ("calls", "worsens", "passes", "heard", "put off", "time up", "fades", "answered")
TABLE = {
    # states and moves as in ISA-18.2 / IEC 62682; "worsens" out of shelved and "answered" are our own
    "normal": "U U - - - - - -",
    "unacknowledged": "- - R A S - - N",
    "acknowledged": "U U N - S - - N",
    "returned unacknowledged": "U U - N N - N N",
    "shelved": "- U - A - U N N",
}
STATES = {
    "N": AlarmState.NORMAL,
    "U": AlarmState.UNACKNOWLEDGED,
    "A": AlarmState.ACKNOWLEDGED,
    "R": AlarmState.RETURNED,
    "S": AlarmState.SHELVED,
}
PAIRS = [
    (AlarmState(state), Happening(happening), AlarmState(state) if to == "-" else STATES[to])
    for state, row in TABLE.items()
    for happening, to in zip(HAPPENINGS, row.split(), strict=True)
]


def test_the_table_covers_every_pair() -> None:
    assert {(state, happening) for state, happening, _ in PAIRS} == {(s, h) for s in AlarmState for h in Happening}


@pytest.mark.parametrize(("state", "happening", "after"), PAIRS)
def test_each_happening_moves_each_state_as_the_table_says(
    state: AlarmState, happening: Happening, after: AlarmState
) -> None:
    assert step(state, happening) is after


def test_nobody_loses_a_call_but_by_hearing_it_answering_it_or_seeing_it_fade() -> None:
    lost = {(s, h) for s in AlarmState for h in Happening if s is not AlarmState.NORMAL and step(s, h) is STATES["N"]}
    assert {h for _, h in lost} == {
        Happening.PASSES, Happening.HEARD, Happening.PUT_OFF, Happening.FADES, Happening.ANSWERED,
    }  # fmt: skip
    assert (AlarmState.UNACKNOWLEDGED, Happening.PASSES) not in lost
    assert [s for s, h in lost if h is Happening.PASSES] == [AlarmState.ACKNOWLEDGED]


def test_deadlines_go_before_may_spray_and_that_before_what_only_informs() -> None:
    order = [
        (Call.LATE, True), (Call.SOON, True), (Call.NOW, True), (Call.LATE, False), (Call.SOON, False),
        (Call.NOW, False),
    ]  # fmt: skip
    assert sorted(order, key=lambda c: weight(c[0], needed=c[1])) == order
    assert [priority(call, needed=needed) for call, needed in order] == [
        Priority.DEADLINE, Priority.DEADLINE, Priority.SPRAY, Priority.INFORMS, Priority.INFORMS, Priority.INFORMS,
    ]  # fmt: skip


def test_a_life_that_begins_calls_for_nothing_and_a_wait_that_ends_does() -> None:
    start = datetime(2026, 3, 14, 9, tzinfo=UTC)

    def window(kind: WindowKind, opens: int) -> Window:
        span = Span(start, start + timedelta(minutes=opens), start + timedelta(hours=2))
        return Window(
            piece="p", piece_name="Hood", layer="l", layer_name="Base", kind=kind, coat=None, span=span
        )  # fmt: skip

    assert call_of(window(WindowKind.POT_LIFE, 0), Phase.OPEN) is None
    assert call_of(window(WindowKind.STAND, 10), Phase.WAITING) is None
    assert call_of(window(WindowKind.STAND, 10), Phase.OPEN) is Call.NOW
    assert call_of(window(WindowKind.POT_LIFE, 0), Phase.CLOSING) is Call.SOON
    assert call_of(window(WindowKind.POT_LIFE, 0), Phase.CLOSED) is Call.LATE
