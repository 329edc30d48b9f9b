"""Heat on a piece and a thick film: they count only where the card says so, and never against its deadlines."""

from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from builders import CLEAR, COLOUR, START, JobBuilder, hours, minutes
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples, films, jobs, pauses, without_air, without_drying, without_paces

from benchtool.job import events as ev
from benchtool.job.cards import Card, CardTime, DoublingPacing, EvaporationPacing, ForcedDry, TablePacing
from benchtool.job.drying import Heat, Hot, Progress, film_factor
from benchtool.job.nextstep import next_step
from benchtool.job.record import Job, standing, with_events
from benchtool.job.state import State, fold
from benchtool.job.validate import card_faults, faults
from benchtool.job.windows import FOR_GOOD, Window, all_windows
from benchtool.store import cards as card_files
from benchtool.store import jobfile
from benchtool.trade.pace import Kind
from benchtool.trade.paceintegral import Integral
from benchtool.trade.windows import Phase, WindowKind

HEATED = replace(COLOUR, flash=minutes(60), forced={CardTime.FLASH: ForcedDry(degC=60, wait=minutes(20))})
"""60 min of flash in the air, or 20 min at 60 degC. Made up for a test."""

THICK = replace(COLOUR, films=((20.0, 1.0), (40.0, 1.5), (60.0, 3.0)))


def bench(card: Card, coats: int = 2) -> JobBuilder:
    """A piece with one layer of `card`, and another over it."""
    made = JobBuilder().card(card, CLEAR).piece()
    return made.layer("over", CLEAR).insert_layer("layer", card, "over", coats)


def heat(job: JobBuilder, degC: float = 60) -> JobBuilder:
    return job.add(ev.HeatStarted, piece="panel", degC=degC)


def cool(job: JobBuilder) -> JobBuilder:
    return job.add(ev.HeatEnded, piece="panel")


def film(job: JobBuilder, um: float, layer: str = "layer") -> JobBuilder:
    return job.add(ev.FilmMeasured, layer=layer, um=um)


def of(job: JobBuilder, kind: WindowKind) -> Window:
    (window,) = (w for w in job.all_windows() if w.kind is kind and w.layer == "layer")
    return window


# --- heat ------------------------------------------------------------------------------------------


def test_heat_ends_a_flash_as_soon_as_the_card_says_and_says_why() -> None:
    job = heat(bench(HEATED).coat(mix=None))
    flash = of(job, WindowKind.FLASH)
    assert flash.span.opens_at == job.now + minutes(20)
    assert flash.card_ends_at == job.now + minutes(60)
    assert flash.why(job.now) == "60 °C on it: dry in 20 min of heat by the card"
    assert flash.span.progress(job.now + minutes(5)) == pytest.approx(1 / 4)
    assert next_step(job.state, job.state.pieces["panel"], job.now).due_at == flash.span.opens_at
    assert job.one("timing.flash").clears_at == flash.span.opens_at
    job.wait(minutes=20).coat(mix=None)
    assert "timing.flash" not in job.rules()


def test_shares_of_air_and_of_heat_add_up_as_worked_by_hand() -> None:
    """10 degC under 21, so half as fast: 20 min are 10 of 60. 10 min of heat are 10 of 20. A third is left: 40 min."""
    slow = replace(HEATED, paces={CardTime.FLASH: DoublingPacing(reference_degC=21)})
    job = bench(slow).read_air(11, 50).coat(mix=None)
    done = job.now
    assert of(job, WindowKind.FLASH).span.opens_at == done + minutes(120)
    heat(job.wait(minutes=20))
    flash = of(job, WindowKind.FLASH)
    assert flash.span.progress(done + minutes(20)) == pytest.approx(1 / 6)
    assert flash.span.opens_at == done + minutes(20 + 5 / 6 * 20)
    cool(job.wait(minutes=10))
    flash = of(job, WindowKind.FLASH)
    assert flash.span.progress(done + minutes(30)) == pytest.approx(2 / 3)
    assert flash.span.opens_at == done + minutes(70)
    assert flash.why(job.now) == "10 °C below the card's 21: takes 2 times as long"


