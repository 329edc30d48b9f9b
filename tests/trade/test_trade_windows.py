"""Windows: which phase a moment lies in, what is left, and how far a wait has come."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtool.trade.substrates import Flex, Suits
from benchtool.trade.windows import LEAST_LEAD, MOST_LEAD, Phase, Span

LAW = settings(max_examples=300, deadline=None, derandomize=True, database=None)
T0 = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
TICK = timedelta(microseconds=1)


def minutes(count: float) -> timedelta:
    return timedelta(minutes=count)


RECOAT = Span(T0, T0 + minutes(20), T0 + minutes(120))


@pytest.mark.parametrize(
    ("at", "phase"),
    [
        (minutes(0), Phase.WAITING),
        (minutes(20) - TICK, Phase.WAITING),
        (minutes(20), Phase.OPEN),
        (minutes(105) - TICK, Phase.OPEN),
        (minutes(105), Phase.CLOSING),  # the last 15 % of 100 min
        (minutes(120) - TICK, Phase.CLOSING),
        (minutes(120), Phase.CLOSED),
        (minutes(9999), Phase.CLOSED),
    ],
)
def test_the_phases_of_a_window_meet_without_gap(at: timedelta, phase: Phase) -> None:
    assert RECOAT.phase(T0 + at) is phase


@pytest.mark.parametrize(
    ("open_for", "lead"),
    [
        (minutes(100), minutes(15)),  # 15 %, which is also the most
        (minutes(40), minutes(6)),
        (minutes(5), minutes(1)),  # the least
        (timedelta(days=1), minutes(15)),  # the most
        (timedelta(seconds=30), timedelta(seconds=30)),  # shorter than the least: closing from its start
    ],
)
def test_the_warning_is_no_longer_than_it_is_of_use(open_for: timedelta, lead: timedelta) -> None:
    span = Span(T0, T0 + minutes(10), T0 + minutes(10) + open_for)
    assert span.closing_from() == T0 + minutes(10) + open_for - lead


def test_a_window_that_never_closes() -> None:
    span = Span(T0, T0 + minutes(5))
    assert span.closing_from() is None
    assert span.phase(T0 + timedelta(days=3650)) is Phase.OPEN
    assert span.remaining_s(T0 + minutes(5)) is None


def test_what_is_left_is_left_to_the_next_edge() -> None:
    assert RECOAT.remaining_s(T0) == 20 * 60
    assert RECOAT.remaining_s(T0 + minutes(20)) == 100 * 60
    assert RECOAT.remaining_s(T0 + minutes(120)) == 0
    assert RECOAT.remaining_s(T0 + minutes(121)) == -60


def test_progress_is_of_the_wait_or_of_the_life_where_there_is_no_wait() -> None:
    assert RECOAT.progress(T0 + minutes(5)) == 0.25
    assert RECOAT.progress(T0 + minutes(60)) == 1
    pot_life = Span(T0, T0, T0 + minutes(60))
    assert pot_life.progress(T0 + minutes(15)) == 0.25
    assert pot_life.progress(T0 - minutes(1)) == 0
    assert Span(T0, T0).progress(T0) == 1


spans = st.builds(
    lambda wait, life: Span(T0, T0 + wait, None if life is None else T0 + wait + life),
    st.timedeltas(timedelta(0), timedelta(days=10)),
    st.none() | st.timedeltas(timedelta(0), timedelta(days=10)),
)
moments = st.timedeltas(timedelta(days=-1), timedelta(days=30)).map(lambda d: T0 + d)
ORDER = [Phase.WAITING, Phase.OPEN, Phase.CLOSING, Phase.CLOSED]


@LAW
@given(spans, moments, moments)
def test_time_only_moves_a_window_on(span: Span, one: datetime, other: datetime) -> None:
    early, late = sorted((one, other))
    assert ORDER.index(span.phase(early)) <= ORDER.index(span.phase(late))
    assert span.progress(early) <= span.progress(late)


@LAW
@given(spans, moments)
def test_phase_rest_and_progress_never_contradict_each_other(span: Span, now: datetime) -> None:
    phase, left = span.phase(now), span.remaining_s(now)
    if phase is Phase.WAITING:
        assert left is not None
        assert left > 0
        assert span.progress(now) < 1
    elif phase is Phase.CLOSED:
        assert left is not None
        assert left <= 0
        assert span.progress(now) == 1
    else:
        assert left is None or left > 0
    assert 0 <= span.progress(now) <= 1


@LAW
@given(spans)
def test_the_lead_lies_in_the_window_and_between_its_bounds(span: Span) -> None:
    warn = span.closing_from()
    if warn is None or span.closes_at is None:
        return
    assert span.opens_at <= warn <= span.closes_at
    assert span.closes_at - warn <= MOST_LEAD
    assert span.closes_at - warn >= min(LEAST_LEAD, span.closes_at - span.opens_at)


@pytest.mark.parametrize(
    ("suits", "flex", "fits"),
    [
        (Suits.RIGID, Flex.RIGID, True),
        (Suits.RIGID, Flex.FLEXIBLE, False),
        (Suits.FLEXIBLE, Flex.RIGID, False),
        (Suits.FLEXIBLE, Flex.FLEXIBLE, True),
        (Suits.ANY, Flex.RIGID, True),
        (Suits.ANY, Flex.FLEXIBLE, True),
    ],
)
def test_which_activator_suits_which_piece(suits: Suits, flex: Flex, fits: bool) -> None:
    """Rigid for aluminium, steel and wood; flexible for plastics that bend: common practice, no source."""
    assert suits.suits(flex) is fits
