"""What holds for the work left in any job that a record can hold."""

from datetime import UTC, timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from strategies import jobs, moments

from benchtool.job.care import cured_at
from benchtool.job.record import as_of
from benchtool.job.shop import Shop
from benchtool.job.state import State, fold
from benchtool.job.windows import all_windows, pot_life_span, recoat_span
from benchtool.plan.faults import faults
from benchtool.plan.hours import ShopHours
from benchtool.plan.search import plan
from benchtool.plan.steps import work_left
from benchtool.plan.work import Chain, Link, Room, Work
from benchtool.trade.windows import Span, WindowKind

SHOP = Shop()
DAYS = ShopHours({day: [(480, 1080)] for day in range(6)}, UTC)
SOME = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))


def left(state: State, now):
    return work_left("a", state, SHOP, now, fit=DAYS.next_fit)


@st.composite
def standings(draw):
    """A state as it stood at some moment of any job, and that moment."""
    job = draw(jobs())
    now = draw(moments(job))
    return fold(as_of(job, now)), now


def into(chain: Chain, link: Link):
    return None if link.then is None else chain.tasks[link.then]


@SOME
@given(standings())
def test_a_running_wait_is_the_watchs_to_the_microsecond(standing):
    state, now = standing
    windows = all_windows(state)
    for chain in left(state, now).chains:
        piece = state.pieces[chain.piece]
        for link in (x for x in chain.links if x.first is None and "says nothing" not in x.words):
            ends = link.opens(link.since), link.closes(link.since)
            if link.kind is WindowKind.RECOAT:
                unders = [x for x in piece.layers if x.last_done is not None and x.last_done.card is not None]
                spans = [recoat_span(x.last_done.card, x) for x in unders]
            elif link.kind is WindowKind.POT_LIFE:
                spans = [pot_life_span(m.card or state.cards[m.made.card], m) for m in state.mixes.values()]
            elif link.kind is WindowKind.STAND:
                assert link.opens(link.since) > now
                continue
            else:
                spans = [w.span for w in windows if (w.piece, w.kind) == (chain.piece, link.kind)]
            if link.kind is WindowKind.CURE:  # the watch shows none of what is covered, and it cures all the same
                cured = [at for x in piece.layers if (at := cured_at(state, x)) is not None]
                spans += [Span(at, at) for at in cured]
            assert ends in [(s.opens_at, s.closes_at) for s in spans if s is not None]
            if link.kind is WindowKind.FLASH:
                assert into(chain, link).work is Work.COAT


@SOME
@given(standings(), st.integers(0, 5_000))
def test_no_wait_to_come_is_shorter_than_the_cards(standing, later):
    state, now = standing
    end = now + timedelta(minutes=later)
    for chain in left(state, now).chains:
        for link in (x for x in chain.links if x.first is not None and x.kind is WindowKind.FLASH):
            task = into(chain, link)
            card = state.card_of(state.layers[task.layer])
            tabled = any(p.__class__.__name__ == "TablePacing" for p in card.paces.values())
            if card.flash is not None and not tabled and not state.pieces[chain.piece].heat.stretches:
                assert link.opens(end) >= end + card.flash


@SOME
@given(standings())
def test_the_coats_left_are_those_planned_and_not_done_in_their_order(standing):
    state, now = standing
    for chain in left(state, now).chains:
        piece = state.pieces[chain.piece]
        coats = [(t.layer, t.coat) for t in chain.tasks if t.work is Work.COAT]
        assert len(set(coats)) == len(coats)
        places = [piece.place(state.layers[layer]) for layer, _ in coats]
        assert places == sorted(places)
        if piece.current is None:
            assert chain.tasks == ()
            assert all(link.then is None for link in chain.links)
        elif not state.is_strip(piece):
            left_of = piece.layers[piece.place(piece.current) :]
            assert {layer for layer, _ in coats} == {x.id for x in left_of}
            for x in left_of:
                mine = [n for layer, n in coats if layer == x.id]
                assert len(mine) >= x.plan.coats - x.coats_done
        assert len({t.id for t in chain.tasks}) == len(chain.tasks)
        for link in chain.links:
            assert link.first is None or link.then is None or link.first < link.then
            assert link.first is not None or link.since is not None


@settings(SOME, max_examples=15)
@given(standings())
def test_whatever_is_planned_from_it_holds_against_the_checker(standing):
    state, now = standing
    chains = left(state, now).chains
    table = plan(chains, Room(), DAYS, now, effort=300)
    assert faults(table, chains, Room(), DAYS) == ()
    assert table.cost <= table.simple