def test_a_second_heat_goes_on_where_the_first_ended() -> None:
    job = heat(bench(HEATED).coat(mix=None))
    done = job.now
    cool(job.wait(minutes=5))  # a quarter
    heat(job.wait(minutes=15))  # another quarter, by the air
    assert of(job, WindowKind.FLASH).span.opens_at == done + minutes(5 + 15 + 10)


def test_heat_counts_from_the_coat_done_and_not_before() -> None:
    job = heat(bench(HEATED)).wait(hours=3).coat(mix=None)
    done = job.now
    assert of(job, WindowKind.FLASH).span.opens_at == done + minutes(20)
    assert of(job, WindowKind.FLASH).span.progress(done + minutes(5)) == pytest.approx(1 / 4)
    cool(job.wait(minutes=10))
    assert of(job, WindowKind.FLASH).span.opens_at == done + minutes(10 + 30)


def test_heat_that_comes_too_late_changes_nothing() -> None:
    job = bench(HEATED).coat(mix=None)
    opens = job.now + minutes(60)
    heat(job.at(opens))
    assert of(job, WindowKind.FLASH).span.opens_at == opens


def test_heat_counts_also_where_the_cold_made_the_wait_longer_than_the_card() -> None:
    """20 degC under 21, so a quarter as fast: 240 min. 80 are a third; of 20 min in heat two thirds are left."""
    slow = replace(HEATED, paces={CardTime.FLASH: DoublingPacing(reference_degC=21)})
    job = bench(slow).read_air(1, 50).coat(mix=None)
    done = job.now
    heat(job.wait(minutes=80))
    flash = of(job, WindowKind.FLASH)
    assert flash.span.opens_at == done + minutes(80) + minutes(20) * 2 / 3
    assert flash.why(job.now) == "60 °C on it: dry in 20 min of heat by the card"


def test_heat_brings_a_deadline_nearer_that_the_cards_table_put_off() -> None:
    """At 10 degC the table gives 48 h, at 60 degC 1 h: after 30 h 18/48 are left, so 22.5 min in the heat."""
    points = ((10.0, hours(48)), (20.0, hours(24)), (60.0, hours(1)))
    tabled = replace(COLOUR, paces={CardTime.RECOAT_CLOSES: TablePacing(reference_degC=20, points=points)})
    job = bench(tabled, coats=1).read_air(10, 50).coat(mix=None)
    done = job.now
    assert of(job, WindowKind.RECOAT).span.closes_at == done + hours(48)
    heat(job.wait(hours=30))
    closes = of(job, WindowKind.RECOAT).span.closes_at
    assert closes is not None
    assert abs(closes - done - hours(30) - minutes(22.5)) < timedelta(milliseconds=1)


def test_heat_of_another_piece_is_none_of_this() -> None:
    job = bench(HEATED).coat("layer", mix=None).piece("other").add(ev.HeatStarted, piece="other", degC=60)
    assert of(job, WindowKind.FLASH).span.opens_at == job.now + minutes(60)


@pytest.mark.parametrize(
    ("card", "degC", "why"),
    [
        (HEATED, 50, "50 °C on it, under the 60 °C the card asks for: only the air counts"),
        (
            replace(HEATED, forced={}),
            60,
            "60 °C on it, but the card gives no time in heat for this: only the air counts",
        ),
        (
            replace(HEATED, forced={CardTime.CURE: ForcedDry(degC=60, wait=minutes(5))}),
            60,
            "60 °C on it, but the card gives no time in heat for this: only the air counts",
        ),
    ],
)
def test_heat_that_the_card_does_not_give_leaves_the_wait_to_the_air(card: Card, degC: float, why: str) -> None:
    job = heat(bench(card).read_air(40, 50).coat(mix=None), degC)
    flash = of(job, WindowKind.FLASH)
    assert flash.span.opens_at == job.now + minutes(60)
    assert flash.why(job.now) == why
    assert flash.span.progress(job.now + minutes(15)) == pytest.approx(1 / 4)


