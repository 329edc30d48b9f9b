"""What a trial that is being set up still wants, what is odd about it, how many strips it takes and how much paint."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from math import ceil

from benchtool.job import events as ev
from benchtool.job.cards import Card, recipe
from benchtool.job.cup import recipe_parts
from benchtool.job.trialfaults import LONGEST
from benchtool.job.trialplan import MOST_STRIPS, MOST_SYSTEMS
from benchtool.session.cardreading import LONGEST_NAME, clean, unmixable
from benchtool.session.session import Session
from benchtool.session.trialkinds import AgeText, Candidate, Setup, titles
from benchtool.session.trialwords import tape_time_words
from benchtool.trade.durations import NotASpan, read_span
from benchtool.trade.exactwords import how_many_words
from benchtool.trade.film import TRANSFER_PERCENT, NotACoat, mixed_solids, rectangle_m2, size
from benchtool.trade.grades import Method
from benchtool.trade.mixing import NotAShare, PartKind, fractions
from benchtool.trade.numbers import figure
from benchtool.trade.panel import EDGE_MM, LATTICE_PLACES, USUAL_STRIP_MM, lattices_in
from benchtool.trade.quantities import NotAnAmount
from benchtool.trade.saying import say, say_n

MOST_AGEING = 10
_WIDEST_MM = 2_000.0
_SPACING_MM = 2.0
"""Blades so far apart are usual for a stack on plastics. The film decides: ISO 2409, 7.1."""
_CUTS = 6
_MOST_NOTE = 4_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """What the typed values of a set-up mean; what can't be read is as it usually is."""

    name: str
    batch: str
    note: str
    width_mm: float
    length_mm: float
    rest: timedelta
    tape_stays: timedelta
    ageing: tuple[ev.Ageing, ...]
    faults: tuple[tuple[str, str], ...]


# --- reading -----------------------------------------------------------------------------------------


def read(session: Session, setup: Setup) -> Read:
    """Read what is typed, and say what is wrong or missing: (field, sentence), in the order of the page."""
    faults: list[tuple[str, str]] = list(_whole(setup))
    name, batch, note = clean(setup.name), clean(setup.batch), setup.note.strip()
    if not name:
        faults.insert(0, ("name", say("Give the trial a name.")))
    for key, text, most in (("name", name, LONGEST_NAME), ("batch", batch, LONGEST_NAME), ("note", note, _MOST_NOTE)):
        if len(text) > most:
            faults.append((key, say("This is too long: {n} characters at most.", n=most)))
    width = _side(session, "width", setup.width, USUAL_STRIP_MM[0], faults)
    length = _side(session, "length", setup.length, USUAL_STRIP_MM[1], faults)
    if not setup.methods:
        faults.append(("methods", say("Choose a test at least.")))
    rest = _span("rest", setup.rest, faults, empty=say("Say how long the paint rests before the first test."))
    stays = _span("tape_stays", setup.tape_stays, faults)
    ageing = tuple(_ageing(session, i, step, faults) for i, step in enumerate(setup.ageing))
    if len(setup.ageing) > MOST_AGEING:
        faults.append(("ageing", say("These are too many steps: {n} at most.", n=MOST_AGEING)))
    return Read(
        name=name, batch=batch, note=note, width_mm=width, length_mm=length, rest=rest, tape_stays=stays,
        ageing=ageing, faults=tuple(faults),
    )  # fmt: skip


def why_control() -> str:
    """Say why a trial wants a control."""
    return say(
        "Without a bare strip beside them nobody can say that a promoter did anything: "
        "on some plastics everything holds."
    )


def faults(session: Session, setup: Setup) -> tuple[tuple[str, str], ...]:
    """Say what is wrong or missing: (field, sentence), in the order of the page. A missing control comes last."""
    return read(session, setup).faults


def _whole(setup: Setup) -> Iterator[tuple[str, str]]:
    if setup.piece is None and not setup.begun:
        yield from _material(setup)
    count = len(setup.systems)
    if count < 2:
        yield (
            "systems",
            say_n("A trial compares: add one more system.", "A trial compares: add two systems.", 2 - count),
        )
    elif count > MOST_SYSTEMS:
        yield "systems", say("A trial has {n} systems at most.", n=MOST_SYSTEMS)
    yield from _stacks(setup)
    if setup.strips > MOST_STRIPS:
        yield (
            "replicates",
            say("That makes {n} strips, and a trial has {most} at most.", n=setup.strips, most=MOST_STRIPS),
        )
    if wants_control(setup) and count >= 2:
        yield "control", why_control()


