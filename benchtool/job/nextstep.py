"""What the painter's hands do next: on a cup, on a layer, on a piece."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from benchtool.job.cards import Card, CardTime, Trait
from benchtool.job.events import Prep, Stirred
from benchtool.job.prepplan import Part, PlannedStep
from benchtool.job.state import LayerState, Mix, PieceState, State
from benchtool.job.windows import FOR_GOOD, recoat_span, stand_span
from benchtool.trade.mixing import PartKind, fractions, parse_share, reduction_of, size_in_cup
from benchtool.trade.numbers import clock_words, pour_figure


class CupAct(StrEnum):
    """What a cup asks for."""

    POUR = "pour"
    MEND = "mend"
    STIR = "stir"
    WAIT = "wait"
    READY = "ready"


@dataclass(frozen=True, slots=True, kw_only=True)
class CupStep:
    """The next step at a cup: a pour or mend has its amount, a stir its kind, a wait its end."""

    act: CupAct
    words: str
    part: str = ""
    amount_mL: float = 0.0
    stir: Stirred | None = None
    until: datetime | None = None


def amount_for(mix: Mix, part: str) -> float:
    """Give the amount (mL) of `part` to pour now.

    The base is poured up to the size wanted; every later part is measured by what is really in the cup, so
    that a cup stopped short of its size still comes out right.
    """
    shares = fractions(mix.parts)
    have = [mix.poured_mL.get(p.name) for p in mix.parts]
    i = next(i for i, p in enumerate(mix.parts) if p.name == part)
    in_cup = size_in_cup(shares, have)
    only_base = all(h is None or p.kind is PartKind.BASE for p, h in zip(mix.parts, have, strict=True))
    size = max(mix.made.make_mL, in_cup) if mix.parts[i].kind is PartKind.BASE and only_base else in_cup
    return max(0.0, shares[i] * (size or mix.made.make_mL) - (have[i] or 0.0))


def out_of_ratio(card: Card, mix: Mix) -> set[str]:
    """Name the parts that are off their share; a reducer is judged by the range its card gives for the gun."""
    amiss = set()
    for part, check in zip(mix.parts, mix.checks, strict=True):
        if check.within:
            continue
        allowed = card.reduction(mix.made.gun) if part.kind is PartKind.REDUCER else None
        if allowed is not None and check.poured_mL is not None:
            shares = parse_share(allowed.least), parse_share(allowed.most)
            low, high = (s.value * reduction_of(mix.parts, s, mix.poured_mL) for s in shares)
            if low * (1 - 1e-9) <= check.poured_mL <= high * (1 + 1e-9):
                continue
        amiss.add(part.name)
    return amiss


def cup_step(card: Card, mix: Mix, now: datetime) -> CupStep:
    """Say what this cup asks for at `now`."""
    poured = mix.poured_mL
    if not out_of_ratio(card, mix):
        for part in mix.parts:
            if part.kind is PartKind.REDUCER and part.name not in poured:
                before = _before_reducing(card, mix, now)
                if before is not None:
                    return before
            if part.name not in poured:
                amount = amount_for(mix, part.name)
                return CupStep(
                    act=CupAct.POUR,
                    part=part.name,
                    amount_mL=amount,
                    words=f"Pour {pour_figure(amount)} mL {part.name}",
                )
    else:
        poured_parts = [c for c in mix.checks if c.poured_mL is not None]
        worst = max(poured_parts, key=lambda c: c.add_mL)
        return CupStep(
            act=CupAct.MEND,
            part=worst.name,
            amount_mL=worst.add_mL,
            words=f"Add {pour_figure(worst.add_mL)} mL {worst.name} to mend it",
        )
    last = last_stir(mix)
    if last not in mix.stirred or any(p.at > mix.stirred[last] for p in mix.pours):
        return CupStep(act=CupAct.STIR, stir=last, words="Stir it well, scraping the sides")
    return _standing(card, mix, now) or CupStep(act=CupAct.READY, words="Ready to spray")


def _before_reducing(card: Card, mix: Mix, now: datetime) -> CupStep | None:
    if card.stand is None or not mix.has(PartKind.ACTIVATOR):
        return None
    if Stirred.ACTIVATED not in mix.stirred:
        return CupStep(act=CupAct.STIR, stir=Stirred.ACTIVATED, words="Stir it well, scraping the sides")
    return _standing(card, mix, now)


def _standing(card: Card, mix: Mix, now: datetime) -> CupStep | None:
    stand = stand_span(card, mix)
    if stand is None or now >= stand[0].opens_at:
        return None
    until = stand[0].opens_at
    left = clock_words((until - now).total_seconds()) if until < FOR_GOOD else "until the air is better"
    return CupStep(act=CupAct.WAIT, until=until, words=f"Let it stand {left} before you {stand[1]}")


def last_stir(mix: Mix) -> Stirred:
    """Say what the cup holds when it is stirred for the last time."""
    if mix.has(PartKind.REDUCER):
        return Stirred.REDUCED
    return Stirred.ACTIVATED if mix.has(PartKind.ACTIVATOR) else Stirred.BASE


class Act(StrEnum):
    """What a piece asks for."""

    PREP = "prep"
    PLAN = "plan"
    MIX = "mix"
    COAT = "coat"
    FINISH_COAT = "finish coat"
    WAIT = "wait"
    DONE = "done"


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """The next step at a piece, in a sentence and in a few words; `due_at` ends a wait, None where it does not end."""

    act: Act
    words: str
    short: str = ""
    layer: str | None = None
    coat: int | None = None
    due_at: datetime | None = None

    @property
    def hands(self) -> bool:
        """Whether the painter's hands are needed now."""
        return self.act not in (Act.WAIT, Act.DONE)


