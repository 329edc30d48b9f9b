"""A trial as it is being set up: the systems, how many strips of each, where they lie. Every act gives another one."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from random import Random

import msgspec

from benchtool.job import events as ev
from benchtool.job.cards import Card, Duty, Gun
from benchtool.job.trialnumbers import StripNumber, numbers_on
from benchtool.job.trialplan import MOST_ON_A_PANEL, MOST_SYSTEMS, USUAL_METHODS, USUAL_REST
from benchtool.session.planning import PieceText
from benchtool.session.session import NotNow
from benchtool.session.stackbuilding import Build, Row, filled
from benchtool.trade.durations import write_span
from benchtool.trade.panel import USUAL_STRIP_MM, deal
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex

LETTERS = "ABCDEFGHIJKL"
MOST_REPLICATES = 8
USUAL_REPLICATES = 3
"""Enough to see how far strips of one system differ by themselves. Common practice, no source."""

LABEL_COLOURS = (
    "#3f6fa8", "#c98a1b", "#4f8a5b", "#a4486b", "#6a5aa0", "#b5651d",
    "#2f8f8f", "#8a7a3a", "#7a3f3f", "#5c7f9e", "#9a6fb0", "#6b6b6b",
)  # fmt: skip
"""One for each letter; it only repeats the letter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One system: `name` as typed, empty for the one that its stack gives it; its layers, the first one on first."""

    key: str
    name: str = ""
    control: bool = False
    colour: str | None = None
    rows: tuple[Row, ...] = ()

    @property
    def promoters(self) -> tuple[Row, ...]:
        """The layers of it that are promoters."""
        return tuple(r for r in self.rows if r.card.duty is Duty.PROMOTER)


@dataclass(frozen=True, slots=True, kw_only=True)
class AgeText:
    """A step of ageing as typed."""

    kind: ev.AgeingKind
    lasts: str = ""
    degC: str = ""
    mandrel: str = ""
    recovers: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One strip: of which system, the how manieth of it, and where it lies."""

    key: str
    replicate: int
    panel: int
    place: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """A trial as it would be. What can be typed stays text until it is written into the job.

    `trial` is the one that is changed, None for a new one; a `begun` one has paint on, so that its strips, their
    systems and places stay. `material` is what the strips are of (its name is not used), `batch` the lot of it.
    `no_control` says that the painter keeps a trial without a control all the same. `seed` deals the strips out.
    `numbers` are those that the strips have, as they lie; the others go on from `first`, past what is `taken` by other
    trials of the job.
    """

    trial: str | None = None
    begun: bool = False
    name: str = ""
    piece: str | None = None
    material: PieceText = field(default_factory=PieceText)
    batch: str = ""
    systems: tuple[Candidate, ...] = ()
    replicates: int = USUAL_REPLICATES
    methods: frozenset[ev.Method] = frozenset(USUAL_METHODS)
    rest: str = write_span(USUAL_REST)
    tape_stays: str = ""
    ageing: tuple[AgeText, ...] = ()
    width: str = f"{USUAL_STRIP_MM[0]:g}"
    length: str = f"{USUAL_STRIP_MM[1]:g}"
    note: str = ""
    randomised: bool = False
    seed: int = 0
    spots: tuple[Spot, ...] = ()
    no_control: bool = False
    gun: Gun = Gun.AIRBRUSH
    count: int = 0
    numbers: tuple[StripNumber, ...] = ()
    first: int = 1
    taken: frozenset[int] = frozenset()

    def system(self, key: str) -> Candidate | None:
        """Find a system; None where it is gone."""
        return next((c for c in self.systems if c.key == key), None)

    def letter(self, key: str) -> str:
        """Give the letter of a system: that of its line."""
        return next((LETTERS[i] for i, c in enumerate(self.systems[: len(LETTERS)]) if c.key == key), "")

    @property
    def controls(self) -> tuple[Candidate, ...]:
        """The systems that are marked as the control."""
        return tuple(c for c in self.systems if c.control)

    @property
    def strips(self) -> int:
        """How many strips it takes."""
        return len(self.spots)

    def numbered(self) -> tuple[tuple[StripNumber, Spot], ...]:
        """Give the strips as they lie, with the number of each, the only one in the job: the panels go on counting."""
        lying = sorted(self.spots, key=lambda s: (s.panel, s.place))
        return tuple(zip(numbers_on(self.numbers, self.first, self.taken), lying, strict=False))


