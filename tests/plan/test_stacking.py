"""The order offered for a stack: laws of it, orders checked against the trade, and what is said of the rest.

Orders of the trade: refinish procedures put promoter or etch on the bare part, then primer, filler, sealer, colour and
clear; behind a clear shell details go on first and the backing last (common practice, no source).
"""

from itertools import permutations

import pytest
from builders import (
    CLEAR,
    COLOUR,
    ENAMEL,
    EPOXY,
    ETCH,
    FILLER,
    LACQUER,
    METALLIC,
    ONE_PART_PROMOTER,
    POLYOLEFIN,
    PROMOTER,
    SEALER,
    URETHANE,
    UV_CLEAR,
    WATERBORNE,
    JobBuilder,
)
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples

from benchtool.job import events as ev
from benchtool.job.cards import Duty, Trait
from benchtool.plan import stackcost
from benchtool.plan.stackcost import Trouble, best_order, rank, trouble_of
from benchtool.plan.stacking import Coated, Kind, film, missing, notes, offer
from benchtool.rules.finding import Severity, While
from benchtool.session.tables import load_tables
from benchtool.session.tables_pairings import load_pairings
from benchtool.trade.substrates import Flex, Suits

PAIRINGS = load_pairings()
SUBSTRATES = load_tables().substrates
CANDY = replace(COLOUR, id="candy", name="Candy", traits=(Trait.TRANSLUCENT,))
EPOXY_SEALER = replace(SEALER, chemistry=EPOXY.chemistry)
"""A sealer that a young enamel stands; a urethane lifts it as a lacquer does."""
STOCK = (
    PROMOTER, POLYOLEFIN, ETCH, EPOXY, FILLER, SEALER, COLOUR, CANDY, LACQUER, ENAMEL, WATERBORNE, METALLIC, CLEAR,
    URETHANE, UV_CLEAR,
)  # fmt: skip


def piece(flex=Flex.RIGID, face=ev.Face.OUTSIDE, substrate="aluminium"):
    return ev.Piece(id="p", name="Panel", substrate=substrate, known=ev.Known.TOLD, flex=flex, face=face)


OUTSIDE, BEHIND = piece(), piece(face=ev.Face.BEHIND_CLEAR, substrate="pc")
only_over = st.lists(st.sampled_from([c.id for c in STOCK]), max_size=2, unique=True).map(tuple)
some_cards = st.builds(lambda card, ids, asks: replace(card, only_over=ids if asks else ()),
                       st.sampled_from(STOCK), only_over, st.integers(0, 4).map(lambda n: n == 0))  # fmt: skip
picked = st.lists(some_cards, max_size=5).map(lambda cards: [{c.id: c for c in cards}[c.id] for c in cards])
"""Up to five picks, some with cards that ask for another under them, some twice; one card an id."""
faces = st.sampled_from([OUTSIDE, BEHIND])


def offered(cards, on=OUTSIDE, under=()):
    return [c.id for c in best_order(cards, on, PAIRINGS, under)[0]]


# --- laws --------------------------------------------------------------------------------------------


@given(picked, faces, st.lists(some_cards, max_size=1))
@examples(150)
def test_the_order_is_the_best_of_all_orders_of_what_was_picked(cards, on, under):
    order, whole = best_order(cards, on, PAIRINGS, under)
    assert whole
    assert sorted(c.id for c in order) == sorted(c.id for c in cards)
    least = min(trouble_of(other, on, PAIRINGS, under) for other in permutations(cards))
    assert trouble_of(order, on, PAIRINGS, under) == least


@given(picked, faces, st.randoms(use_true_random=False))
@examples(150)
def test_it_makes_no_odds_in_which_order_they_were_picked(cards, on, chance):
    """But for those of one kind that may lie either way round: these stay as the painter picked them."""
    other = list(cards)
    chance.shuffle(other)
    one, two = (best_order(x, on, PAIRINGS)[0] for x in (cards, other))
    assert trouble_of(one, on, PAIRINGS) == trouble_of(two, on, PAIRINGS)
    kinds = [rank(c, on.face) for c in cards]
    least = [o for o in permutations(cards) if trouble_of(o, on, PAIRINGS) == trouble_of(one, on, PAIRINGS)]
    if len(set(kinds)) == len(kinds) and len(least) == 1:
        assert one == two