CLEANING = frozenset({Prep.WASH, Prep.RELEASE_WASH, Prep.DEGREASE, Prep.ABRADE, Prep.DRY, Prep.WATER_BREAK})
"""What has to be done before a cup is begun; the last dust comes off right before the coat."""


def next_step(state: State, piece: PieceState, now: datetime, prep: PlannedStep | None = None) -> NextStep:
    """Say what `piece` asks for at `now`; `prep` is what its prep plan has next, where the plan is known."""
    if not piece.layers:
        return NextStep(act=Act.PLAN, words="Plan its layers")
    proving = prep is not None and prep.part is Part.TRIAL
    if prep is not None and (prep.step in CLEANING or proving) and piece.top is None and not piece.layers[0].mixes:
        return NextStep(act=Act.PREP, words=prep.brief, short=prep.name, layer=piece.layers[0].id)
    if piece.top is None and not piece.steps:
        return NextStep(act=Act.PREP, words="Wash and degrease it", short="Clean it", layer=piece.layers[0].id)
    layer = piece.current
    if layer is None:
        return NextStep(act=Act.DONE, words="All coats are on")
    name, n = state.layer_name(layer), layer.coats_done + 1
    if layer.open_coat is not None:
        number = layer.open_coat.number
        return NextStep(
            act=Act.FINISH_COAT,
            words=f"Spraying coat {number} of {name}",
            short=f"Spraying coat {number}",
            layer=layer.id,
            coat=number,
        )
    due = _coat_due(piece, layer)
    if due is not None and now < due:
        left = clock_words((due - now).total_seconds()) if due < FOR_GOOD else "until the air is better"
        what = f"coat {n}" if layer.started else name
        words = f"Wait {left} before {what}"
        comes = due if due < FOR_GOOD else None
        return NextStep(act=Act.WAIT, words=words, layer=layer.id, coat=n, due_at=comes)
    mix = state.mix_for(layer)
    if mix is None and prep is not None and _opens_again(piece, prep):
        return NextStep(act=Act.PREP, words=prep.brief, short=prep.name, layer=layer.id)
    card = mix.card or state.card_of(layer) if mix is not None else None  # a cup goes by the card it was begun by
    if card is None or mix is None:
        return NextStep(act=Act.MIX, words=f"Mix {name}", layer=layer.id, coat=n)
    cup = cup_step(card, mix, now)
    if cup.act is CupAct.WAIT:
        comes = cup.until if cup.until is not None and cup.until < FOR_GOOD else None
        return NextStep(act=Act.WAIT, words=cup.words, layer=layer.id, coat=n, due_at=comes)
    if cup.act is not CupAct.READY and not layer.started:
        short = {CupAct.POUR: f"Pour {cup.part}", CupAct.MEND: "Mend the mix", CupAct.STIR: "Stir it"}.get(cup.act, "")
        return NextStep(act=Act.MIX, words=cup.words, short=short, layer=layer.id, coat=n)
    words = f"Spray coat {n} of {name}"
    return NextStep(act=Act.COAT, words=words, short=f"Spray coat {n}", layer=layer.id, coat=n)


def _opens_again(piece: PieceState, prep: PlannedStep) -> bool:
    """Whether this is what a closed recoat window asks for: before a cup is begun, or its pot life runs meanwhile.

    A metallic is not: one more coat of it covers a scuff.
    """
    last = piece.top.last_done if piece.top is not None else None
    metallic = last is not None and last.card is not None and Trait.METALLIC in last.card.traits
    return last is not None and prep.part in (Part.DEGREASE, Part.SCUFF) and not metallic


def _coat_due(piece: PieceState, layer: LayerState) -> datetime | None:
    """When the next coat of `layer` may go on: by its own flash, or the recoat of the layer under it."""
    last = layer.last_done
    if last is not None and last.done_at is not None:
        if last.card is None or last.card.flash is None:
            return None
        return layer.ends(last.done_at, last.card.flash, last.card, CardTime.FLASH, last)
    under = piece.under(layer)
    below = under.last_done if under is not None else None
    under_card = below.card if below is not None else None
    span = recoat_span(under_card, under) if under is not None and under_card is not None else None
    return span.opens_at if span is not None else None
