"""Rules of the painter's own: data that is looked at, never run.

A rule that looks at the plan alone is asked once for each layer. One that looks at the air, at times or at a cup is
asked for the coat that comes next, and for those that are on as they were when they began. What an elapsed time counts
from is the face that a layer goes on, so that it is asked before the first coat of that layer only.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from benchtool.job.shoprules import Compare, ShopRule, Weight
from benchtool.job.state import LayerState, PieceState
from benchtool.rules.finding import RANK, Facts, Family, Finding, Rule, Severity, key
from benchtool.rules.ownfacts import READERS, Missing, Moment, There
from benchtool.rules.ownterms import Asked, Look, NotUnderstood, noun, rule_words, understood, words_of
from benchtool.trade.numbers import span_words
from benchtool.trade.saying import say

FAMILY = Family("own")

SEVERITY = {Weight.STOP: Severity.STOP, Weight.CAUTION: Severity.CAUTION, Weight.NOTE: Severity.NOTE}
THEIRS = "your own rule"


@FAMILY.rule(
    "skipped",
    Severity.NOTE,
    timed=False,
    title="One of your own rules is skipped",
    reason="A rule of yours that can't be read keeps nothing from going wrong: better to know it than to rely on it.",
    source="your file of rules",
    remedy="Mend it in its file; the page of rules (F2) says where that lies.",
)
def skipped(facts: Facts) -> Iterator[Finding]:
    """A rule of the painter's own names what this tool does not know, or its whole file can't be read."""
    for rule in facts.tables.skipped:
        where = say(" (at {place})", place=rule.place) if rule.place else ""
        why = rule.why.rstrip(".")
        said = say("Your rule “{name}” is skipped: {why}{where}.", name=rule.name, why=_lowered(why), where=where)
        yield Finding(
            rule="own.skipped",
            severity=Severity.NOTE,
            message=said if rule.name else f"{why}.",
            remedy=say("Mend it in its file; the page of rules (F2) says where that lies."),
            key=key("own.skipped", rule.name, rule.place),
        )


def _lowered(text: str) -> str:
    return text if text[1:2].isupper() else f"{text[:1].lower()}{text[1:]}"


def rule_of(finding: Finding) -> Rule:
    """Tell the rule of the painter's own that a finding comes from, by what the finding says of it."""
    return Rule(
        id=finding.rule,
        severity=finding.gravest or finding.severity,
        title=finding.name,
        reason=finding.why,
        source=finding.whence or THEIRS,
        remedy=finding.remedy,
        check=broken,
    )


# --- which rules at which coats --------------------------------------------------------------------


_Understood = tuple[ShopRule, tuple[Asked, ...], tuple[Asked, ...]]
_LATER = 10**9


def broken(facts: Facts) -> list[Finding]:
    """Give what the painter's own rules say; one that can't be understood says nothing."""
    if not facts.tables.shop_rules:
        return []
    rules = facts.settled("own rules", lambda: [r for r in map(_understood, facts.tables.shop_rules) if r is not None])
    found = facts.settled("own findings", lambda: list(_lasting(facts, rules)))
    return found + [f for rule in rules if _at_coats(rule) for f in _of_next(facts, rule)]


def _understood(rule: ShopRule) -> _Understood | None:
    try:
        when, require = (tuple(understood(c) for c in group) for group in (rule.when, rule.require))
    except NotUnderstood:
        return None
    return (rule, when, require) if when or require else None


def _at_coats(rule: _Understood) -> bool:
    return any(a.term.look is not Look.PLAN for a in (*rule[1], *rule[2]))


def _lasting(facts: Facts, rules: list[_Understood]) -> Iterator[Finding]:
    """Ask what time can't change: the plan, and the coats that are on."""
    sprayed = facts.settled("own coats", lambda: list(_sprayed(facts)))
    for rule in rules:
        if not _at_coats(rule):
            for piece, layer in facts.layers():
                yield from _of_plan(facts, rule, piece, layer)
        elif rule[0].weight is not Weight.NOTE:
            found = (_ask(rule, m, m.layer.id, m.number, past=True) for m in sprayed)
            yield from (f for f in found if f is not None)


def _of_plan(facts: Facts, rule: _Understood, piece: PieceState, layer: LayerState) -> Iterator[Finding]:
    moment = _next_coat(facts, piece, layer)
    found = _ask(rule, moment, layer.id, past=layer.finished)
    if found is not None:
        stops = found.severity is Severity.STOP and layer is facts.next_layers()[piece.id]
        yield replace(found, forbids_coat=stops)


def _sprayed(facts: Facts) -> Iterator[Moment]:
    for piece, layer in facts.layers():
        for coat in layer.coats:
            yield Moment(facts, piece, layer, coat.card, coat.number, coat.started_at, coat.place, coat.mix)


def _of_next(facts: Facts, rule: _Understood) -> Iterator[Finding]:
    for piece_id, layer in facts.next_layers().items():
        if layer is None or layer.open_coat is not None:
            continue  # a coat that is being sprayed is past asking
        moment = _next_coat(facts, facts.state.pieces[piece_id], layer)
        found = _ask(rule, moment, layer.id, moment.number, past=False)
        if found is not None:
            yield replace(found, forbids_coat=found.severity is Severity.STOP)


def _next_coat(facts: Facts, piece: PieceState, layer: LayerState) -> Moment:
    mix = facts.state.mix_for(layer)
    card = facts.state.card_of(layer)
    return Moment(
        facts, piece, layer, card, len(layer.coats) + 1, facts.now, _LATER, mix.id if mix is not None else None
    )