@given(picked, faces)
@examples(150)
def test_a_stack_that_is_right_already_is_offered_as_it_stands(cards, on):
    order, _ = best_order(cards, on, PAIRINGS)
    assert best_order(order, on, PAIRINGS)[0] == order
    if trouble_of(cards, on, PAIRINGS) == Trouble():
        assert list(order) == cards


MILD = (*(c for c in STOCK if c is not FILLER), replace(FILLER, chemistry=None))
"""Without pairings, and without peroxide that bleeds, nothing but the usual order decides."""


@given(st.lists(st.sampled_from(MILD), max_size=6))
@examples(100)
def test_behind_clear_is_the_reverse_but_for_the_promoter(cards):
    outside, behind = (best_order(cards, on, {})[0] for on in (OUTSIDE, BEHIND))
    front = [rank(c, ev.Face.OUTSIDE) for c in outside if c.duty is not Duty.PROMOTER]
    back = [rank(c, ev.Face.OUTSIDE) for c in behind if c.duty is not Duty.PROMOTER]
    assert front == back[::-1]
    promoters = sum(c.duty is Duty.PROMOTER for c in cards)
    assert all(c.duty is Duty.PROMOTER for c in (*outside[:promoters], *behind[:promoters]))


RULED = ("chemistry.", "layering.order")
"""What the rules say of an order; `surface` and the rest speak of the piece, whatever lies over it."""


@given(st.lists(st.sampled_from(STOCK), max_size=4, unique_by=lambda c: c.id), st.booleans())
@examples(25)
def test_the_rules_have_no_order_with_fewer_stops_than_the_one_offered(cards, behind):
    """The costs of the search and the rules on chemistry were written apart: they must not disagree."""
    on = BEHIND if behind else OUTSIDE

    def stops(order):
        bench = JobBuilder().card(*cards).piece("p", on.substrate, face=on.face.value)
        for i, card in enumerate(order):
            bench.layer(f"l{i}", card)
        found = [f for f in bench.findings() if f.rule.startswith(RULED)]
        return sum(f.severity is Severity.STOP for f in found), len(found)

    offer_, _ = best_order(cards, on, PAIRINGS)
    said = stops(offer_)
    least = trouble_of(offer_, on, PAIRINGS).misplaced
    fair = [o for o in permutations(cards) if trouble_of(o, on, PAIRINGS).misplaced == least]
    assert said[0] <= min((stops(o)[0] for o in fair), default=said[0])
    if trouble_of(offer_, on, PAIRINGS)[:5] == (0, 0, 0, 0, 0):
        assert said == (0, 0)


# --- orders of the trade -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cards", "on", "order"),
    [
        ([CLEAR, COLOUR, SEALER, EPOXY, PROMOTER], OUTSIDE, "promoter-2k epoxy sealer colour clear-2k"),
        ([CLEAR, COLOUR, SEALER, EPOXY, PROMOTER], BEHIND, "promoter-2k clear-2k colour sealer epoxy"),
        ([CANDY, METALLIC, CLEAR], OUTSIDE, "metallic candy clear-2k"),
        ([METALLIC, CANDY], BEHIND, "candy metallic"),
        ([COLOUR, SEALER, ETCH], OUTSIDE, "etch sealer colour"),
        # A barrier goes between two that must not touch, though a sealer usually lies under all colour.
        ([EPOXY_SEALER, replace(LACQUER, traits=(Trait.TRANSLUCENT,)), ENAMEL], OUTSIDE, "enamel sealer lacquer"),
        # Peroxide bleeds through colour: a primer goes over the filler where there is one.
        ([COLOUR, EPOXY, FILLER], OUTSIDE, "filler epoxy colour"),
        ([COLOUR, SEALER, FILLER], OUTSIDE, "filler sealer colour"),
        # Two colours stay as picked: nobody but the painter knows which is the ground.
        ([METALLIC, COLOUR], OUTSIDE, "metallic colour"),
        ([COLOUR, METALLIC], OUTSIDE, "colour metallic"),
        # Nothing but the one order lets each lie on what its card asks for.
        ([replace(CLEAR, only_over=("candy",)), replace(CANDY, only_over=("metallic",)), METALLIC, COLOUR], OUTSIDE,
         "colour metallic candy clear-2k"),
        # A clear between two colours, because a card asks for it.
        ([replace(CANDY, only_over=("clear-2k",)), CLEAR, COLOUR, CLEAR], OUTSIDE, "colour clear-2k candy clear-2k"),
    ],
)  # fmt: skip
def test_orders_of_the_trade(cards, on, order):
    assert offered(cards, on) == order.split()


