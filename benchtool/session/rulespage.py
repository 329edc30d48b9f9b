"""What the page of rules shows, and how a rule that the painter writes is read."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from benchtool.job.shoprules import Compare, Condition, ShopRule, Weight
from benchtool.rules import own
from benchtool.rules.engine import every
from benchtool.rules.finding import Facts, Finding, Tables
from benchtool.rules.ownterms import (
    TERMS,
    Kind,
    NotUnderstood,
    Term,
    condition_words,
    faults,
    noun,
    rule_words,
    understood,
)
from benchtool.session.cardfields import Reader, Wrong, clean, free_slug
from benchtool.session.document import Document
from benchtool.session.shoprules import OwnRules
from benchtool.sheets.rules_page import OWN, RuleLine, built_in, family_words, matching, own_line
from benchtool.trade.saying import say, say_n

MOST = 6
"""More conditions than this nobody keeps in mind (judgement); a file may hold more."""
WHEN, REQUIRE = "when", "require"
GROUPS = (WHEN, REQUIRE)


def names_of(tables: Tables) -> dict[str, str]:
    """Give the substrates' names by id."""
    return {s.id: s.name for s in tables.substrates.values()}


# --- the list ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the list: the rule's id, what it is about, and its family and gravity."""

    key: str
    name: str
    detail: str


def rows(rules: OwnRules, tables: Tables, words: str = "") -> tuple[Row, ...]:
    """List the painter's own rules, those that are skipped, and the tool's; only those that hold all `words`."""
    names = names_of(tables)
    mine = [own_line(rule, names) for rule in rules.rules]
    skipped = [
        Row(f"skipped:{i}", _skipped_name(rule.name), " ".join(x for x in (rule.why, rule.place) if x))
        for i, rule in enumerate(rules.skipped)
    ]
    asked = words.lower().split()
    shown = [row for row in skipped if all(w in f"{row.name} {row.detail}".lower() for w in asked)]
    return (
        *(_row(line) for line in matching(mine, words)),
        *shown,
        *(_row(line) for line in matching(built_in(), words)),
    )


def _skipped_name(name: str) -> str:
    return say("Skipped: {name}", name=name) if name else say("Skipped: the file of your rules")


def _row(line: RuleLine) -> Row:
    return Row(line.id, line.title, f"{family_words(line.family)}, {line.severity}")


@dataclass(frozen=True, slots=True)
class Detail:
    """A rule in full. `now` is what it says on the job in hand; `own_id` is the id of one of the painter's own."""

    heading: str
    about: str
    family: str = ""
    remedy: str = ""
    source: str = ""
    now: tuple[str, ...] = ()
    rule_id: str = ""
    own_id: str = ""


def detail(key: str, rules: OwnRules, tables: Tables, found: Sequence[Finding]) -> Detail | None:
    """Give the rule of this key in full, `found` being what stands on the job; None where there is none."""
    kind, _, number = key.partition(":")
    if kind == "skipped":
        return _skipped(rules, int(number))
    names = names_of(tables)
    lines = (*(own_line(rule, names) for rule in rules.rules), *built_in())
    line = next((x for x in lines if x.id == key), None)
    if line is None:
        return None
    said = tuple(dict.fromkeys(_said(f) for f in every(found) if f.rule == key))
    return Detail(
        heading=line.title,
        family=f"{family_words(line.family)}, {line.severity}",
        about=f"{line.words}\n{line.reason}" if line.is_own else line.reason,
        remedy=line.remedy,
        source=line.source,
        now=said,
        rule_id=line.id,
        own_id=line.id.partition(".")[2] if line.is_own else "",
    )


def _said(finding: Finding) -> str:
    if finding.waived:
        return say("{message} (waived)", message=finding.message)
    return finding.message


def _skipped(rules: OwnRules, number: int) -> Detail | None:
    if number >= len(rules.skipped):
        return None
    rule = rules.skipped[number]
    where = say("Place: {place}", place=rule.place) if rule.place else ""
    how = say("Mend it there, in the file of your rules; the other rules work meanwhile.")
    return Detail(_skipped_name(rule.name), rule.why, remedy=how, source=where)


# --- a rule as it is written -------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ConditionText:
    """A condition as it is chosen and typed; `values` are those chosen of a list."""

    of: str = ""
    how: str = ""
    typed: str = ""
    values: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RuleText:
    """A rule as it is typed; `rule_id` is that of the one that is changed, empty for a new one."""

    rule_id: str = ""
    name: str = ""
    weight: str = Weight.CAUTION.value
    words: str = ""
    remedy: str = ""
    source: str = ""
    when: tuple[Condition, ...] = ()
    require: tuple[Condition, ...] = ()
    editing: ConditionText = field(default_factory=ConditionText)

    def group(self, name: str) -> tuple[Condition, ...]:
        """Give one of the two groups of conditions."""
        return self.when if name == WHEN else self.require

    def with_group(self, name: str, conditions: Sequence[Condition]) -> "RuleText":
        """Give the rule with other conditions in one of its groups."""
        return replace(self, when=tuple(conditions)) if name == WHEN else replace(self, require=tuple(conditions))


def write_rule(rule: ShopRule) -> RuleText:
    """Give a rule as it is typed."""
    return RuleText(
        rule_id=rule.id,
        name=rule.name,
        weight=rule.weight.value,
        words=rule.words,
        remedy=rule.remedy,
        source=rule.source,
        when=rule.when,
        require=rule.require,
    )