def test_a_layer_that_does_not_dry_in_the_air_dries_in_heat_by_the_card() -> None:
    wet = replace(HEATED, paces={CardTime.FLASH: EvaporationPacing()})
    job = bench(wet).read_air(20, 99).coat(mix=None)
    assert of(job, WindowKind.FLASH).span.never
    assert of(heat(job), WindowKind.FLASH).span.opens_at == job.now + minutes(20)
    cool(job.wait(minutes=5))
    assert of(job, WindowKind.FLASH).span.never
    assert of(job, WindowKind.FLASH).span.progress(job.now) == pytest.approx(1 / 4)


def test_every_wait_on_the_piece_has_its_own_time_in_heat() -> None:
    forced = {
        CardTime.RECOAT_OPENS: ForcedDry(degC=40, wait=minutes(10)),
        CardTime.TAPE: ForcedDry(degC=60, wait=hours(1)),
        CardTime.CURE: ForcedDry(degC=60, wait=hours(2)),
    }
    card = replace(COLOUR, tape=hours(24), cure=hours(48), forced=forced)
    job = heat(bench(card, 1).coat("layer", mix=None))
    ends = {w.kind: w.span.opens_at - job.now for w in job.all_windows()}
    assert ends == {WindowKind.RECOAT: minutes(10), WindowKind.TAPE: hours(1), WindowKind.CURE: hours(2)}
    assert of(job, WindowKind.CURE).why(job.now) == "60 °C on it: cured in 2 h of heat by the card"
    job.wait(minutes=61).mask()
    assert "timing.tape" not in job.rules()


def test_heat_brings_a_deadline_forward_only_where_its_pace_says_so() -> None:
    job = heat(bench(COLOUR, 1).coat("layer", mix=None))
    assert of(job, WindowKind.RECOAT).span.closes_at == job.now + hours(24)
    warm = replace(COLOUR, paces={CardTime.RECOAT_CLOSES: DoublingPacing(reference_degC=20)})
    for air in (None, 20.0):
        job = bench(warm, 1)
        job = (job if air is None else job.read_air(air, 50)).coat("layer", mix=None)
        heat(job.wait(hours=8), 30)  # two thirds of the 24 h are left, and go twice as fast
        recoat = of(job, WindowKind.RECOAT)
        assert recoat.span.closes_at == job.now + hours(8)
        assert recoat.why(job.now) == "Surface 10 °C above the card's 20: is over 2 times as soon"
        cool(job.wait(hours=4))
        assert of(job, WindowKind.RECOAT).span.closes_at == job.now + hours(8)


def test_heat_never_puts_a_deadline_off_even_by_a_table() -> None:
    table = TablePacing(points=((10.0, hours(30)), (30.0, hours(10))), reference_degC=20)
    warm = replace(COLOUR, paces={CardTime.RECOAT_CLOSES: table})
    job = bench(warm, 1).read_air(30, 50).coat("layer", mix=None)
    assert of(job, WindowKind.RECOAT).span.closes_at == job.now + hours(10)
    assert of(heat(job, 30), WindowKind.RECOAT).span.closes_at == job.now + hours(10)
    hot = of(heat(cool(job), 50), WindowKind.RECOAT).span.closes_at
    assert hot is not None
    assert hot < job.now + hours(10)


def test_a_pot_in_the_cup_feels_no_heat_on_the_piece() -> None:
    warm = replace(CLEAR, paces={CardTime.EVERY: DoublingPacing(reference_degC=20)})
    job = JobBuilder().card(warm).piece().layer("layer", warm, activator="slow").read_air(20, 50).ready()
    before = of(job, WindowKind.POT_LIFE).span
    assert of(heat(job), WindowKind.POT_LIFE).span == before


def test_what_is_over_in_heat_before_the_air_was_read_stays_over() -> None:
    slow = replace(HEATED, paces={CardTime.FLASH: TablePacing(points=((20.0, hours(9)),), reference_degC=20)})
    job = heat(bench(slow).coat(mix=None))
    opens = job.now + minutes(20)
    cool(job.wait(minutes=25)).read_air(20, 50)
    assert of(job, WindowKind.FLASH).span.opens_at == opens