def wants_control(setup: Setup) -> bool:
    """Say whether a control is missing and the painter has not said to go without."""
    return not setup.controls and not setup.no_control and not setup.begun


def _material(setup: Setup) -> Iterator[tuple[str, str]]:
    m = setup.material
    if m.substrate is None:
        yield "substrate", say("Say what the strips are made of; “Nobody knows” is an answer too.")
    elif m.known is None:
        yield "known", say("Say how you know what they are made of.")
    if m.flex is None:
        yield "flex", say("Say whether it bends in use: the activator depends on it.")


def _stacks(setup: Setup) -> Iterator[tuple[str, str]]:
    names = titles(setup)
    seen: dict[str, str] = {}
    mixes: dict[int, tuple[str, str] | None] = {}  # one card is of many systems, and its sums take long
    for c in setup.systems:
        letter, name = setup.letter(c.key), names[c.key]
        field = f"system-{c.key}"
        if not c.rows:
            yield field, say("System {letter} has no paint on it yet: choose its products.", letter=letter)
        if len(name) > LONGEST_NAME and c.name:
            said = say(
                "The name of system {letter} is too long: {n} characters at most.", letter=letter, n=LONGEST_NAME
            )
            yield field, said
        if name.casefold() in seen:
            other = seen[name.casefold()]
            yield field, say("Systems {a} and {b} have one name: call one of them something else.", a=other, b=letter)
        seen.setdefault(name.casefold(), letter)
        for card in {r.card.id: r.card for r in c.rows}.values():
            if id(card) not in mixes:
                mixes[id(card)] = next(unmixable(card), None)
            unmixed = mixes[id(card)]
            if unmixed is not None:
                yield (
                    field,
                    f"{say('The shares of {card} make no mix, so edit it first.', card=card.name)} {unmixed[1]}",
                )


def _side(session: Session, key: str, typed: str, usual: float, faults: list[tuple[str, str]]) -> float:
    try:
        value = session.measures.length_mm(typed, unit="mm")
    except NotAnAmount as wrong:
        faults.append((key, str(wrong)))
        return usual
    if not 0 < value <= _WIDEST_MM:
        faults.append((key, say("A strip is more than 0 and at most 2 m: write 25 mm or 1 in.")))
        return usual
    return value


def _span(key: str, typed: str, faults: list[tuple[str, str]], empty: str = "") -> timedelta:
    if not typed.strip():
        if empty:
            faults.append((key, empty))
        return timedelta(0)
    try:
        span = read_span(typed)
    except NotASpan as wrong:
        faults.append((key, str(wrong)))
        return timedelta(0)
    if span > LONGEST:
        faults.append((key, say("No trial lasts a century.")))
        return timedelta(0)
    return span


def _ageing(session: Session, i: int, step: AgeText, faults: list[tuple[str, str]]) -> ev.Ageing:
    flex = step.kind is ev.AgeingKind.FLEX
    lasts = None
    if not flex:
        lasts = _span(f"ageing-{i}-lasts", step.lasts, faults, empty=say("Say how long this lasts."))
    degC = mandrel = None
    try:
        if step.degC.strip() and not flex:
            degC = _within(session.measures.temperature_degC(step.degC, unit="C"), -40, 200)
    except (NotAnAmount, ValueError) as wrong:
        faults.append((f"ageing-{i}-degC", str(wrong)))
    try:
        if step.mandrel.strip() and flex:
            mandrel = _thick(session.measures.length_mm(step.mandrel, unit="mm"))
    except (NotAnAmount, ValueError) as wrong:
        faults.append((f"ageing-{i}-mandrel", str(wrong)))
    return ev.Ageing(
        kind=step.kind,
        lasts=lasts,
        degC=degC,
        mandrel_mm=mandrel,
        recovers=_span(f"ageing-{i}-recovers", step.recovers, faults),
    )


