"""The prep plan: what to do with a piece before paint goes on it, in order, each step with its reason and its state.

The state comes from the record alone: a step is done when it was logged and nothing that undoes it came after. So a
degreasing counts until the face is abraded, and abrading asks for another one. On a piece that has paint on, the plan
is about the layer on top.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum

from benchtool.job import prepwords as pw
from benchtool.job import prepwordstrial as on_strip
from benchtool.job.cards import Card, Duty, Hazard, Trait
from benchtool.job.cautions import Moment, hazards_at
from benchtool.job.events import Face, Prep, Shape
from benchtool.job.preplog import SCRATCHED, PrepLog
from benchtool.job.preptrial import locks_in, nothing_holds, unnamed_paint
from benchtool.job.stack import LayerState, PieceState, Step
from benchtool.job.trialproof import Proof, proved_at
from benchtool.job.windows import own_recoat_span, recoat_span
from benchtool.trade.saying import say
from benchtool.trade.substrates import Cleaner, Material, Nature, Route, Substrate


class Standing(StrEnum):
    """How a planned step stands."""

    DONE = "done"
    NEXT = "next"
    LATER = "later"
    IF_NEEDED = "only if it needs it"
    NOT_HERE = "not for this piece"


class Part(StrEnum):
    """The parts of a plan, in the order in which they are done."""

    WASH = "wash"
    RELEASE_WASH = "release wash"
    STRIP = "strip"
    DEGREASE = "degrease"
    DRY = "dry"
    ABRADE = "abrade"
    DEGREASE_AGAIN = "degrease again"
    WATER_BREAK = "water break"
    TRIAL = "trial"
    SCUFF = "scuff"
    UNMASK = "unmask"
    MASK = "mask"
    TACK = "tack"
    PROMOTE = "promote"


ORDER = tuple(Part)
"""Any plan is in this order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStep:
    """One step. `step` is what logging it writes; None where a layer or a test strip tells its state instead.

    `agent` is the id of the cleaner, `grit` the FEPA P grades, coarse first, `cautions` what can hurt at this step.
    `logged` is what the record has of it, where that is what made it done.
    """

    part: Part
    step: Prep | None
    name: str
    words: str
    reason: str
    source: str
    state: Standing
    agent: str | None = None
    grit: tuple[int, int] | None = None
    done_at: datetime | None = None
    cautions: tuple[str, ...] = ()
    logged: Step | None = None

    @property
    def brief(self) -> str:
        """What to do up to the first stop, for where there is little room."""
        return re.split(r"[:;.](?:\s|$)", self.words, maxsplit=1)[0]


_GENTLE = (
    "degreaser-water",
    "isopropanol",
    "degreaser-solvent",
    "naphtha",
    "white-spirit",
    "ethanol",
    "water-detergent",
)
_STRONG = (
    "degreaser-solvent",
    "naphtha",
    "white-spirit",
    "isopropanol",
    "acetone",
    "degreaser-water",
    "ethanol",
    "alkaline",
)
_ZINC = ("alkaline", *_STRONG)
"""Which cleaner is named first of those that are safe for a material: for plastics and paint the gentlest (common
practice, no source), for zinc an alkaline one (ASTM D6386)."""

_PAINT_STANDS = "degreaser-water"
"""What cleans paint of the painter's own that is days old: it attacks no film (judgement, no source)."""

_WATER = ("water-detergent",)
"""The first wash, and what is tried on a material of which nothing is said."""

_HARD = frozenset({Material.METAL, Material.GLASS})
_TELLING = frozenset({Material.METAL, Material.GLASS, Material.COMPOSITE, Material.PAINT})
"""Water that breaks on these tells of grease; clean plastics are too low in energy for it to sheet (ASTM F22 and the
published surface energies), and on rough or porous faces the test is blind (ASTM F22)."""