# --- film ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("um", "factor"),
    [
        (5, 1),
        (20, 1),
        (20.1, 1.5),
        (40, 1.5),
        (40.0000000001, 1.5),
        (41, 3),
        (60, 3),
        (120, 12),
        (600, 300),
        (1e9, 1e6),
    ],
)
def test_a_film_takes_the_factor_of_the_first_row_that_is_as_thick(um: float, factor: float) -> None:
    assert film_factor(THICK.films, um) == pytest.approx(factor)


def test_without_rows_or_without_a_measure_no_film_counts() -> None:
    assert film_factor((), 500) == film_factor(THICK.films, None) == 1
    job = film(bench(COLOUR).coat(mix=None), 5_000)
    assert of(job, WindowKind.FLASH).span.opens_at == job.now + minutes(10)
    assert of(job, WindowKind.FLASH).why(job.now) == ""


@examples(200)
@given(films(), st.floats(0.1, 10_000), st.floats(0.1, 10_000))
def test_a_thicker_film_never_takes_less_and_no_film_less_than_the_card(
    rows: tuple[tuple[float, float], ...], one: float, other: float
) -> None:
    thin, thick = sorted((one, other))
    assert 1 <= film_factor(rows, thin) <= film_factor(rows, thick)


def test_a_thick_film_lengthens_the_waits_and_no_deadline_and_says_why() -> None:
    card = replace(THICK, flash_most=minutes(14), tape=hours(1), cure=hours(2))
    job = film(bench(card).coat("layer", mix=None), 35)
    flash = of(job, WindowKind.FLASH)
    assert (flash.span.opens_at, flash.span.closes_at) == (job.now + minutes(15), job.now + minutes(14))
    assert flash.card_ends_at == job.now + minutes(10)
    assert flash.why(job.now) == "35 µm thick: takes 1.5 times as long by the card"
    assert "by then" in flash.words_beside(job.now)
    film(job.wait(minutes=15).coat("layer", mix=None), 120)
    ends = {w.kind: w.span.opens_at - job.now for w in job.all_windows()}
    assert ends == {WindowKind.RECOAT: hours(4), WindowKind.TAPE: hours(12), WindowKind.CURE: hours(24)}
    assert of(job, WindowKind.RECOAT).span.closes_at == job.now + hours(24)
    assert of(job, WindowKind.CURE).why(job.now) == (
        "120 µm thick, more than the card's 60: takes 12 times as long, a guess on the safe side"
    )


def test_film_and_cold_and_heat_work_together() -> None:
    card = replace(HEATED, films=THICK.films, paces={CardTime.FLASH: DoublingPacing(reference_degC=21)})
    job = film(bench(card).read_air(11, 50).coat(mix=None), 40)
    flash = of(job, WindowKind.FLASH)
    assert flash.span.opens_at == job.now + minutes(60 * 1.5 * 2)
    assert flash.why(job.now) == (
        "10 °C below the card's 21: takes 2 times as long; 40 µm thick: takes 1.5 times as long by the card"
    )
    flash = of(heat(job), WindowKind.FLASH)
    assert flash.span.opens_at == job.now + minutes(30)
    assert flash.why(job.now).startswith("60 °C on it: dry in 30 min of heat by the card, in this film; 40 µm thick")
    assert flash.span.progress(job.now + minutes(15)) == pytest.approx(1 / 2)
    cool(job.wait(minutes=15))
    assert of(job, WindowKind.FLASH).span.opens_at == job.now + minutes(90)


def test_a_coat_is_as_thick_as_the_one_before_until_it_is_measured() -> None:
    job = film(bench(THICK, 3).coat(mix=None), 40).wait(minutes=15).coat(mix=None)
    assert of(job, WindowKind.FLASH).span.opens_at == job.now + minutes(15)
    assert "timing.flash" in job.rules()
    film(job, 50)
    assert of(job, WindowKind.FLASH).span.opens_at == job.now + minutes(30)
    job.wait(minutes=30).coat(mix=None)
    assert "timing.flash" not in job.rules()  # coat 2 waited for coat 1 as thick as coat 1 was