def _within(degC: float, least: float, most: float) -> float:
    if not least <= degC <= most:
        raise ValueError(say("Strips are aged between {least} and {most} °C.", least=least, most=most))
    return degC


def _thick(mm: float) -> float:
    if not 0 < mm <= 1_000:
        raise ValueError(say("A mandrel is more than 0 and at most 1 m thick: write its diameter in mm."))
    return mm


# --- what is odd -------------------------------------------------------------------------------------


def remarks(session: Session, setup: Setup) -> tuple[str, ...]:
    """Say what is odd about a trial that could be run all the same, the gravest first."""
    values = read(session, setup)
    return (*_too_warm(session, setup, values), *_remarks(values, setup))


def _too_warm(session: Session, setup: Setup, values: Read) -> Iterator[str]:
    """Say where a step of ageing is warmer than the material stands, by the table of materials."""
    substrate = session.tables.substrates.get(setup.material.substrate or "")
    limit = substrate.heat_limit_degC if substrate is not None else None
    warmest = max((s.degC for s in values.ageing if s.degC is not None), default=None)
    if substrate is not None and limit is not None and warmest is not None and warmest > limit:
        yield say(
            "{degC:g} °C is more than {material} stands, {limit:g} °C: the strips may warp, whatever paint is on them.",
            degC=warmest, material=substrate.name, limit=limit,
        )  # fmt: skip


def _remarks(values: Read, setup: Setup) -> Iterator[str]:
    names = titles(setup)
    for c in setup.controls:
        for r in c.promoters:
            yield say(
                "{letter} is the control and has {promoter} on: a control has no promoter.",
                letter=setup.letter(c.key), promoter=r.card.name,
            )  # fmt: skip
    yield from _twins(setup)
    tops = {c.rows[-1].card.id for c in setup.systems if c.rows}
    if len(tops) > 1:
        yield say("The strips do not all end in the same paint: then the tests compare the paints as well.")
    lattice = setup.methods & {Method.ISO_2409, Method.D3359_B}
    room = lattices_in(values.width_mm, values.length_mm, _CUTS, _SPACING_MM)
    if lattice and room < LATTICE_PLACES:
        yield say(
            "The strips are small for cross-cuts: with cuts {gap} mm apart and {edge} mm to each edge there is room "
            "for {n} on each, and the standards ask for {places} where it matters.",
            gap=f"{_SPACING_MM:g}", edge=f"{EDGE_MM:g}", n=room, places=LATTICE_PLACES,
        )  # fmt: skip
    if setup.controls and len(setup.controls) == len(setup.systems):
        yield say("Every system is marked as a control: then there is nothing to hold against it.")
    if not setup.randomised and len(setup.systems) > 1 and not setup.begun and names:
        yield say(
            "The strips lie in order: what is sprayed first, or lies at the edge, is always the same system. "
            "Shuffling them mends that."
        )


def _twins(setup: Setup) -> Iterator[str]:
    alike: dict[tuple[object, ...], list[str]] = {}
    for c in setup.systems:
        if c.rows:
            alike.setdefault(_stack(c), []).append(setup.letter(c.key))
    for letters in (x for x in alike.values() if len(x) > 1):
        yield say(
            "Systems {first} and {last} have the same stack: then they are one system with more strips.",
            first=", ".join(letters[:-1]), last=letters[-1],
        )  # fmt: skip


def _stack(system: Candidate) -> tuple[object, ...]:
    return tuple((r.card.id, r.plan.coats, r.plan.activator, r.plan.additives) for r in system.rows)


# --- how many, how much ------------------------------------------------------------------------------


def strip_words(setup: Setup) -> tuple[str, ...]:
    """Say how many strips it takes, and what so many can show and prove at best."""
    if len(setup.systems) < 2:
        return ()
    return how_many_words(len(setup.systems), setup.replicates)


def rest_words(session: Session, setup: Setup) -> str:
    """Say which paint on top asks for more time before tape than the rest that is typed: the longest; "" for none."""
    rest = read(session, setup).rest
    tops = [c.rows[-1].card for c in setup.systems if c.rows]
    slowest = max(tops, key=lambda card: card.tape or timedelta(0), default=None)
    return tape_time_words(slowest, rest) if slowest is not None else ""