def prep_plan(
    piece: PieceState,
    substrate: Substrate,
    first: Card | None,
    *,
    first_name: str = "",
    cleaners: Mapping[str, Cleaner] | None = None,
    proof: Proof | None = None,
    strip: bool = False,
) -> tuple[PlannedStep, ...]:
    """Plan the preparing of the bare piece; `first` is the card of its first layer, which is called `first_name`.

    `proof` is what the trial of the system chosen for it says. A test `strip` needs no test strip, and no promoter but
    the one of its system.
    """
    ground = ground_of(piece, substrate, cleaners or {})
    log = PrepLog(s for s in piece.steps if s.on_layer is None)
    steps = [
        *_cleaning(ground, log),
        *_tooth(ground, log),
        *(() if strip else _proving(ground, piece, first, proof)),
        *_last(ground, log),
        _promoting(ground, piece, first, first_name or (first.name if first is not None else ""), strip=strip),
    ]
    return _stood(steps, ready=piece.top is None)


HANDLED = timedelta(days=1)
"""From when on a coat counts as handled, and how long a cleaning of it lasts (judgement, no source)."""


def over_plan(
    piece: PieceState,
    name: str,
    now: datetime,
    substrate: Substrate | None = None,
    cleaners: Mapping[str, Cleaner] | None = None,
    *,
    strip: bool = False,
) -> tuple[PlannedStep, ...]:
    """Plan what is done to the layer on top, called `name`, before the next one; () on a bare piece.

    A test `strip` lies untouched between its coats: it is scuffed as it is.
    """
    top = piece.top
    if top is None:
        return ()
    log = PrepLog(piece.steps)
    begun = (top.coats[-1].started_at, top.coats[-1].place)
    since = PrepLog(s for s in piece.steps if s.on_layer == top.id and (s.at, s.place) > begun)
    card = top.last_done.card if top.last_done is not None else None
    span = recoat_span(card, top) if card is not None else None
    goes_on = top.finished and piece.current is not None
    closing = span if goes_on else own_recoat_span(top)
    closed = closing is not None and closing.closes_at is not None and now >= closing.closes_at
    shut = piece.current is None and span is not None and span.closes_at is not None and now >= span.closes_at
    done = None if closed or shut else since.first(SCRATCHED)  # time undoes a scuff from before the window closed
    metallic = card is not None and Trait.METALLIC in card.traits
    told = pw.scuff_later(name) if shut else pw.scuff(name, closed=closed, metallic=metallic)
    dust = _dust(top, card, closed=closed or shut)
    masked, tacked = log.masked(), since.after({Prep.TACK}, SCRATCHED)
    steps: list[_Planned] = []
    if closed and not strip and top.last_done is not None and top.last_done.done_at is not None:
        steps += _clean_paint(since, name, now - top.last_done.done_at, now, substrate, cleaners or {})
    if closed or card is None or card.duty is not Duty.PROMOTER:  # a thin promoter is only rubbed through
        need = Standing.NEXT if closed else Standing.IF_NEEDED
        steps.append(_Planned(Part.SCUFF, Prep.SCUFF, told, need, done=done, cautions=dust))
    if masked is not None:
        steps.append(_Planned(Part.UNMASK, Prep.UNMASK, pw.unmask(), Standing.IF_NEEDED))
    if goes_on:
        steps.append(_Planned(Part.MASK, Prep.MASK, pw.mask_between(), Standing.IF_NEEDED, done=masked))
        steps.append(_Planned(Part.TACK, Prep.TACK, pw.tack_between(name), Standing.NEXT, done=tacked))
    waits = top.open_coat is not None or (span is not None and now < span.opens_at)
    return _stood(steps, ready=not waits)


def _dust(top: LayerState, card: Card | None, *, closed: bool) -> tuple[str, ...]:
    """Caution for the dust of the layer on top: for what its own cards name always, else where it has to be sanded."""
    named = {h for c in top.coats if c.card is not None for h in hazards_at((Moment.SAND,), c.card.hazards)}
    if Hazard.CHROMATE in named:
        return (pw.caution_chromate(),)
    return (pw.caution_dust(),) if closed or named or card is None else ()