def test_a_film_measured_thick_closes_again_what_had_opened() -> None:
    job = bench(THICK).coat(mix=None).wait(minutes=11)
    assert of(job, WindowKind.FLASH).phase(job.now) is Phase.OPEN
    assert of(film(job, 40), WindowKind.FLASH).phase(job.now) is Phase.WAITING


def test_a_film_beyond_all_measure_never_dries_and_crashes_nothing() -> None:
    card = replace(COLOUR, flash=timedelta(days=36_000), films=((0.001, 1_000.0),))
    job = film(bench(card).coat(mix=None), 10_000)
    flash = of(job, WindowKind.FLASH)
    assert flash.span.opens_at == FOR_GOOD
    assert flash.words(job.now).startswith("It does not dry in this air: 10000 µm thick")
    assert flash.span.progress(job.now + hours(1)) < 1


# --- what can be in a record -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("said", "place", "told"),
    [
        (
            {"forced": {CardTime.POT_LIFE: ForcedDry(degC=60, wait=minutes(5))}},
            '.forced["pot life"]',
            "heat is for flash",
        ),
        ({"forced": {CardTime.EVERY: ForcedDry(degC=60, wait=minutes(5))}}, '.forced["*"]', "heat is for flash"),
        ({"forced": {CardTime.CURE: ForcedDry(degC=29.9, wait=minutes(5))}}, '.forced["cure"].degC', "is no heat"),
        ({"forced": {CardTime.CURE: ForcedDry(degC=60, wait=minutes(0))}}, '.forced["cure"].wait', "takes some time"),
        ({"forced": {CardTime.CURE: ForcedDry(degC=60, wait=minutes(-1))}}, '.forced["cure"].wait', "takes some time"),
        (
            {"forced": {CardTime.CURE: ForcedDry(degC=60, wait=timedelta(days=40_000))}},
            '.forced["cure"].wait',
            "no century",
        ),
        (
            {"forced": {CardTime.FLASH: ForcedDry(degC=60, wait=minutes(11))}},
            '.forced["flash"].wait',
            "longer than flash",
        ),
        ({"films": ((40.0, 1.0), (40.0, 2.0))}, ".films[1]", "from thin to thick"),
        ({"films": ((40.0, 2.0), (60.0, 2.0))}, ".films[1]", "above that of the row before"),
        ({"films": ((40.0, 0.9),)}, ".films[0]", "1 to 1000 times"),
        ({"films": ((40.0, 1_001.0),)}, ".films[0]", "1 to 1000 times"),
        ({"films": ((40.0, float("nan")),)}, ".films[0]", "1 to 1000 times"),
    ],
)
def test_what_no_sheet_says_is_a_fault_of_its_card(said: dict[str, Any], place: str, told: str) -> None:
    ((path, message),) = card_faults(replace(COLOUR, **said))
    assert path == place
    assert told in message
    job = JobBuilder().card(replace(COLOUR, **said)).job
    assert [f.path for f in faults(job)] == [f"$.events[{len(job.events) - 1}].card{place}"]


def test_a_card_of_heat_and_films_is_sound_and_stands_in_files_as_on_a_sheet() -> None:
    card = replace(HEATED, films=THICK.films)
    assert list(card_faults(card)) == []
    for written in (jobfile.dump(JobBuilder().card(card).job), card_files.dump(card)):
        assert b'"PT20M"' in written


@pytest.mark.parametrize(
    ("acts", "told"),
    [
        ("-", "never put on"),
        ("++", "while it is on"),
        ("+--", "never put on"),
        ("+-+", ""),
    ],
)
def test_heat_is_put_on_and_taken_off_in_turns(acts: str, told: str) -> None:
    job = bench(COLOUR)
    for act in acts:
        (heat if act == "+" else cool)(job.wait(minutes=1))
    found = list(faults(job.job))
    assert [told in f.message for f in found] == ([True] if told else [])
    assert len(job.state.pieces["panel"].heat.stretches) == acts.count("+")


