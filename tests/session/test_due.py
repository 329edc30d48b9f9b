"""The watch's order, which is kept between two edges, is always the one that sorting anew would give."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any

from benchtool.job.windows import Window
from benchtool.session.due import due_now
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
    from builders import COLOUR, JobBuilder
    from msgspec.structs import replace

    from benchtool.job.cards import CardTime, DoublingPacing
    from benchtool.session.due import Due

    paced = replace(COLOUR, paces={CardTime.EVERY: DoublingPacing(reference_degC=23)})
    bench = JobBuilder().card(paced).piece().prep("wash").layer("colour", paced, 2).read_air(13, 50).ready().coat()
    [flash] = [w for w in bench.all_windows() if w.kind is WindowKind.FLASH]
    now = flash.span.started_at + timedelta(seconds=1)
    line = Due(document=SimpleNamespace(title="Job"), window=flash, now=now, phase=flash.phase(now), rank=2)  # type: ignore[arg-type]
    assert flash.span.opens_at - flash.span.started_at == 2 * (paced.flash or timedelta(0))
    assert line.words.startswith("then coat 2; ")
    assert "2 times as long" in line.words