# --- whether it is kept ----------------------------------------------------------------------------


def _ask(rule: _Understood, moment: Moment, *places: object, past: bool) -> Finding | None:
    """Ask one rule of one coat, at these places of the job; None where it is kept, or is not about it."""
    shop_rule, when, require = rule
    if any(_holds(a, moment, required=False) is not True for a in when):
        return None
    answers = [(a, _holds(a, moment, required=True)) for a in require]
    wrong, unknown = ([a for a, held in answers if held is what] for what in (False, None))
    if require and not wrong and not unknown:
        return None
    gravest = SEVERITY[shop_rule.weight]
    if require and not wrong:  # what nobody can tell stops nobody
        gravest = _milder(gravest)
    severity = _milder(gravest) if past else gravest
    return Finding(
        rule=f"shop.{shop_rule.id}",
        severity=severity,
        piece=moment.piece.id,
        layer=moment.layer.id,
        message=_message(shop_rule, wrong or unknown or list(when), moment, past=past),
        remedy=_remedy(shop_rule, moment, past=past),
        key=key(f"shop.{shop_rule.id}", *places),
        clears_at=None if past or unknown or not require else _clears_at(wrong, moment),
        cause=f"shop.{shop_rule.id}|{moment.piece.id}",
        name=shop_rule.name,
        why=moment.facts.settled(f"own words {shop_rule.id}", lambda: _words(shop_rule, moment.facts)),
        whence=shop_rule.source or THEIRS,
        gravest=gravest,
    )


def _words(rule: ShopRule, facts: Facts) -> str:
    names = facts.settled("substrate names", lambda: {s.id: s.name for s in facts.tables.substrates.values()})
    return rule_words(rule, names)


def _milder(severity: Severity) -> Severity:
    return max(severity, Severity.CAUTION, key=lambda s: RANK[s])


def _message(rule: ShopRule, wrong: list[Asked], moment: Moment, *, past: bool) -> str:
    words = rule.words if rule.words.rstrip()[-1:] in ".!?" else f"{rule.words.rstrip()}."
    if words.endswith("?"):
        words = f"{words[:-1]}."
    told = [say("Your rule: {words}", words=words)]
    if past:
        told.append(say("It was not kept for {layer}.", layer=moment.facts.state.layer_name(moment.layer)))
    told += [t for t in (_told(a, moment) for a in wrong) if t]
    return " ".join(" ".join(told).split())


def _remedy(rule: ShopRule, moment: Moment, *, past: bool) -> str:
    if rule.remedy:
        return rule.remedy if rule.remedy.rstrip()[-1:] in ".!" else f"{rule.remedy.rstrip()}."
    if past:
        return say("Look at it, and test it, before anything goes over it.")
    return say("Do what your rule asks for before {layer} goes on.", layer=moment.facts.state.layer_name(moment.layer))


def _told(asked: Asked, moment: Moment) -> str:
    """Say what is there instead of what is required; empty where the painter's own words say enough."""
    value, what = READERS[asked.term.id](moment), noun(asked.term)
    what = f"{what[:1].upper()}{what[1:]}"
    if value is None:
        return say("{what} is not known.", what=what)
    if value is Missing.NEVER:
        return say("{what} is not logged.", what=what)
    if isinstance(value, timedelta):
        return say("{what} was {value} ago.", what=what, value=span_words(value.total_seconds()))
    if isinstance(value, int | float):
        return say("{what} is {value}.", what=what, value=words_of(asked.term, value, {}))
    return ""


def _clears_at(wrong: list[Asked], moment: Moment) -> datetime | None:
    """Give when time alone will settle it: where all that is missing is a longer wait."""
    ends = []
    for asked in wrong:
        value, least = READERS[asked.term.id](moment), asked.values[0]
        if (
            asked.compare is not Compare.AT_LEAST
            or not isinstance(value, timedelta)
            or not isinstance(least, timedelta)
        ):
            return None
        ends.append(moment.at + (least - value))
    return max(ends, default=None)


def _holds(asked: Asked, moment: Moment, *, required: bool) -> bool | None:
    """Say whether a condition holds; None where nobody can tell."""
    if asked.term.look is Look.FIRST and moment.number > 1:
        if required:
            return True  # it was asked before the first coat
        first = moment.layer.coats[0]
        moment = replace(moment, number=1, at=first.started_at, place=first.place)
    value = READERS[asked.term.id](moment)
    if value is None:
        return None
    if value is Missing.NOWHERE:
        return required
    if value is Missing.NEVER:
        return required and asked.compare is Compare.AT_LEAST
    return _compared(asked, value)


def _compared(asked: Asked, value: There) -> bool:
    first = asked.values[0]
    match asked.compare:
        case Compare.AT_LEAST:
            return not _below(value, first)
        case Compare.AT_MOST:
            return not _below(first, value)
        case Compare.CONTAINS:
            return any(str(first) in str(text) for text in _texts(value))
        case Compare.IS_NOT:
            return not _among(asked, value)
        case _:
            return _among(asked, value)


def _among(asked: Asked, value: There) -> bool:
    return not value.isdisjoint(asked.values) if isinstance(value, frozenset) else value in asked.values


def _below(a: object, b: object) -> bool:
    if isinstance(a, timedelta) and isinstance(b, timedelta):
        return a < b
    if isinstance(a, int | float) and isinstance(b, int | float):
        return a < b - 1e-9
    raise TypeError(f"{a!r} and {b!r} are not of one kind")


def _texts(value: There) -> frozenset[object]:
    return frozenset(value) if isinstance(value, frozenset) else frozenset([value])