def count_words(setup: Setup) -> str:
    """Say how many strips there are, and on how many panels."""
    panels = max((s.panel for s in setup.spots), default=0)
    strips = say_n("{n} strip", "{n} strips", setup.strips)
    return strips if panels < 2 else say("{strips} on {n} panels", strips=strips, n=panels)


def amount_mL(
    session: Session, card: Card, plan: ev.Layer, strips: int, strip_mm: tuple[float, float] = USUAL_STRIP_MM
) -> float | None:
    """Give how much of the ready mix (mL) all coats of a layer take on so many strips; None where the card can't tell.

    What misses the strips is in it by the painter's own transfer efficiency for that gun, else the usual one; what
    stays in the cup and the gun is not.
    """
    try:
        solids, thinned = _of_mix(card, plan)
        if card.film_um is None or solids is None or strips < 1:
            return None
        own = session.shop.shop.transfer_percent if session.shop is not None else {}
        return size(
            area_m2=strips * rectangle_m2(strip_mm[1], strip_mm[0]),
            dry_um=card.film_um,
            solids_percent=solids,
            transfer_percent=own.get(plan.gun, TRANSFER_PERCENT[plan.gun.value]),
            coats=plan.coats,
            thinned_percent=thinned,
        ).ready_mL
    except (NotACoat, NotAShare):
        return None


def _of_mix(card: Card, plan: ev.Layer) -> tuple[float | None, float]:
    """Give the volume solids (%) of the mix before its reducer, None where not known, and the reducer (% of that)."""
    activator = card.activator(plan.activator)
    parts = recipe_parts(recipe(card, activator, plan.gun, plan.additives))
    shares = fractions(parts)
    of_activator = activator.solids_percent if activator is not None else None
    solids = {PartKind.BASE: card.solids_percent, PartKind.ACTIVATOR: of_activator}
    reducer = sum(f for p, f in zip(parts, shares, strict=True) if p.kind is PartKind.REDUCER)
    # no card gives the solids of an additive: taken as none, so that rather a little too much is mixed than too little
    solids[PartKind.ADDITIVE] = 0.0
    known = [(f, solids.get(p.kind)) for p, f in zip(parts, shares, strict=True) if p.kind is not PartKind.REDUCER]
    thinned = 100 * reducer / (1 - reducer) if reducer < 1 else 0.0
    told = [(f, s) for f, s in known if s is not None]
    return (mixed_solids(told) if len(told) == len(known) else None), thinned


def amount_words(session: Session, setup: Setup) -> tuple[str, ...]:
    """Say how much each cup takes: one cup serves all strips that get the same paint, mixed and reduced the same."""
    values = read(session, setup)
    mm = values.width_mm, values.length_mm
    cups: dict[tuple[object, ...], list[tuple[Card, ev.Layer]]] = {}
    for c in setup.systems:
        for r in c.rows:
            kind = (r.card.id, r.plan.activator, r.plan.gun, r.plan.additives, r.plan.name, r.plan.colour)
            cups.setdefault(kind, []).append((r.card, r.plan))
    said, unknown = [], []
    for layers in cups.values():
        each = [amount_mL(session, card, plan, setup.replicates, mm) for card, plan in layers]
        known = [mL for mL in each if mL is not None]
        if len(known) == len(each):
            strips = say_n("{n} strip", "{n} strips", setup.replicates * len(layers))
            sides = f"{figure(mm[0])} × {figure(mm[1])}"
            said.append(
                say(
                    "{card}: {strips} of {sides} mm take about {mL} mL.",
                    card=layers[0][1].name or layers[0][0].name,
                    strips=strips,
                    sides=sides,
                    mL=_about(sum(known)),
                )
            )
        else:
            unknown.append(layers[0][1].name or layers[0][0].name)
    if unknown:
        cards = ", ".join(dict.fromkeys(unknown))
        said.append(say("How much of these is not known, their cards tell no film or no solids: {cards}.", cards=cards))
    return tuple(said)


def _about(mL: float) -> str:
    """Write an amount that nobody measures finer: upwards to a whole mL, below 1 mL to a tenth."""
    return str(ceil(mL - 1e-9)) if mL >= 1 else f"{max(0.1, ceil(mL * 10 - 1e-9) / 10):g}"
