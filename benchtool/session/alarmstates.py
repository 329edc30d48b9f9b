"""The states of one call and what moves it from one to the next, as pure functions.

Source: the alarm states of ANSI/ISA-18.2-2016 and IEC 62682 (normal, unacknowledged, acknowledged, returned to normal
unacknowledged, shelved), whose terms OPC 10000-9 (OPC UA part 9, section 4.8 and 5.8.17, timed shelving) repeats in
the open. Their states for what a plant's designers suppress or take out of service are left out: nobody designs a
bench. Two additions of our own: a worse call ends putting off (a deadline must not hide behind an earlier "not now"),
and an act of the painter that ends a window ends its call too, for it answers it.
"""

from enum import IntEnum, StrEnum

from benchtool.job.windows import Window
from benchtool.trade.windows import Phase


class Call(StrEnum):
    """The three things an alarm can say; each has its own sound."""

    NOW = "now"
    SOON = "soon"
    LATE = "late"


class Priority(IntEnum):
    """What comes first when several call: the less time there is to act and the more is lost, the higher.

    Three are enough: ISA-18.2 advises three or four, with the highest the rarest (about 5 %, from memory).
    """

    DEADLINE = 0
    SPRAY = 1
    INFORMS = 2


class AlarmState(StrEnum):
    """How a call stands between the bench and the painter."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    RETURNED = "returned unacknowledged"
    SHELVED = "shelved"


class Happening(StrEnum):
    """What can happen to a call."""

    CALLS = "calls"
    """A window that did not call begins to."""
    WORSENS = "worsens"
    """It calls for something worse than before: closing after open, too late after closing."""
    PASSES = "passes"
    """It no longer calls though nobody acted, since the air moved its time."""
    HEARD = "heard"
    PUT_OFF = "put off"
    TIME_UP = "time up"
    """The time for which it was put off is over, and it still calls."""
    FADES = "fades"
    """It was shown long enough after it passed; or its time put off is over and it no longer calls."""
    ANSWERED = "answered"
    """Its window is gone: the next coat is on, the cup is empty, the job is closed."""


_N, _U, _A, _R, _S = (
    AlarmState.NORMAL, AlarmState.UNACKNOWLEDGED, AlarmState.ACKNOWLEDGED, AlarmState.RETURNED, AlarmState.SHELVED,
)  # fmt: skip
_H = Happening
_STEPS: dict[AlarmState, dict[Happening, AlarmState]] = {
    _N: {_H.CALLS: _U, _H.WORSENS: _U},
    _U: {_H.PASSES: _R, _H.HEARD: _A, _H.PUT_OFF: _S, _H.ANSWERED: _N},
    _A: {_H.CALLS: _U, _H.WORSENS: _U, _H.PASSES: _N, _H.PUT_OFF: _S, _H.ANSWERED: _N},
    _R: {_H.CALLS: _U, _H.WORSENS: _U, _H.HEARD: _N, _H.PUT_OFF: _N, _H.FADES: _N, _H.ANSWERED: _N},
    _S: {_H.WORSENS: _U, _H.HEARD: _A, _H.TIME_UP: _U, _H.FADES: _N, _H.ANSWERED: _N},
}


def step(state: AlarmState, happening: Happening) -> AlarmState:
    """Give the state after `happening`; what can't move a state leaves it as it is."""
    return _STEPS[state].get(happening, state)


_CALLS = {Phase.OPEN: Call.NOW, Phase.CLOSING: Call.SOON, Phase.CLOSED: Call.LATE}
_ORDER = (Call.LATE, Call.SOON, Call.NOW)


def call_of(window: Window, phase: Phase) -> Call | None:
    """Say what `window` calls for in `phase`; None while it waits, and for a life that has just begun."""
    if phase is Phase.OPEN and window.span.opens_at <= window.span.started_at:
        return None
    return _CALLS.get(phase)


def priority(call: Call, *, needed: bool) -> Priority:
    """Say how much hangs on a call. What nobody waits for (tape, cure, a cup no longer wanted) only informs."""
    if not needed:
        return Priority.INFORMS
    return Priority.SPRAY if call is Call.NOW else Priority.DEADLINE


def weight(call: Call, *, needed: bool) -> tuple[Priority, int]:
    """Give what calls are sorted by, the worst first: by priority, and within it too late before closing soon."""
    return priority(call, needed=needed), _ORDER.index(call)