def ground_of(piece: PieceState, substrate: Substrate, cleaners: Mapping[str, Cleaner]) -> pw.Ground:
    """Say what of this piece decides how it is prepared."""
    clear, shape = piece.piece.face is Face.BEHIND_CLEAR, frozenset(piece.piece.shape)
    return pw.Ground(substrate=substrate, clear=clear, shape=shape, cleaners=cleaners)


def next_of(plan: Sequence[PlannedStep]) -> PlannedStep | None:
    """Give the step that is next."""
    return next((s for s in plan if s.state is Standing.NEXT), None)


def step_for(plan: Sequence[PlannedStep], step: Prep) -> PlannedStep | None:
    """Give the planned step that logging `step` would be: the next one of that kind, else the last; None for none."""
    same = [s for s in plan if s.step is step]
    return next((s for s in same if s.state in (Standing.NEXT, Standing.LATER)), same[-1] if same else None)


def cleaner_for(substrate: Substrate, step: Prep) -> str | None:
    """Name the cleaner for a step: one that is safe for the material, never a harmful one; None where none is known."""
    harmful = frozenset(substrate.harmful)
    if step is Prep.WASH:
        order: tuple[str, ...] = _WATER
    elif step is Prep.RELEASE_WASH:
        order = ("release-wash", *_WATER)
    elif step is Prep.DEGREASE:
        order = _ZINC if Nature.ZINC in substrate.natures else _STRONG if substrate.material in _HARD else _GENTLE
    else:
        return None
    known = substrate.safe or (() if Nature.POROUS in substrate.natures else _WATER)
    return next((a for a in order if a in known and a not in harmful), None)


def water_tells(substrate: Substrate) -> bool:
    """Whether a film of water that breaks tells of dirt on this material."""
    soaks = bool(substrate.natures & {Nature.POROUS, Nature.TAKES_UP_WATER})
    return substrate.material in _TELLING and not soaks and not substrate.refuses_paint


# --- the steps of a bare piece ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Planned:
    """A step before it is known what is next. `need` is NEXT for one that has to be done."""

    part: Part
    step: Prep | None
    told: pw.Told
    need: Standing
    agent: str | None = None
    grit: tuple[int, int] | None = None
    done: Step | None = None
    done_at: datetime | None = None
    cautions: tuple[str, ...] = ()
    name: str = ""


def _clean_paint(
    since: PrepLog,
    name: str,
    age: timedelta,
    now: datetime,
    substrate: Substrate | None,
    cleaners: Mapping[str, Cleaner],
) -> Iterable[_Planned]:
    """Plan the cleaning of paint that was handled, before it is abraded: dirt is not to be ground in."""
    if age < HANDLED:
        return
    spared = substrate.harmful if substrate is not None else ()
    agent = _PAINT_STANDS if _PAINT_STANDS not in spared else None
    told = pw.clean_paint(name, pw.agent_name(agent, cleaners) if agent is not None else "")
    clean = since.after({Prep.WASH, Prep.DEGREASE})
    clean = clean if clean is not None and now - clean.at < HANDLED else None
    caution = (say("Wear gloves: they keep the cleaner off your skin and your skin off the piece."),)
    yield _Planned(Part.DEGREASE, Prep.DEGREASE, told, Standing.NEXT, agent=agent, done=clean, cautions=caution)