def test_zinc_is_kept_from_oil_and_acid():
    """Zinc makes soap of an alkyd, and dissolves in acid (published guides to painting zinc)."""
    zinc = replace(EPOXY, id="zinc", traits=(Trait.ZINC_RICH,))
    assert offered([EPOXY, zinc, ENAMEL]) == ["zinc", "epoxy", "enamel"]
    assert trouble_of([zinc, ENAMEL], OUTSIDE, PAIRINGS) == Trouble(stops=1)
    acid = replace(COLOUR, traits=(Trait.ACID_CATALYSED,))
    assert trouble_of([zinc, acid], OUTSIDE, PAIRINGS) == Trouble(cautions=1)
    assert trouble_of([zinc, replace(ENAMEL, only_over=("zinc",))], OUTSIDE, PAIRINGS) == Trouble()


def test_the_paint_that_is_on_counts():
    soft = replace(LACQUER, id="soft", only_over=("enamel",))
    assert offered([COLOUR, soft], under=[ENAMEL]) == ["soft", "colour"]


def test_ten_products_are_searched_whole_and_more_go_by_kind():
    ten = [replace(c, id=f"c{i}") for i, c in enumerate([CLEAR, COLOUR, SEALER, EPOXY, PROMOTER] * 2)]
    assert best_order(ten, OUTSIDE, PAIRINGS)[1]
    many = [replace(c, id=f"c{i}") for i, c in enumerate([CLEAR, COLOUR, SEALER, EPOXY, PROMOTER] * 5)]
    order, whole = best_order(many, OUTSIDE, PAIRINGS)
    assert not whole
    kinds = [rank(c, ev.Face.OUTSIDE) for c in order]
    assert kinds == sorted(kinds)
    assert [c.id for c in order if c.duty is Duty.CLEAR] == ["c0", "c5", "c10", "c15", "c20"]
    assert best_order([COLOUR] * 40, OUTSIDE, PAIRINGS) == ((COLOUR,) * 40, True)


# --- what is said ------------------------------------------------------------------------------------


def said(order, on=OUTSIDE, under=()):
    return notes(order, on, PAIRINGS, under)


def test_nothing_is_said_of_a_sound_stack():
    assert said([POLYOLEFIN, EPOXY, SEALER, COLOUR, URETHANE]) == ()
    assert said([CANDY, METALLIC, SEALER], BEHIND) == ()
    assert said([]) == ()


def test_a_circle_is_named_and_never_followed():
    one, two = replace(COLOUR, only_over=("candy",)), replace(CANDY, only_over=("colour",))
    answer = offer([one, two], OUTSIDE, SUBSTRATES["aluminium"], PAIRINGS)
    (circle,) = [n for n in answer.notes if n.kind is Kind.CIRCLE]
    assert circle.grave
    assert circle.words == "These wait for each other by their cards, so none can go on first: Candy, Base colour."
    alone = offer([replace(COLOUR, only_over=("colour",))], OUTSIDE, SUBSTRATES["aluminium"], PAIRINGS)
    assert "only over itself" in alone.notes[0].words


def test_where_no_order_works_the_pair_is_named():
    """Epoxy over etch never hardens where they touch, so the etch is put over it, where it has nothing to bite on."""
    answer = offer([EPOXY, ETCH, COLOUR], OUTSIDE, SUBSTRATES["aluminium"], PAIRINGS)
    assert [c.id for c in answer.order] == ["epoxy", "etch", "colour"]
    note = answer.notes[0]
    assert (note.kind, note.place, note.grave) == (Kind.PAIRING, 1, False)
    assert note.words.startswith("Etch primer over Epoxy primer: an etch primer bites bare metal")
    assert note.words.endswith("No other order of these has less against it.")
    (grave,) = notes([ETCH, EPOXY], OUTSIDE, PAIRINGS)
    assert grave.grave
    assert grave.words.startswith("Epoxy primer over Etch primer: the acid left in an etch primer")
    assert not grave.words.endswith("less against it.")
    assert grave.source == PAIRINGS[EPOXY.chemistry, ETCH.chemistry].source