def test_heat_is_not_taken_off_before_it_was_put_on() -> None:
    job = cool(heat(bench(COLOUR).wait(hours=1)).wait(hours=-0.5))
    (fault,) = faults(job.job)
    assert fault.path.endswith(".at")
    assert "before it was put on" in fault.message
    job = heat(cool(heat(bench(COLOUR).wait(hours=1))).wait(hours=-0.5))
    (fault,) = faults(job.job)
    assert "before it was last taken off" in fault.message


@pytest.mark.parametrize(
    "event",
    [
        ev.FilmMeasured(id="x", at=START, layer="nowhere", um=10),
        ev.HeatStarted(id="x", at=START, piece="nowhere", degC=60),
        ev.HeatEnded(id="x", at=START, piece="nowhere"),
    ],
)
def test_heat_and_film_speak_of_what_is_there_and_of_nothing_that_was_taken_back(event: ev.Event) -> None:
    job = with_events(bench(COLOUR).job, event)
    assert any("there is no" in f.message and "“nowhere”" in f.message for f in faults(job))
    assert all_windows(fold(job)) == ()


def test_the_words_of_the_acts() -> None:
    job = film(cool(heat(bench(COLOUR))), 35.5)
    assert [ev.event_words(e) for e in job.job.events[-3:]] == [
        "heat on at 60 °C",
        "heat off",
        "dry film 35.5 µm noted",
    ]


def test_an_end_that_comes_alone_and_a_start_that_comes_twice_leave_a_sound_heat() -> None:
    told = Heat()
    told.end(ev.HeatEnded(id="a", at=START, piece="p"))
    assert told.at(START) is None
    told.begin(ev.HeatStarted(id="b", at=START, piece="p", degC=40))
    told.begin(ev.HeatStarted(id="c", at=START + hours(1), piece="p", degC=60))
    found = [told.at(START + hours(h)) for h in (-1, 0, 1, 2)]
    assert [h.degC if h is not None else None for h in found] == [None, 40, 60, 60]
    told.end(ev.HeatEnded(id="d", at=START + hours(2), piece="p"))
    assert told.at(START + hours(2)) is None
    assert told.on is None


# --- laws ------------------------------------------------------------------------------------------


def by_key(job: Job) -> dict[str, Window]:
    return {w.key: w for w in all_windows(fold(job))}


def closes(window: Window) -> datetime:
    return window.span.closes_at if window.span.closes_at is not None else FOR_GOOD


def scuffed(job: Job) -> bool:
    """Whether a scuff may have opened again what had closed."""
    return any(isinstance(e, ev.PrepDone) and e.step is ev.Prep.SCUFF for e in job.events)


@examples(150)
@given(jobs(30, table=False, heat=False))
def test_without_a_table_and_a_time_in_heat_nothing_shortens_a_wait_or_puts_off_a_deadline(job: Job) -> None:
    told, plain = by_key(job), by_key(without_drying(without_paces(without_air(job))))
    assert list(told) == list(plain)
    for key, window in told.items():
        assert window.span.opens_at >= plain[key].span.opens_at
        if not scuffed(job):
            assert closes(window) <= closes(plain[key])


@examples(150)
@given(jobs(30))
def test_heat_makes_no_wait_longer_and_no_deadline_later(job: Job) -> None:
    cold = replace(job, events=tuple(e for e in job.events if not isinstance(e, ev.HeatStarted | ev.HeatEnded)))
    told, plain = by_key(job), by_key(cold)
    for key, window in told.items():
        assert window.span.opens_at <= plain[key].span.opens_at
        if not scuffed(job):
            assert closes(window) <= closes(plain[key])


_GIVEN = {WindowKind.FLASH: CardTime.FLASH, WindowKind.TAPE: CardTime.TAPE, WindowKind.CURE: CardTime.CURE}