def _cleaning(ground: pw.Ground, log: PrepLog) -> Iterable[_Planned]:
    substrate = ground.substrate
    washing = cleaner_for(substrate, Prep.WASH)
    washed = log.first({Prep.WASH, Prep.RELEASE_WASH})
    told = pw.wash(ground, washing)
    name = "" if washing is not None else say("Brush off")
    yield _Planned(Part.WASH, Prep.WASH, told, Standing.NEXT, agent=washing, done=washed, name=name)
    release = cleaner_for(substrate, Prep.RELEASE_WASH)
    off = log.first({Prep.RELEASE_WASH})
    if substrate.moulded or not substrate.known:
        told = pw.release_wash(ground, release)
        yield _Planned(Part.RELEASE_WASH, Prep.RELEASE_WASH, told, Standing.NEXT, agent=release, done=off)
    else:
        yield _Planned(Part.RELEASE_WASH, Prep.RELEASE_WASH, pw.no_release_wash(), Standing.NOT_HERE, done=off)
    if substrate.material is Material.PAINT and not ground.clear:
        stripped, caution = log.after({Prep.STRIP}), pw.caution_sanding(ground)
        yield _Planned(Part.STRIP, Prep.STRIP, pw.strip(), Standing.IF_NEEDED, done=stripped, cautions=(caution,))
    agent = cleaner_for(substrate, Prep.DEGREASE)
    clean, told = log.first({Prep.DEGREASE}, {Prep.STRIP}), pw.degrease(ground, agent, abraded=_abraded(ground))
    cautions = (pw.caution_cleaning(ground, agent), *_blowing(ground))
    yield _Planned(Part.DEGREASE, Prep.DEGREASE, told, Standing.NEXT, agent=agent, done=clean, cautions=cautions)
    if ground.soaks:
        dried = log.first({Prep.DRY}, {Prep.WASH, Prep.RELEASE_WASH, Prep.WATER_BREAK})
        yield _Planned(Part.DRY, Prep.DRY, pw.dry(ground), Standing.NEXT, done=dried)


def _tooth(ground: pw.Ground, log: PrepLog) -> Iterable[_Planned]:
    substrate, tells = ground.substrate, water_tells(ground.substrate)
    rubbed = log.after(SCRATCHED, {Prep.STRIP})
    abraded = _abraded(ground)
    if abraded:
        grit = None if Shape.TEXTURED in ground.shape else substrate.grit
        told, caution = pw.abrade(ground, grit), pw.caution_sanding(ground)
        yield _Planned(Part.ABRADE, Prep.ABRADE, told, Standing.NEXT, grit=grit, done=rubbed, cautions=(caution,))
    else:
        yield _Planned(Part.ABRADE, Prep.ABRADE, pw.no_abrade(ground), Standing.NOT_HERE, done=rubbed)
    water = log.water()
    broke = tells and water is not None and water.passed is False
    if abraded or rubbed is not None or broke:
        agent, clean = cleaner_for(substrate, Prep.DEGREASE), log.clean_since(tells=tells)
        clean = clean if rubbed is not None or broke else None
        told = pw.degrease_again(ground, agent, broke=broke)
        cautions = (pw.caution_cleaning(ground, agent), *_blowing(ground))
        again = say("Degrease again")
        yield _Planned(
            Part.DEGREASE_AGAIN, Prep.DEGREASE, told, Standing.NEXT, agent, None, clean, None, cautions, again
        )
    if tells:
        passed = water if water is not None and water.passed is not False else None
        need = Standing.NEXT if substrate.material in _HARD else Standing.IF_NEEDED
        yield _Planned(Part.WATER_BREAK, Prep.WATER_BREAK, pw.water_break(), need, done=passed)
    else:
        yield _Planned(Part.WATER_BREAK, Prep.WATER_BREAK, pw.no_water_break(ground), Standing.NOT_HERE, done=water)


def _abraded(ground: pw.Ground) -> bool:
    return ground.substrate.known and (
        Route.TOOTH in ground.routes or (not ground.clear and bool(ground.substrate.grit))
    )


def _proving(
    ground: pw.Ground, piece: PieceState, first: Card | None, proof: Proof | None = None
) -> Iterable[_Planned]:
    substrate, need = ground.substrate, Standing.NEXT
    if not substrate.known or nothing_holds(substrate):
        told = on_strip.trial(ground)
    elif unnamed_paint(substrate, piece.piece.known):
        isolated = first is not None and locks_in(first)
        told, need = on_strip.trial_old_paint(isolated=isolated), Standing.IF_NEEDED if isolated else Standing.NEXT
    elif proof is not None:
        told, need = on_strip.trial(ground), Standing.IF_NEEDED
    else:
        return
    at = proved_at(piece, proof)
    if proof is not None and proof.decides(piece):
        told = on_strip.trial_chosen(told, proof.system.name, proof.trial.plan.name, proof.against, proof.to_do)
    yield _Planned(Part.TRIAL, None, told, need, done_at=at, name=say("Test strip"))


