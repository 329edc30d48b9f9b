"""What an order of products costs in trouble, and the search for the order that has the least."""

import heapq
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from math import prod
from operator import add
from typing import NamedTuple, Protocol

from benchtool.job.cards import Card, Chemistry, Duty, Trait
from benchtool.job.events import Face, Piece

SHEET = "the product card"
AT_ANY_TIME = "at any time"
"""How the table of pairings says that no waiting helps."""

MOST_STATES = 20_000
"""So many steps of the search are taken at most (some 0.2 s): ten different products always fit."""


class Meets(Protocol):
    """A row of the table of pairings: what happens where one film goes over another, how grave it is, and for how long.

    `barrier` says that a sealer between them helps.
    """

    @property
    def severity(self) -> str:
        """`stop` or `caution`."""

    @property
    def during(self) -> str:
        """How long it is to be feared, counted from the last coat below."""

    @property
    def what(self) -> str:
        """What happens, in words."""

    @property
    def remedy(self) -> str:
        """What to do instead."""

    @property
    def source(self) -> str:
        """Where that comes from."""

    @property
    def barrier(self) -> bool:
        """Whether a sealer helps."""


Pairings = Mapping[tuple[Chemistry, Chemistry], Meets]


class Trouble(NamedTuple):
    """What is wrong with an order, the worst first: two orders are compared in this order of their figures.

    `unmet` counts cards that don't lie on what they ask for; `misplaced` pairs of which the one belongs under the other
    (a primer over colour, a promoter over anything); `stops` and `cautions` what no waiting mends; `waits` what only a
    long wait mends; `moved` pairs that are usually the other way round, twice where one hides the other; `short_waits`
    cautions that a wait mends.
    """

    unmet: int = 0
    misplaced: int = 0
    stops: int = 0
    waits: int = 0
    cautions: int = 0
    moved: int = 0
    short_waits: int = 0

    @property
    def lasting(self) -> tuple[int, ...]:
        """What a painter is told of: all but the usual order, and what a short wait mends."""
        return self[:5]

    def plus(self, other: "Trouble") -> "Trouble":
        """Give both together."""
        return Trouble(*map(add, self, other))


# --- two that meet -----------------------------------------------------------------------------------


def unmet(card: Card, below: Card | None) -> bool:
    """Say whether a card asks for something else under it than it gets; None below is the bare piece."""
    return bool(card.only_over) and (below is None or below.id not in card.only_over)


def pairing_of(card: Card, below: Card | None, pairings: Pairings) -> Meets | None:
    """Give the row of the table for a card over another; None where it has none, or where the card allows it."""
    if below is None or card.chemistry is None or below.chemistry is None or below.id in card.only_over:
        return None
    over = card.chemistry
    if card.duty is Duty.FILLER and below.chemistry is Chemistry.ETCH:
        over = Chemistry.POLYESTER  # whatever its resin, a thick filler over the acid lets go
    return pairings.get((over, below.chemistry))


def _meeting(card: Card, below: Card | None, pairings: Pairings) -> Trouble:
    pairing = pairing_of(card, below, pairings)
    stops, waits, cautions, short = 0, 0, 0, 0
    if pairing is not None:
        lasting, stop = pairing.during == AT_ANY_TIME, pairing.severity == "stop"
        stops, waits = int(lasting and stop), int(stop and not lasting)
        cautions, short = int(lasting and not stop), int(not lasting and not stop)
    if below is not None and below.id not in card.only_over:
        # What the rules on chemistry say beside the table; published guides to zinc, and common practice for peroxide.
        zinc = Trait.ZINC_RICH in below.traits
        stops += zinc and card.chemistry is Chemistry.ENAMEL
        cautions += zinc and (card.chemistry is Chemistry.ETCH or Trait.ACID_CATALYSED in card.traits)
        cautions += below.chemistry is Chemistry.POLYESTER and card.duty in (Duty.BASE, Duty.CLEAR)
    return Trouble(unmet=int(unmet(card, below)), stops=stops, waits=waits, cautions=cautions, short_waits=short)


# --- the usual order ---------------------------------------------------------------------------------


_GROUPS = {Duty.PROMOTER: 0, Duty.PRIMER: 1, Duty.FILLER: 1, Duty.SEALER: 1, Duty.BASE: 2, Duty.CLEAR: 3}
_WITHIN = {Duty.PRIMER: 1, Duty.FILLER: 2, Duty.SEALER: 3}


def rank(card: Card, face: Face) -> tuple[int, int]:
    """Give where a product belongs: in which group, and where in it; low goes on first. Common practice, no source.

    Outside: promoter, etch, primer, filler, sealer, solid and metallic colours, translucent ones, clear. Behind clear
    it is the reverse, for what shows goes on first, and a dark solid colour last of the colours, for it hides what
    follows; only a promoter is next to the piece on either side.
    """
    group, within = _GROUPS[card.duty], _WITHIN.get(card.duty, 0)
    if card.duty is Duty.PRIMER and card.chemistry is Chemistry.ETCH:
        within = 0
    if card.duty is Duty.BASE:
        within = int(Trait.TRANSLUCENT in card.traits)
    if face is Face.BEHIND_CLEAR and card.duty is not Duty.PROMOTER:
        dark = card.duty is Duty.BASE and Trait.DARK in card.traits and not within
        return 4 - group, int(dark) - within
    return group, within