def titles(setup: Setup) -> dict[str, str]:
    """Give the name of each system, by its key: as typed, else after what tells it from the others; no two alike."""
    typed = {c.key: " ".join(c.name.split()) for c in setup.systems}
    used = {name.casefold() for name in typed.values() if name}
    found: dict[str, str] = {}
    for c in setup.systems:
        name = typed[c.key]
        if not name:
            plain = name = _own_name(c)
            turn = 2
            while name.casefold() in used:
                name, turn = f"{plain} {turn}", turn + 1
            used.add(name.casefold())
        found[c.key] = name
    return found


def _own_name(system: Candidate) -> str:
    names = list(dict.fromkeys(r.card.name for r in system.promoters))
    if names:
        return " + ".join(names)
    if system.control:
        return say("No promoter")
    return system.rows[0].card.name if system.rows else say("New system")


def stack_words(rows: Sequence[Row]) -> str:
    """Say a stack in a line, the first product on first: `Two-part promoter × 2 (Rigid activator), Base colour`."""
    said = []
    for r in rows:
        activator = r.card.activator(r.plan.activator)
        words = r.plan.name or r.card.name
        words = say("{layer} × {n}", layer=words, n=r.plan.coats) if r.plan.coats > 1 else words
        said.append(say("{layer} ({with_it})", layer=words, with_it=activator.name) if activator else words)
    return ", ".join(said) or say("No paint on it yet.")


# --- systems -----------------------------------------------------------------------------------------


def without_hold(rows: Sequence[Row]) -> tuple[Row, ...]:
    """Give a stack without its promoters; where it has none, without the primers that lie on the material."""
    left = tuple(r for r in rows if r.card.duty is not Duty.PROMOTER)
    if len(left) < len(rows):
        return left
    bare = next((i for i, r in enumerate(rows) if r.card.duty is not Duty.PRIMER), len(rows))
    return tuple(rows[bare:])


def with_promoter(rows: Sequence[Row], card: Card, piece: ev.Piece, gun: Gun) -> tuple[Row, ...]:
    """Give a stack with this promoter in place of its own, under the same paint; it goes on first where it had none."""
    at = next((i for i, r in enumerate(rows) if r.card.duty is Duty.PROMOTER), 0)
    left = [r for r in rows if r.card.duty is not Duty.PROMOTER]
    left.insert(min(at, len(left)), Row(key="", card=card, plan=filled(card, piece, gun)))
    return _keyed(left)


def of_layers(layers: Sequence[tuple[Card, ev.Layer]]) -> tuple[Row, ...]:
    """Make the stack of a system of cards and plans, such as those of a piece's layers."""
    return _keyed([Row(key="", card=card, plan=msgspec.structs.replace(plan, id="new")) for card, plan in layers])


def _keyed(rows: Sequence[Row]) -> tuple[Row, ...]:
    return tuple(replace(r, key=f"+{i}", was=None, kept=False) for i, r in enumerate(rows, 1))


def put(setup: Setup, rows: Sequence[Row], *, control: bool = False, name: str = "") -> tuple[Setup, str]:
    """Add a system with this stack; gives its key too.

    Raises:
        NotNow: there are as many as a trial can have, or its strips have paint on.
    """
    _free(setup)
    if len(setup.systems) >= MOST_SYSTEMS:
        raise NotNow(say("A trial has {n} systems at most.", n=MOST_SYSTEMS))
    key = f"s{setup.count + 1}"
    taken = {c.colour for c in setup.systems}
    colour = next((c for c in LABEL_COLOURS if c not in taken), LABEL_COLOURS[0])
    made = Candidate(key=key, name=name, control=control, colour=colour, rows=_keyed(rows))
    more = replace(setup, systems=(*setup.systems, made), count=setup.count + 1)
    return _laid(more), key


def double(setup: Setup, key: str) -> tuple[Setup, str]:
    """Add another system with the stack of this one, below it; gives its key too.

    Raises:
        NotNow: as `put`.
    """
    like = setup.system(key)
    more, made = put(setup, like.rows if like is not None else ())
    at = next((i for i, c in enumerate(setup.systems) if c.key == key), len(setup.systems))
    return _laid(replace(more, systems=(*more.systems[: at + 1], more.systems[-1], *more.systems[at + 1 : -1]))), made


def take_out(setup: Setup, key: str) -> Setup:
    """Take a system out.

    Raises:
        NotNow: its strips have paint on.
    """
    _free(setup)
    return _laid(replace(setup, systems=tuple(c for c in setup.systems if c.key != key)))


