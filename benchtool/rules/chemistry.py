"""Chemistry: which film may go over which, and when."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime

from benchtool.job.cards import Chemistry, Duty
from benchtool.rules import chemistrytime
from benchtool.rules.finding import PRACTICE, SHEET, Cause, Facts, Family, Finding, Pairing, Severity, cause, key, left
from benchtool.rules.ground import go_and_test, grounds
from benchtool.rules.meetings import Meeting, ends_at, meetings, zinc_rich
from benchtool.trade.saying import say

FAMILY = Family("chemistry", [*chemistrytime.FAMILY.rules])

SEALERS = (Duty.SEALER, Duty.PRIMER, Duty.PROMOTER, Duty.FILLER)

LIFTING = "published coating defect guides, “lifting”, and the table of pairings with its sources"
ETCHED = "published refinish procedures: no epoxy primer, body filler or topcoat straight over etch primer; "
ETCHED += "the table of pairings"


# --- the table of pairings -------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class _Paired:
    """A meeting that the table speaks of, and until when: None for good, or where nothing below is on yet."""

    met: Meeting
    pairing: Pairing
    until: datetime | None

    @property
    def lasting(self) -> bool:
        """Whether no waiting helps."""
        return self.pairing.during is self.pairing.during.ALWAYS


Chosen = Callable[[Chemistry, Chemistry], bool]

RULES: dict[str, Chosen] = {
    "lacquer-over-enamel": lambda over, under: over is Chemistry.LACQUER and under is Chemistry.ENAMEL,
    "waterborne-over-enamel": lambda over, under: over is Chemistry.ACRYLIC and under is Chemistry.ENAMEL,
    "two-part-over-enamel": lambda over, under: (
        under is Chemistry.ENAMEL and over in (Chemistry.URETHANE, Chemistry.EPOXY, Chemistry.POLYESTER, Chemistry.UV)
    ),
    "hard-over-soft": lambda over, under: (
        under in (Chemistry.ACRYLIC, Chemistry.LACQUER)
        and over in (Chemistry.ENAMEL, Chemistry.EPOXY, Chemistry.POLYESTER)
    ),
    "lacquer-over-waterborne": lambda over, under: over is Chemistry.LACQUER and under is Chemistry.ACRYLIC,
    "epoxy-over-etch": lambda over, under: over is Chemistry.EPOXY and under is Chemistry.ETCH,
    "filler-over-etch": lambda over, under: over is Chemistry.POLYESTER and under is Chemistry.ETCH,
    "etch-over-paint": lambda over, _: over is Chemistry.ETCH,
}
"""Which rule speaks of which row of the table; each row belongs to one."""


def rule_for(over: Chemistry, under: Chemistry) -> str | None:
    """Give the rule that speaks of this pair, None where none does."""
    return next((name for name, chosen in RULES.items() if chosen(over, under)), None)


def _paired(facts: Facts, name: str) -> list[_Paired]:
    by_rule = facts.settled("pairings", lambda: _by_rule(facts))
    return by_rule.get(name, [])


def _by_rule(facts: Facts) -> dict[str, list[_Paired]]:
    found: dict[str, list[_Paired]] = {}
    for met in meetings(facts):
        over, under = met.chemistries
        if met.card.duty is Duty.FILLER and under is Chemistry.ETCH:
            over = Chemistry.POLYESTER  # whatever its resin, a thick filler over the acid lets go
        pairing = facts.tables.pairings.get((over, under)) if over is not None and under is not None else None
        name = rule_for(pairing.over, pairing.under) if pairing is not None else None
        if pairing is None or name is None or met.allowed():
            continue
        found.setdefault(name, []).append(_Paired(met, pairing, ends_at(met, pairing)))
    return found


def _speak(facts: Facts, name: str) -> Iterator[Finding]:
    """Say what the table has of each meeting that a rule speaks of, while it is to be feared."""
    for paired in _paired(facts, name):
        met, pairing, until = paired.met, paired.pairing, paired.until
        went_on = met.began is not None
        moment = met.began or facts.now
        if not paired.lasting and (until is None or moment >= until or (not went_on and not met.due)):
            continue
        named = {"layer": facts.state.layer_name(met.over), "below": facts.state.layer_name(met.under)}
        named["what"] = say(pairing.what)
        remedy = say(pairing.remedy)
        if went_on:
            message = say("{layer} went on over {below}: {what}.", **named)
            remedy = say("Look for lifting, wrinkles and cracks, and let it harden fully before you go on.")
        elif until is not None:
            message = say("{layer} over {below}: {what} ({time} to go).", time=left(until, facts.now), **named)
        else:
            message = say("{layer} over {below}: {what}.", **named)
        if pairing.barrier and not went_on and met.card.duty not in SEALERS:
            remedy += " " + say("A sealer between them helps, where its card allows both.")
        severity = Severity.CAUTION if went_on else pairing.severity
        yield met.finding(f"chemistry.{name}", severity, message, remedy, clears_at=None if went_on else until)


@FAMILY.rule(
    "lacquer-over-enamel",
    Severity.STOP,
    title="Lacquer over enamel",
    reason="Lacquer solvent swells an enamel that is still hardening: it lifts and wrinkles within minutes.",
    source=LIFTING,
    remedy="Let the enamel harden through. Where the lacquer is on already, look for lifting, wrinkles and cracks, "
    "and let it harden fully before you go on.",
)
def lacquer_over_enamel(facts: Facts) -> Iterator[Finding]:
    """A lacquer goes over an enamel before that has cured, or did."""
    yield from _speak(facts, "lacquer-over-enamel")


@FAMILY.rule(
    "two-part-over-enamel",
    Severity.STOP,
    title="Two-part or lamp-cured paint over enamel",
    reason="The solvent of a two-part paint swells an enamel that is still hardening, and its hard film shuts it in.",
    source=LIFTING,
    remedy="Let the enamel harden through, or try both on a strip first; an epoxy or a filler belongs under an "
    "enamel. Where it is on already, look for lifting, wrinkles and cracks, and let it harden fully before you go on.",
)
def two_part_over_enamel(facts: Facts) -> Iterator[Finding]:
    """A urethane, epoxy, polyester or lamp-cured film goes over an enamel before that has cured, or did."""
    yield from _speak(facts, "two-part-over-enamel")


@FAMILY.rule(
    "waterborne-over-enamel",
    Severity.CAUTION,
    title="Waterborne paint over enamel",
    reason="Water does not wet an oily film: waterborne paint crawls on a young enamel and comes off with tape.",
    source=PRACTICE,
    remedy="Let the enamel harden through, scuff it, and degrease it. Where the waterborne paint is on already, look "
    "for lifting, wrinkles and cracks, and let it harden fully before you go on.",
)
def waterborne_over_enamel(facts: Facts) -> Iterator[Finding]:
    """A waterborne paint goes over an enamel before that has cured, or did."""
    yield from _speak(facts, "waterborne-over-enamel")


@FAMILY.rule(
    "lacquer-over-waterborne",
    Severity.CAUTION,
    title="Lacquer over waterborne paint",
    reason="Lacquer solvent bites into a waterborne film that has not hardened: it crazes or lifts.",
    source=LIFTING,
    remedy="Let the waterborne colour harden through. Where the lacquer is on already, look for lifting, wrinkles and "
    "cracks, and let it harden fully before you go on.",
)
def lacquer_over_waterborne(facts: Facts) -> Iterator[Finding]:
    """A lacquer goes over a waterborne acrylic before that has cured, or did."""
    yield from _speak(facts, "lacquer-over-waterborne")


@FAMILY.rule(
    "hard-over-soft",
    Severity.CAUTION,
    timed=False,
    title="Hard film over a soft one",
    reason="A hard film can't follow a softer one under it: it cracks in a pattern, sooner or later.",
    source="Master Painters Institute, glossary of defects, “alligatoring”; the table of pairings",
    remedy="Take a paint no harder than what lies under it; put epoxy and filler on the bare piece first.",
)
def hard_over_soft(facts: Facts) -> Iterator[Finding]:
    """A hard film is planned over a soft one, or lies on it."""
    yield from _speak(facts, "hard-over-soft")


@FAMILY.rule(
    "epoxy-over-etch",
    Severity.STOP,
    timed=False,
    title="Epoxy over etch primer",
    reason="The amines that harden an epoxy are eaten by the acid of an etch primer: it stays soft where they touch.",
    source=ETCHED,
    remedy="Put the epoxy on bare abraded metal, or a primer that its card allows over the etch.",
)
def epoxy_over_etch(facts: Facts) -> Iterator[Finding]:
    """An epoxy is planned over an acid-etch primer, or lies on it."""
    yield from _speak(facts, "epoxy-over-etch")


@FAMILY.rule(
    "filler-over-etch",
    Severity.STOP,
    timed=False,
    title="Filler over etch primer",
    reason="A filler over an etch primer does not harden at the acid, and comes off in one piece later.",
    source=ETCHED,
    remedy="Put the filler on bare or epoxy-primed metal, or a primer that its card allows over the etch.",
)
def filler_over_etch(facts: Facts) -> Iterator[Finding]:
    """A filler is planned over an acid-etch primer, or lies on it."""
    yield from _speak(facts, "filler-over-etch")


@FAMILY.rule(
    "etch-over-paint",
    Severity.CAUTION,
    timed=False,
    title="Etch primer over paint",
    reason="An etch primer holds by its acid working on bare metal; over paint the acid stays in the film.",
    source="how wash primers work (formerly MIL-C-8514 and DOD-P-15328); the table of pairings",
    remedy="Keep the etch for spots of bare metal, and put another primer on the rest.",
)
def etch_over_paint(facts: Facts) -> Iterator[Finding]:
    """An acid-etch primer is planned over another layer, or lies on it."""
    yield from _speak(facts, "etch-over-paint")


# --- what the table has not ------------------------------------------------------------------------------


def _said(facts: Facts, met: Meeting) -> dict[str, object]:
    return {"layer": facts.state.layer_name(met.over), "below": facts.state.layer_name(met.under)}


@FAMILY.rule(
    "enamel-over-zinc-rich",
    Severity.STOP,
    timed=False,
    title="Oil enamel over zinc-rich primer",
    reason="Zinc turns the oil of an alkyd or oil enamel into soap, in a zinc-rich primer as on galvanised steel.",
    source="published guides to painting zinc: no alkyd or oil paint straight on zinc or zinc-rich primer",
    remedy="Put a tie coat between them, such as an epoxy that its card allows there. Where the enamel is on already, "
    "test it for adhesion before anything goes over it.",
)
def enamel_over_zinc_rich(facts: Facts) -> Iterator[Finding]:
    """An enamel is planned over a zinc-rich primer, or lies on it."""
    for met in meetings(facts):
        if met.card.chemistry is not Chemistry.ENAMEL or not zinc_rich(met.below) or met.allowed():
            continue
        went_on = met.began is not None
        yield met.finding(
            "chemistry.enamel-over-zinc-rich",
            Severity.CAUTION if went_on else Severity.STOP,
            say("{layer} is an oil enamel over {below}, which is full of zinc.", **_said(facts, met)),
            go_and_test()
            if went_on
            else say("Put a tie coat between them, such as an epoxy that its card allows there."),
        )


@FAMILY.rule(
    "acid-over-zinc-rich",
    Severity.CAUTION,
    timed=False,
    title="Acid over zinc-rich primer",
    reason="Acid eats the zinc dust that protects the steel, and the gas of it blisters the film.",
    source=f"{PRACTICE}; zinc dissolves in acid",
    remedy="Take a primer without acid over the zinc; where it is on already, test it for adhesion.",
)
def acid_over_zinc_rich(facts: Facts) -> Iterator[Finding]:
    """An acid-etch or acid-catalysed product is planned over a zinc-rich primer, or lies on it."""
    for met in meetings(facts):
        acid = met.card.chemistry is Chemistry.ETCH or "acid catalysed" in met.card.traits
        if not acid or not zinc_rich(met.below) or met.allowed():
            continue
        yield met.finding(
            "chemistry.acid-over-zinc-rich",
            Severity.CAUTION,
            say("{layer} holds acid, and {below} is full of zinc.", **_said(facts, met)),
            go_and_test() if met.began is not None else say("Take a primer without acid over the zinc."),
        )


@FAMILY.rule(
    "peroxide-bleed",
    Severity.CAUTION,
    timed=False,
    title="Colour straight over polyester filler",
    reason="Peroxide left in a polyester filler bleaches and stains the colour over it, often only in the sun.",
    source=PRACTICE,
    remedy="Put a primer or a sealer between them, and weigh the peroxide next time. Where colour is on already, look "
    "at it again after a week of light; a sealer and another coat of colour mend it.",
)
def peroxide_bleed(facts: Facts) -> Iterator[Finding]:
    """A colour or a clear is planned straight over a polyester filler, or lies on it."""
    for met in meetings(facts):
        over_filler = met.below.chemistry is Chemistry.POLYESTER and met.card.duty in (Duty.BASE, Duty.CLEAR)
        if not over_filler or met.allowed():
            continue
        yield met.finding(
            "chemistry.peroxide-bleed",
            Severity.CAUTION,
            say("{layer} lies straight on {below}: its peroxide bleeds through.", **_said(facts, met)),
            say("Look at it again after a week of light; a sealer and another coat of colour mend it.")
            if met.began is not None
            else say("Put a primer or a sealer between them, and weigh the peroxide next time."),
        )


@FAMILY.rule(
    "sandwich",
    Severity.CAUTION,
    timed=False,
    title="Lacquer on enamel on lacquer",
    reason="Lacquer solvent goes through an enamel and swells the lacquer under it: the enamel wrinkles between.",
    source="published coating defect guides, “lifting”: enamel sealer over lacquer, topcoated with lacquer",
    remedy="Leave the enamel out, or take one for the last layer too. Where the lacquer is on already, look for "
    "wrinkles, and let it harden fully before you go on.",
)
def sandwich(facts: Facts) -> Iterator[Finding]:
    """A lacquer is planned, or lies, on an enamel that lies on a lacquer."""
    over_enamel = [m for m in meetings(facts) if m.chemistries == (Chemistry.LACQUER, Chemistry.ENAMEL)]
    if not over_enamel:
        return
    on_lacquer = {m.over.id for m in meetings(facts) if m.chemistries == (Chemistry.ENAMEL, Chemistry.LACQUER)}
    for met in over_enamel:
        if met.under.id not in on_lacquer:
            continue
        yield met.finding(
            "chemistry.sandwich",
            Severity.CAUTION,
            say("{layer} lies on {below}, with lacquer under that again.", **_said(facts, met)),
            say("Look for wrinkles, and let it harden fully before you go on.")
            if met.began is not None
            else say("Leave the enamel out, or take one for the last layer too."),
        )


@FAMILY.rule(
    "only-over",
    Severity.STOP,
    timed=False,
    title="Not on the undercoat that its card asks for",
    reason="Some products are made for one undercoat and hold on no other.",
    source=SHEET,
    remedy="Plan what its card asks for under it, or another product. Where it is on already, test it for adhesion "
    "before anything goes over it.",
)
def only_over(facts: Facts) -> Iterator[Finding]:
    """A card says what must lie directly under it, and something else does, or nothing."""
    for met in meetings(facts):
        if not met.card.only_over or met.allowed():
            continue
        named = {**_said(facts, met), "others": _cards(facts, met.card.only_over)}
        yield met.finding(
            "chemistry.only-over",
            Severity.CAUTION if met.began is not None else Severity.STOP,
            say("{layer} goes only over {others} by its card, and {below} is under it.", **named),
            go_and_test() if met.began is not None else say("Plan {others} under it, or another product.", **named),
        )
    for ground in grounds(facts):
        if ground.card is None or not ground.card.only_over:
            continue
        named = {"layer": facts.state.layer_name(ground.first), "others": _cards(facts, ground.card.only_over)}
        yield Finding(
            rule="chemistry.only-over",
            severity=Severity.CAUTION if ground.begun else Severity.STOP,
            piece=ground.piece.id,
            layer=ground.first.id,
            message=say("{layer} goes only over {others} by its card, and nothing is under it.", **named),
            remedy=go_and_test() if ground.begun else say("Plan {others} under it, or another product.", **named),
            key=key("chemistry.only-over", ground.first.id),
            cause=cause(Cause.PAIRING, ground.first.id),
            forbids_coat=not ground.begun,
        )


def _cards(facts: Facts, ids: tuple[str, ...]) -> str:
    cards = facts.state.cards
    return say(" or ").join(cards[i].name if i in cards else f"“{i}”" for i in ids)