def _last(ground: pw.Ground, log: PrepLog) -> Iterable[_Planned]:
    yield _Planned(Part.MASK, Prep.MASK, pw.mask(), Standing.IF_NEEDED, done=log.masked())
    undone = {*SCRATCHED, Prep.STRIP, Prep.WASH, Prep.RELEASE_WASH, Prep.DEGREASE, Prep.WATER_BREAK}
    tacked, told = log.after({Prep.TACK}, undone), pw.tack(ground)
    yield _Planned(Part.TACK, Prep.TACK, told, Standing.NEXT, done=tacked, cautions=_blowing(ground))


def _blowing(ground: pw.Ground) -> tuple[str, ...]:
    return (pw.caution_blowing(),) if ground.nooks else ()


def _promoting(ground: pw.Ground, piece: PieceState, first: Card | None, name: str, *, strip: bool) -> _Planned:
    substrate = ground.substrate
    primed = first is not None and first.duty is Duty.PRIMER and Route.PRIMER in ground.routes
    asked = not strip and (substrate.refuses_paint or (ground.routes[:1] == (Route.PROMOTER,) and not primed))
    planned = first is not None and first.duty is Duty.PROMOTER
    title = say("Promoter")
    if planned:
        layer = piece.layers[0] if piece.layers else None
        at = _finished_at(layer)
        told = pw.promote(ground, name, asked=asked)
        return _Planned(Part.PROMOTE, None, told, Standing.NEXT, done_at=at, name=title)
    if asked:
        return _Planned(Part.PROMOTE, None, pw.promote(ground, "", asked=True), Standing.NEXT, name=title)
    told = on_strip.no_promote_on_strip() if strip else pw.no_promote(ground)
    return _Planned(Part.PROMOTE, None, told, Standing.NOT_HERE, name=title)


def _finished_at(layer: LayerState | None) -> datetime | None:
    last = layer.last_done if layer is not None and layer.finished else None
    return last.done_at if last is not None else None


def _stood(steps: Sequence[_Planned], *, ready: bool) -> tuple[PlannedStep, ...]:
    """Give each step its state: the first that is needed and not done is next, where the piece is `ready` for one."""
    found: list[PlannedStep] = []
    for planned in steps:
        at = planned.done.at if planned.done is not None else planned.done_at
        state = planned.need
        if at is not None and state is not Standing.NOT_HERE:
            state = Standing.DONE
        elif state is Standing.NEXT and not ready:
            state = Standing.LATER
        elif state is Standing.NEXT:
            ready = False
        found.append(_planned_step(planned, state, at))
    return _once(found)


def _planned_step(planned: _Planned, state: Standing, at: datetime | None) -> PlannedStep:
    told = planned.told
    return PlannedStep(
        part=planned.part,
        step=planned.step,
        name=planned.name or (pw.step_name(planned.step) if planned.step is not None else ""),
        words=told.words,
        reason=told.reason,
        source=told.source,
        state=state,
        agent=planned.agent,
        grit=planned.grit,
        done_at=at,
        cautions=planned.cautions,
        logged=planned.done,
    )


def _once(steps: Sequence[PlannedStep]) -> tuple[PlannedStep, ...]:
    """Say each caution once in a plan, at the first step that has it and is still to be done."""
    said: set[str] = set()
    told = []
    for step in steps:
        over = step.state in (Standing.DONE, Standing.NOT_HERE)
        left = () if over else tuple(c for c in step.cautions if c not in said)
        told.append(replace(step, cautions=left))
        if step.state is not Standing.IF_NEEDED:
            said.update(left)
    return tuple(told)