def move(setup: Setup, key: str, by: int) -> Setup:
    """Move a system so many lines down; the letters follow the lines."""
    systems = list(setup.systems)
    at = next((i for i, c in enumerate(systems) if c.key == key), -1)
    there = at + by
    if at < 0 or not 0 <= there < len(systems) or setup.begun:
        return setup
    systems[at], systems[there] = systems[there], systems[at]
    return _laid(replace(setup, systems=tuple(systems)))


def change(setup: Setup, key: str, **fields: object) -> Setup:
    """Change the name, the colour or the stack of a system.

    Raises:
        NotNow: its strips have paint on.
    """
    _free(setup)
    systems = tuple(replace(c, **fields) if c.key == key else c for c in setup.systems)  # type: ignore[arg-type]
    return _laid(replace(setup, systems=systems))


def set_control(setup: Setup, key: str, *, on: bool = True) -> Setup:
    """Mark a system as the control, or as none; a trial may have several.

    Raises:
        NotNow: its strips have paint on.
    """
    return replace(change(setup, key, control=on), no_control=False)


def without_control(setup: Setup, *, keep: bool = True) -> Setup:
    """Keep a trial without a control: the painter said so."""
    return replace(setup, no_control=keep)


def _free(setup: Setup) -> None:
    if setup.begun:
        raise NotNow(say("The strips have paint on: their systems and places stay as they are."))


def build_of(setup: Setup, key: str, piece: ev.Piece) -> Build:
    """Take up the stack of a system for building, on a piece of the strips' material."""
    system = setup.system(key)
    rows = system.rows if system is not None else ()
    colours = {r.card.id: r.plan.colour for c in setup.systems for r in c.rows if r.plan.colour is not None}
    return Build(piece=piece, rows=rows, gun=setup.gun, colours=colours, by_hand=bool(rows), count=1_000 + len(rows))


def stand_in(setup: Setup) -> ev.Piece:
    """Give a piece of the strips' material, as far as it is known yet: what stacks are built for and judged on."""
    m = setup.material
    return ev.Piece(
        id="strip",
        name=say("The strips"),
        substrate=m.substrate or "unknown",
        known=m.known or ev.Known.UNKNOWN,
        flex=m.flex or Flex.RIGID,
        face=m.face,
    )


# --- strips ------------------------------------------------------------------------------------------


def with_replicates(setup: Setup, count: int) -> Setup:
    """Have so many strips of each system.

    Raises:
        NotNow: they have paint on.
    """
    _free(setup)
    return _laid(replace(setup, replicates=min(max(count, 1), MOST_REPLICATES)))


def shuffle(setup: Setup, chance: Random) -> Setup:
    """Deal the strips out anew by chance, on each panel.

    Raises:
        NotNow: they have paint on.
    """
    _free(setup)
    return _laid(replace(setup, randomised=True, seed=chance.getrandbits(48), spots=()))


def in_order(setup: Setup) -> Setup:
    """Lay the strips in the order of their systems, the controls last.

    Raises:
        NotNow: they have paint on.
    """
    _free(setup)
    return _laid(replace(setup, randomised=False, spots=()))


def _laid(setup: Setup) -> Setup:
    """Give every strip its place: those that have one keep it where nothing is added or gone."""
    keys = [c.key for c in setup.systems]
    wanted = {(key, n) for key in keys for n in range(1, setup.replicates + 1)}
    if setup.randomised and {(s.key, s.replicate) for s in setup.spots} == wanted:
        return setup
    return replace(setup, spots=tuple(_dealt(setup, keys)))


def _dealt(setup: Setup, keys: list[str]) -> Iterator[Spot]:
    chance = Random(setup.seed)  # noqa: S311  # places are mixed, nothing is hidden
    controls = {c.key for c in setup.controls}
    order = sorted(keys, key=lambda k: k in controls)
    if setup.randomised:
        chance.shuffle(order)
    seen = dict.fromkeys(keys, 0)
    for number, kinds in enumerate(deal([setup.replicates] * len(order), MOST_ON_A_PANEL), 1):
        places = list(kinds)
        if setup.randomised:
            chance.shuffle(places)
        else:
            places.sort()
        for place, kind in enumerate(places):
            key = order[kind]
            seen[key] += 1
            yield Spot(key=key, replicate=seen[key], panel=number, place=place)