@examples(150)
@given(jobs(30, table=False))
def test_a_wait_in_heat_is_never_shorter_than_the_card_gives_for_it(job: Job) -> None:
    state = fold(job)
    for window in all_windows(state):
        if window.kind not in _GIVEN:
            continue
        card, time = _card(state, window), _GIVEN[window.kind]
        wait = {CardTime.FLASH: card.flash, CardTime.TAPE: card.tape, CardTime.CURE: card.cure}[time]
        assert wait is not None
        least = min([wait, card.forced[time].wait] if time in card.forced else [wait])
        assert window.span.opens_at - window.span.started_at >= least


def _card(state: State, window: Window) -> Card:
    done = state.layers[window.layer].last_done
    assert done is not None
    assert done.card is not None
    return done.card


@examples(150)
@given(jobs(30), st.lists(pauses, min_size=2, max_size=8))
def test_progress_goes_from_0_to_1_and_never_back(job: Job, later: list[timedelta]) -> None:
    for window in all_windows(fold(job)):
        moments = sorted({window.span.started_at + x for x in later} | {window.span.opens_at, job.events[-1].at})
        told = [window.span.progress(at) for at in moments]
        assert all(0 <= share <= 1 for share in told)
        assert all(a <= b + 1e-12 for a, b in pairwise(told))
        assert all(window.span.opens_at <= at for at, share in zip(moments, told, strict=True) if share == 1) or (
            window.span.opens_at == window.span.started_at
        )


@examples(150)
@given(jobs(20), pauses, st.sampled_from([35.0, 60.0, 150.0]))
def test_heat_put_on_or_taken_off_later_changes_no_window_that_is_over(job: Job, pause: timedelta, degC: float) -> None:
    now = max(e.at for _, e in standing(job.events)) + pause
    state = fold(job)
    later: list[ev.Event] = []
    for piece in state.pieces.values():
        if piece.heat.on is not None:
            later.append(ev.HeatEnded(id=f"later-{piece.id}", at=now, piece=piece.id))
        else:
            later.append(ev.HeatStarted(id=f"later-{piece.id}", at=now, piece=piece.id, degC=degC))
    before, after = by_key(job), by_key(with_events(job, *later))
    for key, window in before.items():
        old, new = window.span, after[key].span
        if old.opens_at <= now:
            assert new.opens_at == old.opens_at
        else:
            assert new.opens_at >= now
        if old.closes_at is not None and old.closes_at <= now:
            assert new.closes_at == old.closes_at
        elif old.closes_at is not None and new.closes_at is not None:
            assert new.closes_at >= now or old.opens_at > now


@examples(200)
@given(
    st.floats(0, 1e6),
    st.floats(1, 1e6),
    st.lists(st.tuples(st.floats(0, 1e6), st.floats(0, 1e6), st.floats(1, 1e6)), max_size=4),
)
def test_the_due_time_is_where_the_share_becomes_whole(
    start_s: float, needs_s: float, spells: list[tuple[float, float, float]]
) -> None:
    """Against a sum of our own: in steady air a share is a straight line in each stretch."""
    edges, hot = start_s, []
    for gap, length, wait in spells:
        a, b = edges + gap, edges + gap + length
        hot.append((a, b, min(wait, needs_s)))
        edges = b
    progress = heated(start_s, needs_s, hot)
    due_s = progress.due_s()
    assert due_s is not None
    assert progress.share(due_s) == pytest.approx(1)
    left, since = 1.0, start_s
    for a, b, wait in [*hot, (float("inf"), float("inf"), needs_s)]:
        if left * needs_s <= a - since:
            since, left = since + left * needs_s, 0.0
            break
        left, since = left - (a - since) / needs_s, a
        if left * wait <= b - a:
            since, left = since + left * wait, 0.0
            break
        left, since = left - (b - a) / wait, b
    assert due_s == pytest.approx(since, rel=1e-6, abs=1e-3)


def heated(start_s: float, needs_s: float, hot: list[tuple[float, float, float]]) -> Progress:
    card = Integral(None, Kind.WAIT)
    return Progress(start_s, needs_s, card, tuple(Hot(a, b, card, wait) for a, b, wait in hot))
