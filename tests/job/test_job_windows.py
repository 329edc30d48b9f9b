"""The windows of a job at moments that calendars and clocks make awkward, and the words they are told in."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import Activator, Card, Duty, Gun, Reduction, recipe
from benchtool.job.nextstep import next_step
from benchtool.job.record import FORMAT, SCHEMA, Job, with_events
from benchtool.job.state import fold
from benchtool.job.validate import card_faults, faults
from benchtool.job.windows import Window, all_windows, listed
from benchtool.trade.substrates import Flex, Suits
from benchtool.trade.windows import Phase, Span, WindowKind

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)

PRIMER = Card(
    id="primer",
    name="Primer",
    duty=Duty.PRIMER,
    origins={"*": "a demo card of our own"},
    two_part=True,
    activators=(Activator(id="std", name="Activator", suits=Suits.ANY, share="2 % of base"),),
    reductions=(Reduction(gun=Gun.AIRBRUSH, least="0 % of base", usual="1x activated", most="1:1 of base"),),
    stand=10 * MINUTE,
    pot_life=4 * HOUR,
    flash=10 * MINUTE,
    recoat_opens=HOUR,
    recoat_closes=24 * HOUR,
    tape=24 * HOUR,
    cure=7 * DAY,
)
CLEAR = Card(id="clear", name="Clear", duty=Duty.CLEAR, origins={"*": "a demo card of our own"}, cure=30 * DAY)


def job_at(start: datetime, coats: int = 2) -> Job:
    layers = (ev.Layer(id="l1", card="primer", coats=coats, activator="std"), ev.Layer(id="l2", card="clear", coats=1))
    piece = ev.Piece(id="p1", name="Panel", substrate="steel", known=ev.Known.TOLD, flex=Flex.RIGID)
    head = Job(format=FORMAT, schema=SCHEMA, id="job-1", created=start)
    return with_events(
        head,
        ev.CardCopied(id="e1", at=start, card=PRIMER),
        ev.CardCopied(id="e2", at=start, card=CLEAR),
        ev.PieceAdded(id="e3", at=start, piece=piece),
        *(ev.LayerAdded(id=f"e{4 + i}", at=start, piece="p1", layer=x) for i, x in enumerate(layers)),
        ev.PrepDone(id="e6", at=start, piece="p1", step=ev.Prep.DEGREASE),
    )


def coated(job: Job, *done_at: datetime, layer: str = "l1") -> Job:
    for i, at in enumerate(done_at):
        n = len(job.events)
        begun = max([at - MINUTE, *done_at[:i]])
        job = with_events(
            job,
            ev.CoatStarted(id=f"e{n + 1}", at=begun, layer=layer),
            ev.CoatDone(id=f"e{n + 2}", at=at, layer=layer),
        )
    assert list(faults(job)) == []
    return job


def with_card(job: Job, event_id: str, card: Card) -> Job:
    return with_events(job, ev.CardCopied(id=event_id, at=job.events[-1].at, card=card))


def window(job: Job, kind: WindowKind) -> Window:
    return next(w for w in all_windows(fold(job)) if w.kind is kind)


def test_a_flash_counts_down_in_words() -> None:
    job = coated(job_at(NOON), NOON)
    flash = window(job, WindowKind.FLASH)
    assert flash.words(NOON + timedelta(minutes=3, seconds=40)) == "Wait 6:20 before coat 2"
    assert flash.words(NOON + timedelta(minutes=3, seconds=40, milliseconds=1)) == "Wait 6:20 before coat 2"
    assert flash.words(NOON + 10 * MINUTE - timedelta(milliseconds=1)) == "Wait 0:01 before coat 2"
    assert flash.words(NOON + 10 * MINUTE) == "Coat 2 may go on now, for 23:50:00"
    state = fold(job)
    step = next_step(state, state.pieces["p1"], NOON + timedelta(minutes=3, seconds=40))
    assert step.words == "Wait 6:20 before coat 2"
    assert not step.hands


def test_a_recoat_opens_warns_and_closes_in_words() -> None:
    recoat = window(coated(job_at(NOON), NOON, NOON + 10 * MINUTE), WindowKind.RECOAT)
    done = NOON + 10 * MINUTE
    assert recoat.words(done + 20 * MINUTE) == "Wait 40:00 before Clear"
    assert recoat.words(done + HOUR) == "Clear may go on now, for 23:00:00"
    assert recoat.words(done + 24 * HOUR - 15 * MINUTE) == "Clear now: only 15:00 left"
    assert recoat.words(done + 24 * HOUR) == "Recoat closed 0 s ago: scuff before Clear"
    assert recoat.words(done + 26 * HOUR) == "Recoat closed 2 h ago: scuff before Clear"


@pytest.mark.parametrize(
    ("year", "opens"),
    [
        (2028, datetime(2028, 2, 29, 12, tzinfo=UTC)),  # a leap year: 2028 is divisible by 4 and not by 100
        (2026, datetime(2026, 3, 1, 12, tzinfo=UTC)),
    ],
)
def test_a_day_over_the_end_of_february(year: int, opens: datetime) -> None:
    done = datetime(year, 2, 28, 12, tzinfo=UTC)
    tape = window(coated(job_at(done - DAY), done, done), WindowKind.TAPE)
    assert tape.span.opens_at == opens
    assert tape.phase(opens - timedelta(microseconds=1)) is Phase.WAITING
    assert tape.phase(opens) is Phase.OPEN


def test_a_job_begun_on_a_leap_day_cures_for_days_and_not_by_the_calendar() -> None:
    done = datetime(2028, 2, 29, 18, tzinfo=UTC)
    assert window(coated(job_at(done), done, done), WindowKind.CURE).span.opens_at == datetime(
        2028, 3, 7, 18, tzinfo=UTC
    )


@pytest.mark.parametrize(("before", "after"), [(1, 2), (2, 1)])
def test_daylight_saving_changes_the_clock_on_the_wall_and_no_wait(before: int, after: int) -> None:
    # 29 March 2026, 01:00 UTC and 25 October 2026, 01:00 UTC: the European Union's changes, Directive 2000/84/EC.
    day = datetime(2026, 3, 29, tzinfo=UTC) if after > before else datetime(2026, 10, 25, tzinfo=UTC)
    wall_before, wall_after = (timezone(timedelta(hours=h)) for h in (before, after))
    done = (day + HOUR - 5 * MINUTE).astimezone(wall_before)
    flash = window(coated(job_at(day - DAY), done), WindowKind.FLASH)
    opens = flash.span.opens_at.astimezone(wall_after)
    apparent = opens.replace(tzinfo=None) - done.replace(tzinfo=None)
    assert apparent == 10 * MINUTE + (after - before) * HOUR
    assert flash.phase(opens - timedelta(seconds=1)) is Phase.WAITING
    assert flash.phase(opens) is Phase.OPEN
    assert flash.words((day + HOUR).astimezone(wall_after)) == "Wait 5:00 before coat 2"


def test_a_job_opened_a_month_later_tells_what_became_of_it() -> None:
    job = coated(job_at(NOON), NOON, NOON + 10 * MINUTE)
    later = NOON + 10 * MINUTE + 31 * DAY
    told = {w.kind: w.words(later) for w in listed(all_windows(fold(job)), later)}
    assert told == {WindowKind.RECOAT: "Recoat closed 30 days ago: scuff before Clear"}
    state = fold(job)
    assert next_step(state, state.pieces["p1"], later).words == "Mix Clear"


def test_a_month_later_a_scuff_opens_it_again() -> None:
    job = coated(job_at(NOON), NOON, NOON + 10 * MINUTE)
    later = NOON + 31 * DAY
    job = with_events(job, ev.PrepDone(id="e90", at=later, piece="p1", step=ev.Prep.SCUFF))
    recoat = window(job, WindowKind.RECOAT)
    assert recoat.phase(later) is Phase.OPEN
    assert recoat.span.closes_at is None
    assert recoat.words(later + DAY) == "Clear may go on now"


def test_a_scuff_before_it_closes_moves_no_edge() -> None:
    job = coated(job_at(NOON), NOON, NOON)
    scuffed = with_events(job, ev.PrepDone(id="e90", at=NOON + MINUTE, piece="p1", step=ev.Prep.SCUFF))
    assert window(scuffed, WindowKind.RECOAT).span == Span(NOON, NOON + HOUR, NOON + DAY)


def cup(job: Job, at: datetime) -> Job:
    parts = recipe(PRIMER, PRIMER.activators[0], Gun.AIRBRUSH)
    made = ev.Mixed(id="e50", at=at, mix="m1", layer="l1", card="primer", gun=Gun.AIRBRUSH, make_mL=30, parts=parts)
    return with_events(job, made)


def stirred(job: Job, event_id: str, what: ev.Stirred, at: datetime) -> Job:
    return with_events(job, ev.MixStirred(id=event_id, at=at, mix="m1", what=what))


def test_stirring_again_does_not_give_a_mix_a_longer_life() -> None:
    job = stirred(cup(job_at(NOON), NOON), "e51", ev.Stirred.ACTIVATED, NOON)
    again = stirred(job, "e52", ev.Stirred.ACTIVATED, NOON + HOUR)
    assert window(again, WindowKind.POT_LIFE).span.closes_at == NOON + 4 * HOUR
    assert window(again, WindowKind.STAND).span.opens_at == NOON + HOUR + 10 * MINUTE


def test_stirring_the_base_alone_starts_no_pot_life() -> None:
    job = stirred(cup(job_at(NOON), NOON), "e51", ev.Stirred.BASE, NOON)
    assert all_windows(fold(job)) == ()
    pour = ev.Poured(id="e52", at=NOON + HOUR, mix="m1", part="Activator", mL=1)
    assert window(with_events(job, pour), WindowKind.POT_LIFE).span.closes_at == NOON + 5 * HOUR


def test_a_layer_planned_under_another_goes_under_it() -> None:
    sealer = ev.Layer(id="l3", card="clear", coats=1)
    job = with_events(job_at(NOON), ev.LayerAdded(id="e90", at=NOON, piece="p1", layer=sealer, before="l2"))
    piece = fold(job).pieces["p1"]
    assert [x.id for x in piece.layers] == ["l1", "l3", "l2"]
    recoat = window(coated(job, NOON, NOON), WindowKind.RECOAT)
    assert recoat.words(NOON) == "Wait 1:00:00 before Clear"
    assert piece.over(piece.layers[0]) is piece.layers[1]


def test_a_coat_corrected_to_an_earlier_time_waits_from_then() -> None:
    job = coated(job_at(NOON - HOUR), NOON)
    done = job.events[-1]
    job = with_events(
        job, ev.Corrected(id="e90", at=NOON + MINUTE, event=done.id, really_at=NOON - timedelta(seconds=30))
    )
    assert window(job, WindowKind.FLASH).span.opens_at == NOON - timedelta(seconds=30) + 10 * MINUTE


def test_a_time_far_ahead_locks_nobody_out_of_the_job() -> None:
    job = coated(job_at(NOON), NOON)
    far = ev.Corrected(id="e90", at=NOON, event=job.events[-1].id, really_at=NOON + 300 * DAY)
    assert list(faults(with_events(job, far))) == []


def test_a_correction_that_puts_a_coat_before_the_end_of_the_last_one_is_a_fault() -> None:
    job = coated(job_at(NOON), NOON, NOON + 10 * MINUTE)
    begun = job.events[8]
    assert isinstance(begun, ev.CoatStarted)
    for late, said in (
        (-MINUTE, ["a coat starts before the one before was done (at $.events[8].at)"]),
        (0 * MINUTE, []),
    ):
        moved = ev.Corrected(id="e90", at=NOON + HOUR, event=begun.id, really_at=NOON + late)
        assert [str(f) for f in faults(with_events(job, moved))] == said
    late_done = ev.Corrected(id="e90", at=NOON + HOUR, event=job.events[7].id, really_at=NOON + 10 * MINUTE)
    assert [f.path for f in faults(with_events(job, late_done))] == ["$.events[8].at"]


def test_a_coat_that_starts_while_another_layer_is_sprayed_is_no_fault() -> None:
    job = with_events(
        coated(job_at(NOON), NOON),
        ev.CoatStarted(id="e90", at=NOON + 10 * MINUTE, layer="l1"),
        ev.CoatStarted(id="e91", at=NOON + 10 * MINUTE, layer="l2"),
    )
    assert list(faults(job)) == []


@pytest.mark.parametrize("year", [1969, 9_000])
def test_a_time_no_clock_shows_is_a_fault_and_not_an_overflow(year: int) -> None:
    job = job_at(datetime(year, 6, 1, tzinfo=UTC))
    assert {f.message for f in faults(job)} == {"there is no such time"}


def test_a_card_that_waits_a_century_is_a_fault_and_not_an_overflow() -> None:
    endless = Card(id="x", name="X", duty=Duty.BASE, origins={}, cure=timedelta.max)
    job = with_events(job_at(NOON), ev.CardCopied(id="e90", at=NOON, card=endless))
    assert [str(f) for f in faults(job)] == ["no card waits a century (at $.events[6].card.cure)"]


def test_a_recoat_that_closes_and_never_opens_is_a_fault() -> None:
    shut = replace(PRIMER, recoat_opens=None)
    assert [path for path, _ in card_faults(shut)] == [".recoat_closes"]
    assert list(card_faults(replace(shut, recoat_closes=None))) == []
    assert list(card_faults(replace(PRIMER, recoat_opens=timedelta(0)))) == []


def test_a_card_that_names_no_recoat_time_still_asks_for_its_flash() -> None:
    silent = with_card(job_at(NOON), "e7", replace(PRIMER, recoat_opens=None, recoat_closes=None))
    job = coated(silent, NOON, NOON + 20 * MINUTE)
    done = NOON + 20 * MINUTE
    assert window(job, WindowKind.RECOAT).span == Span(done, done + 10 * MINUTE)
    state = fold(job)
    step = next_step(state, state.pieces["p1"], done + 4 * MINUTE)
    assert step.words == "Wait 6:00 before Clear"


def test_a_card_that_opens_at_once_waits_for_no_flash() -> None:
    at_once = with_card(job_at(NOON), "e7", replace(PRIMER, recoat_opens=timedelta(0)))
    assert window(coated(at_once, NOON, NOON), WindowKind.RECOAT).span.opens_at == NOON


# --- how long a mix stands -------------------------------------------------------------------------


def standing_cup(*did: tuple[ev.Stirred | str, float], stand: float | None = 30, reduced: float | None = 5) -> Window:
    """The stand of a cup that was stirred, or poured into, so many minutes after noon."""
    times = {"stand": stand and stand * MINUTE, "stand_reduced": reduced and reduced * MINUTE}
    job = cup(with_card(job_at(NOON), "e7", replace(PRIMER, **times)), NOON)
    for n, (what, minute) in enumerate(did):
        at = NOON + minute * MINUTE
        if isinstance(what, ev.Stirred):
            job = stirred(job, f"e{60 + n}", what, at)
        else:
            job = with_events(job, ev.Poured(id=f"e{60 + n}", at=at, mix="m1", part=what, mL=1))
    return window(job, WindowKind.STAND)


ACTIVATED, REDUCED = ev.Stirred.ACTIVATED, ev.Stirred.REDUCED


@pytest.mark.parametrize(
    ("did", "minute"),
    [
        ([(ACTIVATED, 0), (REDUCED, 30)], 35),
        ([(ACTIVATED, 0), (REDUCED, 28)], 33),
        ([(ACTIVATED, 0), (REDUCED, 1)], 30),
        ([(ACTIVATED, 0), (ACTIVATED, 3), (REDUCED, 4)], 33),
        ([(REDUCED, 0)], 30),
        ([(REDUCED, 0), (REDUCED, 10)], 30),
        ([(REDUCED, 0), (REDUCED, 27)], 32),
        ([("Activator", 0), (REDUCED, 2)], 32),
        ([(REDUCED, 0), ("Activator", 6), (REDUCED, 7)], 37),
        ([(ACTIVATED, 0), ("Activator", 6), (REDUCED, 7)], 37),
        ([(REDUCED, 0), ("Activator", 6)], 36),
    ],
)
def test_a_mix_reduced_early_or_stirred_but_once_still_stands_its_first_time(
    did: list[tuple[ev.Stirred | str, float]], minute: float
) -> None:
    stand = standing_cup(*did)
    assert stand.span.opens_at == NOON + minute * MINUTE
    assert stand.words(stand.span.opens_at) == "It has stood: spray"


def test_a_card_with_one_stand_time_counts_that_one() -> None:
    assert standing_cup((ACTIVATED, 0), (REDUCED, 1), stand=None).span.opens_at == NOON + 6 * MINUTE
    assert standing_cup((ACTIVATED, 0), (REDUCED, 1), reduced=None).span.opens_at == NOON + 30 * MINUTE
    assert standing_cup((REDUCED, 1), reduced=None).span.opens_at == NOON + 31 * MINUTE
    assert standing_cup((ACTIVATED, 0)).words(NOON) == "Let it stand 30:00 before you reduce it"


# --- a card that is changed, a layer that is taken out ---------------------------------------------


def test_a_card_changed_later_changes_no_wait_that_runs() -> None:
    slower = replace(PRIMER, flash=20 * MINUTE, recoat_opens=2 * HOUR, tape=2 * DAY, cure=9 * DAY)
    slower = replace(slower, stand=20 * MINUTE, pot_life=HOUR)
    job = coated(stirred(cup(job_at(NOON), NOON), "e51", ACTIVATED, NOON), NOON)
    changed = with_card(job, "e80", slower)
    assert all_windows(fold(changed)) == all_windows(fold(job))
    assert {w.kind for w in all_windows(fold(job))} == {WindowKind.FLASH, WindowKind.STAND, WindowKind.POT_LIFE}
    finished = coated(job, NOON + 10 * MINUTE)
    changed = with_card(finished, "e80", slower)
    assert all_windows(fold(changed)) == all_windows(fold(finished))
    kinds = {w.kind for w in all_windows(fold(finished))}
    assert kinds >= {WindowKind.RECOAT, WindowKind.TAPE, WindowKind.CURE}


def test_a_card_changed_counts_from_then_on() -> None:
    job = coated(job_at(NOON, coats=3), NOON)
    job = with_card(job, "e80", replace(PRIMER, flash=20 * MINUTE))
    assert window(job, WindowKind.FLASH).span.opens_at == NOON + 10 * MINUTE
    assert window(coated(job, NOON + HOUR), WindowKind.FLASH).span.opens_at == NOON + HOUR + 20 * MINUTE


def test_a_shared_cup_stays_on_the_watch_when_the_layer_it_was_begun_for_goes() -> None:
    layer = ev.Layer(id="l3", card="primer", coats=2, activator="std")
    other = ev.Piece(id="p2", name="Side", substrate="steel", known=ev.Known.TOLD, flex=Flex.RIGID)
    job = with_events(
        stirred(cup(job_at(NOON), NOON), "e51", ACTIVATED, NOON),
        ev.PieceAdded(id="e52", at=NOON, piece=other),
        ev.LayerAdded(id="e53", at=NOON, piece="p2", layer=layer),
        *(ev.CupShared(id=f"e{n}", at=NOON, mix="m1", layer="l3") for n in (54, 55)),
    )
    lives = [w for w in all_windows(fold(job)) if w.kind is WindowKind.POT_LIFE]
    assert [w.layer for w in lives] == ["l1"]
    job = with_events(job, ev.LayerRemoved(id="e56", at=NOON, layer="l1"))
    assert list(faults(job)) == []
    lives = [w for w in all_windows(fold(job)) if w.kind is WindowKind.POT_LIFE]
    assert [(w.layer, w.mix, w.span.closes_at) for w in lives] == [("l3", "m1", NOON + 4 * HOUR)]
