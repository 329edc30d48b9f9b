"""What must hold of every job, whatever the painter did: the record, its undo, and the windows built from it."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

from hypothesis import assume, given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import Walk, acts, examples, jobs, moments, pauses, stirred_cups, without_drying, without_paces

from benchtool.job import events as ev
from benchtool.job.cards import Card, Trait
from benchtool.job.nextstep import next_step
from benchtool.job.record import (
    Job,
    as_of,
    is_logged,
    last_act,
    last_undo,
    next_number,
    shifted,
    standing,
    with_events,
)
from benchtool.job.state import State, fold
from benchtool.job.validate import faults
from benchtool.job.windows import Window, all_windows, listed
from benchtool.trade.mixing import PartKind
from benchtool.trade.windows import Phase, WindowKind

ORDER = [Phase.WAITING, Phase.OPEN, Phase.CLOSING, Phase.CLOSED]


def form(state: State) -> Any:
    """All that a state holds, orders included, in a form that `==` compares to the end."""
    return (
        (state.title, state.customer, state.note, state.newest),
        list(state.cards.items()),
        [(k, p.piece, p.layers, p.steps, p.trials, p.heat) for k, p in state.pieces.items()],
        list(state.layers.items()),
        [(k, m, list(m.stirred.items()), m.poured_mL, m.checks) for k, m in state.mixes.items()],
        (state.readings, state.waivers, state.draws),
        (list(state.lots.items()), list(state.in_hand.items())),
        all_windows(state),
    )


def undone(job: Job) -> Job:
    act = last_act(job)
    return with_events(
        job,
        ev.Withdrawn(id=f"u{len(job.events)}", at=job.events[-1].at, events=tuple(e.id for e in act)),
    )


def redone(job: Job) -> Job:
    undo = last_undo(job)
    assert undo is not None
    return with_events(job, ev.Withdrawn(id=f"u{len(job.events)}", at=job.events[-1].at, events=(undo.id,)))


def edges(windows: tuple[Window, ...]) -> Iterator[datetime]:
    for w in windows:
        yield w.span.started_at
        yield w.span.opens_at
        if w.span.closes_at is not None:
            yield w.span.closes_at
        warn = w.span.closing_from()
        if warn is not None:
            yield warn


# --- the record ------------------------------------------------------------------------------------


@examples(60)
@given(jobs())
def test_a_job_is_sound_after_every_event(job: Job) -> None:
    for k in range(len(job.events) + 1):
        assert list(faults(replace(job, events=job.events[:k]))) == []


@examples(60)
@given(jobs(), st.data())
def test_the_state_does_not_depend_on_who_asks_it_or_when(job: Job, data: st.DataObject) -> None:
    untouched, asked = fold(job), fold(job)
    for _ in range(3):
        now = data.draw(moments(job))
        for window in listed(all_windows(asked), now):
            window.words(now)
        for piece in asked.pieces.values():
            next_step(asked, piece, now)
    assert form(asked) == form(untouched) == form(fold(job))


@examples(60)
@given(jobs(clock=False))  # with a clock set right in between: test_clock_answers.py
def test_the_record_up_to_a_moment_is_the_job_as_of_then(job: Job) -> None:
    for k, (event, following) in enumerate(pairwise(job.events), start=1):
        if event.at < following.at:
            until_then = replace(job, events=job.events[:k])
            assert as_of(job, event.at) == until_then
            assert form(fold(as_of(job, event.at))) == form(fold(until_then))
    assert as_of(job, job.events[-1].at) == job
    assert as_of(job, job.created - timedelta(seconds=1)).events == ()


@examples(60)
@given(jobs())
def test_one_event_after_the_other_gives_the_same_job_as_all_at_once(job: Job) -> None:
    grown = replace(job, events=())
    for event in job.events:
        assert f"e{next_number(grown)}" not in {e.id for e in grown.events}
        grown = with_events(grown, event)
    assert grown == job


@examples(60)
@given(jobs(), st.timedeltas(timedelta(days=-3_000), timedelta(days=3_000)))
def test_a_shifted_job_has_the_same_windows_shifted(job: Job, by: timedelta) -> None:
    moved = shifted(job, by)
    assert shifted(moved, -by) == job
    before, after = all_windows(fold(job)), all_windows(fold(moved))
    assert [w.key for w in after] == [w.key for w in before]
    for old, new in zip(before, after, strict=True):
        assert new.span.started_at == old.span.started_at + by
        assert old.span.never or new.span.opens_at == old.span.opens_at + by
        assert new.span.never == old.span.never
        assert new.span.closes_at == (old.span.closes_at + by if old.span.closes_at is not None else None)
        assert new.words(job.events[-1].at + by) == old.words(job.events[-1].at)


# --- undo and redo ---------------------------------------------------------------------------------


@examples(120)
@given(acts())
def test_an_undo_gives_the_state_before_the_act_and_a_redo_the_one_after(pair: tuple[Job, Job]) -> None:
    before, after = pair
    assume(not any(is_logged(e) for e in after.events[len(before.events) :]))  # what a logger wrote is no act
    back = undone(after)
    assert form(fold(back)) == form(fold(before))
    forth = redone(back)
    assert form(fold(forth)) == form(fold(after))
    assert {e.id for e in last_act(forth)} == {e.id for e in last_act(after)}
    assert list(faults(forth)) == []


@examples(25)
@given(st.data())
def test_every_act_can_be_undone_to_the_beginning_and_redone_to_the_end(data: st.DataObject) -> None:
    job = data.draw(jobs(0))
    walk = Walk(data.draw, job, job.events[-1].at, count=100)
    states = [form(fold(walk.job))]
    for _ in range(8):
        held = walk.job
        walk.now += data.draw(pauses)
        data.draw(st.sampled_from([walk.spray, walk.cup, walk.aside]))()
        if any(is_logged(e) for e in walk.job.events[len(held.events) :]):
            walk.job = held  # no act, so that no undo stops at it
        if walk.job is not held:
            states.append(form(fold(walk.job)))
    job = walk.job
    for expected in reversed(states[:-1]):
        job = undone(job)
        assert form(fold(job)) == expected
    for expected in states[1:]:
        job = redone(job)
        assert form(fold(job)) == expected
    assert last_undo(job) is None
    assert list(faults(job)) == []


# --- windows ---------------------------------------------------------------------------------------


def facts(job: Job) -> list[ev.Event]:
    return [e for _, e in standing(job.events)]


def newest_coat_done(job: Job, layer: str) -> datetime:
    return [e.at for e in facts(job) if isinstance(e, ev.CoatDone) and e.layer == layer][-1]


def pot_began(job: Job, mix: str) -> datetime:
    """When the first activator went into the cup, from the bare record."""
    made = next(e for e in facts(job) if isinstance(e, ev.Mixed) and e.mix == mix)
    names = {p.name for p in made.parts if p.kind is PartKind.ACTIVATOR}
    pours = [e.at for e in facts(job) if isinstance(e, ev.Poured) and e.mix == mix and e.part in names and e.mL > 0]
    stirs = [e for e in facts(job) if isinstance(e, ev.MixStirred) and e.mix == mix]
    return min(pours + [e.at for e in stirs if e.what is not ev.Stirred.BASE])


def card_at(job: Job, card: str, place: int) -> Card:
    """The card as the record had it at `place`."""
    copies = [e.card for i, e in standing(job.events) if isinstance(e, ev.CardCopied) and i < place]
    return [c for c in copies if c.id == card][-1]


def card_then(job: Job, w: Window) -> Card:
    """The card that a window goes by: as it was when its cup or its coat was begun."""
    planned = [e.layer for e in facts(job) if isinstance(e, ev.LayerAdded)]
    for place, e in reversed(standing(job.events)):
        if isinstance(e, ev.Mixed) and e.mix == w.mix:
            return card_at(job, e.card, place)
        if w.mix is None and isinstance(e, ev.CoatStarted) and e.layer == w.layer:
            return card_at(job, next(x.card for x in planned if x.id == w.layer), place)
    raise AssertionError(w)


def stands_until(job: Job, mix: str, card: Card) -> list[datetime]:
    """When each stand time of a mix is over, from the bare record; nothing where none runs."""
    made = next(e for e in facts(job) if isinstance(e, ev.Mixed) and e.mix == mix)
    names = {p.name for p in made.parts if p.kind is PartKind.ACTIVATOR}
    poured = [e.at for e in facts(job) if isinstance(e, ev.Poured) and e.mix == mix and e.part in names and e.mL > 0]
    stirs = [e for e in facts(job) if isinstance(e, ev.MixStirred) and e.mix == mix]
    activated, reduced = (
        [e.at for e in stirs if e.what is what] for what in (ev.Stirred.ACTIVATED, ev.Stirred.REDUCED)
    )
    first = min(poured, default=datetime.min.replace(tzinfo=UTC))
    ends = [reduced[-1] + card.stand_reduced] if reduced and card.stand_reduced is not None else []
    if names and (activated or reduced) and card.stand is not None:
        # Of several stirrings of the reduced mix the record of a cup keeps the first and the last: an activator
        # logged between them is taken to stand from the last, the longer wait.
        stirred_in = [at for at in (*reduced[:1], *reduced[-1:]) if at >= first]
        holding = [at for at in activated[-1:] if at >= first] or stirred_in[:1] or [first]
        ends.append(holding[0] + card.stand)
    return ends


def scuffed(job: Job) -> list[datetime]:
    """When anything was scuffed."""
    return [e.at for e in facts(job) if isinstance(e, ev.PrepDone) and e.step in (ev.Prep.SCUFF, ev.Prep.ABRADE)]


@examples(250)
@given(jobs(30))
def test_no_wait_is_shorter_and_no_deadline_later_than_the_card_says(job: Job) -> None:
    # what air, heat and film do to them is in test_job_air.py and test_job_drying.py
    job = without_drying(without_paces(job))
    state = fold(job)
    for w in all_windows(state):
        card = card_then(job, w)
        opens, closes = w.span.opens_at, w.span.closes_at
        match w.kind:
            case WindowKind.FLASH:
                done = newest_coat_done(job, w.layer)
                assert card.flash is not None
                assert opens >= done + card.flash
                most = card.flash_most
                if most is None and Trait.METALLIC not in card.traits:
                    most = card.recoat_closes  # the window for going over itself
                if most is None:
                    assert closes is None
                elif closes is not None:
                    assert closes <= done + max(most, card.flash)
                else:
                    assert card.flash_most is None
                    assert opens in scuffed(job)
                    assert opens >= done + most
            case WindowKind.RECOAT:
                done = newest_coat_done(job, w.layer)
                wait = card.recoat_opens if card.recoat_opens is not None else card.flash
                assert wait is not None
                assert opens >= done + wait
                if card.recoat_closes is not None and closes is None:
                    assert opens in scuffed(job)
                    assert opens >= done + card.recoat_closes
                elif card.recoat_closes is not None:
                    assert closes == done + card.recoat_closes
            case WindowKind.TAPE:
                assert opens >= newest_coat_done(job, w.layer) + card.tape
            case WindowKind.CURE:
                assert opens >= newest_coat_done(job, w.layer) + card.cure
            case WindowKind.STAND:
                assert w.mix is not None
                ends = stands_until(job, w.mix, card)
                assert ends
                assert opens == max(ends)
            case WindowKind.POT_LIFE:
                assert w.mix is not None
                assert closes is not None
                assert closes <= pot_began(job, w.mix) + card.pot_life


@examples(150)
@given(stirred_cups())
def test_a_mix_stands_until_both_its_stand_times_are_over(job: Job) -> None:
    (mix,) = fold(job).mixes.values()
    ends = stands_until(job, mix.id, card_at(job, mix.made.card, mix.place))
    told = [w.span.opens_at for w in all_windows(fold(job)) if w.kind is WindowKind.STAND]
    assert told == ([max(ends)] if ends else [])


@examples(100)
@given(jobs(30))
def test_no_wait_is_forgotten(job: Job) -> None:
    state = fold(job)
    held = {(w.kind, w.layer) for w in all_windows(state)}
    sprayed = {e.mix for e in facts(job) if isinstance(e, ev.CoatStarted)}
    cups = {(w.kind, w.mix) for w in all_windows(state)}
    assert len([w for w in all_windows(state) if w.mix is not None]) == len({c for c in cups if c[1] is not None})
    for mix in state.mixes.values():
        if mix.emptied_at is not None or not any(mix.id in x.mixes for x in state.layers.values()):
            continue
        card = card_at(job, mix.made.card, mix.place)
        waits = mix.id not in sprayed and bool(stands_until(job, mix.id, card))
        assert ((WindowKind.STAND, mix.id) in cups) == waits
        lives = card.pot_life is not None and mix.activated_at is not None
        assert ((WindowKind.POT_LIFE, mix.id) in cups) == lives
    for layer in state.layers.values():
        over = state.piece_of(layer).over(layer)
        if layer.open_coat is not None or not layer.coats or (over is not None and over.started):
            continue
        card = card_at(job, layer.plan.card, layer.coats[-1].place)
        finished = layer.coats_done >= layer.plan.coats
        assert ((WindowKind.FLASH, layer.id) in held) == (not finished and card.flash is not None)
        assert ((WindowKind.CURE, layer.id) in held) == (finished and card.cure is not None)
        assert ((WindowKind.TAPE, layer.id) in held) == (finished and card.tape is not None)
        waits = card.recoat_opens is not None or card.flash is not None
        recoat = finished and over is not None and waits
        assert ((WindowKind.RECOAT, layer.id) in held) == recoat


@examples(80)
@given(jobs(), st.data())
def test_windows_only_ever_move_on(job: Job, data: st.DataObject) -> None:
    windows = all_windows(fold(job))
    near = [e + timedelta(microseconds=d) for e in edges(windows) for d in (-1, 0, 1)]
    moments_ = sorted([*near, *(data.draw(moments(job)) for _ in range(4))])
    for w in windows:
        span = w.span
        assert span.started_at <= span.opens_at
        moved = span.opens_by is not None or span.closes_by is not None  # cold may put one past the other
        assert moved or span.closes_at is None or span.closes_at >= span.opens_at
        for early, late in pairwise(moments_):
            assert ORDER.index(w.phase(early)) <= ORDER.index(w.phase(late))
            assert 0 <= span.progress(early) <= span.progress(late) <= 1
            left, later = span.remaining_s(early), span.remaining_s(late)
            if w.phase(early) is not Phase.WAITING or w.phase(late) is Phase.WAITING:
                assert (left is None) == (later is None)
                if left is not None and later is not None:
                    assert abs((left - later) - (late - early).total_seconds()) < 1e-3
            assert "  " not in w.words(early).replace(w.then, "it")


@examples(80)
@given(jobs(), st.data())
def test_the_phase_is_what_the_edges_say(job: Job, data: st.DataObject) -> None:
    for w in all_windows(fold(job)):
        for now in (*edges((w,)), data.draw(moments(job))):
            phase, closes = w.phase(now), w.span.closes_at
            assert (phase is Phase.WAITING) == (now < w.span.opens_at)
            assert (phase is Phase.CLOSED) == (closes is not None and now >= max(closes, w.span.opens_at))
            left = w.span.remaining_s(now)
            assert (left is not None and left > 0) == (phase is not Phase.CLOSED and left is not None)
            assert (w.span.progress(now) < 1) or phase is not Phase.WAITING


@examples(60)
@given(jobs())
def test_no_two_windows_of_a_job_have_one_key(job: Job) -> None:
    keys = [w.key for w in all_windows(fold(job))]
    assert len(set(keys)) == len(keys)