def test_what_a_wait_mends_is_not_grave():
    (note,) = said([ENAMEL, LACQUER])
    assert not note.grave
    assert note.rule == ""
    assert "until it is cured" in note.why
    assert said([ENAMEL, replace(LACQUER, only_over=("enamel",))]) == ()
    assert said([ENAMEL, SEALER])[0].kind is Kind.PAIRING


def test_paint_on_the_piece_is_met_too():
    assert said([LACQUER], under=[ENAMEL])[0].place == 0
    assert said([LACQUER], under=[ENAMEL, EPOXY]) == ()


def test_an_activator_that_suits_is_asked_for():
    rigid = replace(CLEAR, activators=(replace(CLEAR.activators[0], suits=Suits.RIGID),))
    (note,) = notes([rigid], piece(flex=Flex.FLEXIBLE), PAIRINGS)
    assert note.grave
    assert note.words == "Two-part clear has no activator for a flexible piece: take another product."
    assert said([rigid]) == ()


def test_behind_clear_a_promoter_must_dry_clear():
    (note,) = said([PROMOTER, COLOUR], BEHIND)
    assert note.kind is Kind.LOOK
    assert said([replace(PROMOTER, traits=(Trait.TRANSLUCENT,)), COLOUR], BEHIND) == ()
    assert said([PROMOTER, COLOUR]) == ()


def test_why_an_order_is_not_the_usual_one():
    answer = offer([COLOUR, EPOXY, FILLER], OUTSIDE, SUBSTRATES["aluminium"], PAIRINGS)
    assert [n.words for n in answer.notes] == [
        "Epoxy primer goes over Polyester spray filler here: the usual order has more against it."
    ]
    assert said([FILLER, EPOXY, COLOUR]) == ()


# --- what is missing ---------------------------------------------------------------------------------


def lacks(order, substrate="aluminium", under=()):
    return [(m.duty, m.place, m.ids) for m in missing(order, SUBSTRATES[substrate], PAIRINGS, under)]


def test_a_promoter_is_offered_where_the_material_refuses_paint():
    assert lacks([COLOUR], "pp") == [(Duty.PROMOTER, 0, ())]
    assert lacks([ONE_PART_PROMOTER, COLOUR], "pp") == []
    assert lacks([COLOUR], "abs") == []
    assert lacks([], "pp") == []
    assert lacks([COLOUR], "pp", under=[EPOXY]) == []


def test_a_sealer_is_offered_between_two_that_need_a_barrier():
    assert lacks([EPOXY, ENAMEL, LACQUER]) == [(Duty.SEALER, 2, ())]
    assert lacks([ENAMEL, SEALER, LACQUER]) == []
    assert lacks([ENAMEL, URETHANE]) == [(Duty.SEALER, 1, ())]
    assert lacks([ENAMEL, WATERBORNE]) == []  # no more than a caution, which a wait mends
    assert lacks([LACQUER], under=[ENAMEL]) == [(Duty.SEALER, 0, ())]
    clear = replace(LACQUER, duty=Duty.CLEAR)
    assert "dries clear" in missing([ENAMEL, clear], SUBSTRATES["abs"], PAIRINGS)[0].words


def test_what_a_card_asks_for_is_offered():
    asks = replace(CANDY, only_over=("metallic",))
    assert lacks([COLOUR, asks]) == [(None, 1, ("metallic",))]
    assert lacks([METALLIC, asks]) == []
    assert said([asks])[0].words == "Candy goes only over “metallic” by its card."


# --- film --------------------------------------------------------------------------------------------


def test_film_by_card_by_measure_and_at_most():
    by_card, at_most = replace(COLOUR, film_um=20.0), replace(CANDY, film_most_um=80.0)
    answer = film([Coated(card=by_card, coats=3), Coated(card=by_card, coats=2, measured_um=25.0),
                   Coated(card=at_most, coats=2), Coated(card=CLEAR, coats=2)])  # fmt: skip
    assert answer.layers == ((60.0, 60.0), (50.0, 50.0), (0.0, 80.0), None)
    assert answer.total_um == (110.0, 190.0)
    assert not answer.whole
    assert film([]).total_um == (0, 0)
    assert film([]).whole


def test_how_long_is_written_as_the_table_writes_it():
    assert While.ALWAYS.value == stackcost.AT_ANY_TIME
    assert Severity.STOP.value == "stop"
    assert {p.during for p in PAIRINGS.values()} <= set(While)