def read_rule(text: RuleText, taken: Sequence[str], substrates: Mapping[str, object]) -> ShopRule:
    """Read a rule; a new one gets an id of its own, none of `taken`.

    Raises:
        Wrong: it has no name, no words or no condition, or one that can't be understood.
    """
    wrong: list[tuple[str, str]] = []
    reader = Reader(wrong)
    name = reader.name("name", text.name, say("Give the rule a name."))
    words = reader.text("words", text.words, say("Write what you want to be told."), 1_000)
    rule = ShopRule(
        id=text.rule_id or free_slug(name or "rule", taken),
        name=name or "rule",
        weight=Weight(text.weight),
        when=text.when,
        require=text.require,
        words=words or "-",
        remedy=clean(text.remedy)[:4_000],
        source=text.source,
    )
    wrong += [("conditions", message) for _, message in faults(rule, substrates)]
    if wrong:
        raise Wrong(wrong)
    return rule


def read_condition(text: ConditionText, substrates: Mapping[str, object]) -> Condition:
    """Read a condition.

    Raises:
        Wrong: nothing is chosen, or the value can't be read; by the field, `of`, `how` or `value`.
    """
    term = TERMS.get(text.of)
    if term is None:
        raise Wrong([("of", say("Choose what to look at."))])
    how = next((c for c in term.compares if c.value == text.how), term.compares[0])
    given = text.values if offered(term, substrates) else tuple(v.strip() for v in text.typed.split(",") if v.strip())
    if how is not Compare.ONE_OF:
        given = given[:1] if offered(term, substrates) else (text.typed.strip(),)
    if term.kind is Kind.SUBSTRATE and not given:
        raise Wrong([("value", say("Choose the substrate from the list."))])
    value = given if how is Compare.ONE_OF else given[0] if given else ""
    condition = Condition(of=term.id, is_=how.value, value=value)
    try:
        asked = understood(condition)
    except NotUnderstood as fault:
        raise Wrong([("value", str(fault))]) from None
    missing = [v for v in asked.values if term.kind is Kind.SUBSTRATE and v not in substrates]
    if missing:
        raise Wrong([("value", say("Choose the substrate from the list."))])
    return condition


def write_condition(condition: Condition) -> ConditionText:
    """Give a condition as it is chosen and typed."""
    values = condition.value if isinstance(condition.value, tuple) else (str(condition.value),)
    asked = understood(condition)
    chosen = tuple(str(v) for v in asked.values) if asked.term.kind in (Kind.CHOICE, Kind.SUBSTRATE) else ()
    return ConditionText(asked.term.id, asked.compare.value, ", ".join(values), chosen)


def offered(term: Term, substrates: Mapping[str, object]) -> tuple[str, ...]:
    """Give the values to choose from; none where the value is typed."""
    return tuple(substrates) if term.kind is Kind.SUBSTRATE else term.choices


def terms() -> Iterator[tuple[str, str]]:
    """Give what a rule may look at: the name in the file, and how it is said."""
    for term in TERMS.values():
        words = noun(term)
        yield term.id, f"{words[:1].upper()}{words[1:]}"


def conditions_words(text: RuleText, tables: Tables) -> tuple[tuple[str, str], ...]:
    """Say each condition of a rule: its key (`when:0`) and its words."""
    names, said = names_of(tables), []
    for group in GROUPS:
        for i, condition in enumerate(text.group(group)):
            words = condition_words(understood(condition), names, required=group == REQUIRE)
            said.append((f"{group}:{i}", f"{words[:1].upper()}{words[1:]}"))
    return tuple(said)


def sentence(text: RuleText, tables: Tables) -> str:
    """Read back the rule as it is typed; empty while it has no condition."""
    return rule_words(_trial(text), names_of(tables))


def _trial(text: RuleText) -> ShopRule:
    words = clean(text.words)[:1_000] or say("(your words)")
    return ShopRule(
        id="trial", name="trial", weight=Weight(text.weight), when=text.when, require=text.require, words=words,
        remedy=clean(text.remedy)[:4_000],
    )  # fmt: skip


def tried(text: RuleText, document: Document | None, tables: Tables, now: datetime) -> tuple[str, ...]:
    """Say what the rule as it is typed would tell of a job now."""
    if not text.when and not text.require:
        return (say("Add a condition to see what the rule would say."),)
    if document is None:
        return (say("No job is open to try it on."),)
    facts = Facts(document.job, document.state, now, replace(tables, shop_rules=(_trial(text),)))
    found = own.broken(facts)
    if not found:
        return (say("On this job it would say nothing now."),)
    told = [say_n("On this job it would speak once:", "On this job it would speak {n} times:", len(found))]
    for finding in found[:3]:
        layer = document.state.layers.get(finding.layer or "")
        piece = document.state.pieces[finding.piece or ""].piece.name
        where = f"{piece}: {document.state.layer_name(layer)}" if layer is not None else piece
        told.append(f"{where} ({finding.severity.value}). {finding.message}")
    return tuple(told)


def own_id(rule_id: str) -> str:
    """Give the id in the painter's file of the rule that a finding names; empty for one of the tool's."""
    family, _, name = rule_id.partition(".")
    return name if family == OWN else ""