class _Places:
    """Who belongs under whom, for one set of products."""

    def __init__(self, cards: Sequence[Card], piece: Piece, pairings: Pairings) -> None:
        self.ranks = [rank(card, piece.face) for card in cards]
        self.sealers = [card.duty is Duty.SEALER for card in cards]
        self.covered = [card.duty in (Duty.BASE, Duty.CLEAR) for card in cards]
        self.outside = piece.face is Face.OUTSIDE
        pairs = (pairing_of(over, under, pairings) for over in cards for under in cards)
        self.barrier = any(pair is not None and pair.barrier for pair in pairs)

    def over(self, upper: int, lower: int) -> tuple[int, int]:
        """Say whether `upper` over `lower` is misplaced, or how unusual it is that way round."""
        if self.ranks[upper] >= self.ranks[lower]:
            return 0, 0
        # A sealer may go up between two colours that must not touch.
        sealer = (self.sealers[upper] and self.covered[lower]) or (self.sealers[lower] and self.covered[upper])
        hard = self.ranks[upper][0] != self.ranks[lower][0] and not (sealer and self.barrier)
        hidden = self.covered[upper] and self.covered[lower]  # a solid colour over a translucent one hides it
        return int(hard), 0 if hard else 2 if hidden else 1


def parted(order: Sequence[Card], piece: Piece) -> Iterator[tuple[str, str]]:
    """Give the names of those next to each other that are usually the other way round, the upper one first."""
    for under, over in pairwise(order):
        if rank(over, piece.face) < rank(under, piece.face):
            yield over.name, under.name


# --- the search --------------------------------------------------------------------------------------


def trouble_of(order: Sequence[Card], piece: Piece, pairings: Pairings, on: Sequence[Card] = ()) -> Trouble:
    """Add up what is wrong with this order, on top of what is on the piece already."""
    search = _Search(order, piece, pairings, on)
    path = [search.kind_of[i] for i in range(len(order))]
    total, placed, last = Trouble(), [0] * len(search.kinds), -1
    for kind in path:
        total = total.plus(search.step(tuple(placed), last, kind))
        placed[kind] += 1
        last = kind
    return total


def best_order(
    cards: Sequence[Card], piece: Piece, pairings: Pairings, on: Sequence[Card] = ()
) -> tuple[tuple[Card, ...], bool]:
    """Give the order with the least trouble, and whether it is the best of all.

    What a product adds to the trouble depends only on which lie under it and which directly, so the cheapest way to
    each such state is all that need be kept (Dijkstra's shortest path): what comes out is the best of all n! orders.
    Of several, it is the one nearest to how they were picked. Where there are too many states for that, they go by
    their kind, as picked within one.
    """
    search = _Search(cards, piece, pairings, on)
    if search.states > MOST_STATES:
        by_kind = sorted(range(len(cards)), key=lambda i: (rank(cards[i], piece.face), i))
        return tuple(cards[i] for i in by_kind), False
    return tuple(cards[i] for i in search.run()), True


class _Search:
    """Equal cards are one kind: which of them goes first makes no odds."""

    def __init__(self, cards: Sequence[Card], piece: Piece, pairings: Pairings, on: Sequence[Card]) -> None:
        self.kinds: list[Card] = []
        self.kind_of: list[int] = []
        self.picks: list[list[int]] = []
        for i, card in enumerate(cards):
            kind = next((k for k, known in enumerate(self.kinds) if known == card), len(self.kinds))
            if kind == len(self.kinds):
                self.kinds.append(card)
                self.picks.append([])
            self.kind_of.append(kind)
            self.picks[kind].append(i)
        self.under = on[-1] if on else None
        self.pairings = pairings
        self.places = _Places(self.kinds, piece, pairings)
        self.states = prod(len(p) + 1 for p in self.picks) * max(1, len(self.kinds))
        self._meet: dict[tuple[int, int], Trouble] = {}

    def step(self, placed: tuple[int, ...], last: int, kind: int) -> Trouble:
        """Give what one more product adds, over those `placed` (how many of each kind), the last one directly."""
        misplaced, moved = 0, 0
        for lower, count in enumerate(placed):
            if count:
                hard, soft = self.places.over(kind, lower)
                misplaced, moved = misplaced + hard * count, moved + soft * count
        if sum(placed) + 1 == len(self.kind_of) and self._hides(kind):
            misplaced += 1
        pair = (kind, last)
        if pair not in self._meet:
            below = self.kinds[last] if last >= 0 else self.under
            self._meet[pair] = _meeting(self.kinds[kind], below, self.pairings)
        met = self._meet[pair]
        return met._replace(misplaced=misplaced, moved=moved)

    def _hides(self, kind: int) -> bool:
        """Say whether a sealer that goes on last covers up the colour: seen from outside nothing may lie over that."""
        return self.places.outside and self.places.sealers[kind] and any(self.places.covered)

    def run(self) -> list[int]:
        """Give the picks in the best order."""
        all_of = tuple(len(p) for p in self.picks)
        nothing = tuple(0 for _ in all_of)
        waiting: list[tuple[Trouble, list[int], tuple[int, ...], int]] = [(Trouble(), [], nothing, -1)]
        settled = set()
        while True:
            cost, path, placed, last = heapq.heappop(waiting)
            if placed == all_of:
                return path
            if (placed, last) in settled:
                continue
            settled.add((placed, last))
            for kind, picks in enumerate(self.picks):
                if placed[kind] < len(picks):
                    more = (*placed[:kind], placed[kind] + 1, *placed[kind + 1 :])
                    step = self.step(placed, last, kind)
                    way = [*path, picks[placed[kind]]]
                    heapq.heappush(waiting, (cost.plus(step), way, more, kind))
