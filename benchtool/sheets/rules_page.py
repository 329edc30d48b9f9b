"""All rules in words: for the page of rules in the window, the command line and the manual, made from the rules."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from textwrap import fill

from benchtool.job.shoprules import ShopRule, SkippedRule
from benchtool.rules.engine import ALL
from benchtool.rules.finding import Rule, Tables
from benchtool.rules.own import THEIRS
from benchtool.rules.ownterms import rule_words
from benchtool.sheets.values import Values
from benchtool.trade.saying import say

OWN = "shop"
"""The family of the painter's own rules."""


@dataclass(frozen=True, slots=True)
class RuleLine:
    """A rule in words: what it is about, how grave it can be, why it exists, where that comes from, and what to do.

    One of the painter's own has its name as `title`, the `words` it is told in, and perhaps no `remedy`; its reason is
    the rule, read back.
    """

    id: str
    family: str
    severity: str
    title: str
    reason: str
    source: str
    remedy: str
    words: str = ""

    @property
    def is_own(self) -> bool:
        """Whether it is one of the painter's own."""
        return self.family == OWN


def family_words(family: str) -> str:
    """Name a family of rules as a heading."""
    words = {
        "promoter": say("Promoter and activator"),
        "surface": say("The surface"),
        "cleaning": say("Cleaning"),
        "chemistry": say("What goes over what"),
        "mixing": say("Mixing"),
        "lots": say("Cans and stock"),
        "timing": say("Timing"),
        "layering": say("Layers and their order"),
        "film": say("Film and flexibility"),
        "tape": say("Tape"),
        "air": say("Air"),
        "card": say("The product card"),
        "safety": say("Safety"),
        "trial": say("Trials"),
        "record": say("The record"),
        "own": say("The file of your own rules"),
        OWN: say("Your own rules"),
    }
    return words.get(family, family.capitalize())


def built_in() -> tuple[RuleLine, ...]:
    """Give the rules of the tool, family by family."""
    order = list(dict.fromkeys(rule.family for rule in ALL))
    return tuple(_line(rule) for rule in sorted(ALL, key=lambda r: order.index(r.family)))


def _line(rule: Rule) -> RuleLine:
    return RuleLine(
        id=rule.id,
        family=rule.family,
        severity=rule.severity.value,
        title=say(rule.title),
        reason=say(rule.reason),
        source=say(rule.source),
        remedy=say(rule.remedy),
    )


def lines(tables: Tables) -> tuple[RuleLine, ...]:
    """Give all rules, the painter's own first."""
    names = {s.id: s.name for s in tables.substrates.values()}
    return (*(own_line(rule, names) for rule in tables.shop_rules), *built_in())


def own_line(rule: ShopRule, names: dict[str, str]) -> RuleLine:
    """Put one of the painter's own rules into a line; `names` are the substrates' by id."""
    return RuleLine(
        id=f"{OWN}.{rule.id}",
        family=OWN,
        severity=rule.weight.value,
        title=rule.name,
        reason=rule_words(rule, names),
        source=rule.source or THEIRS,
        remedy=rule.remedy,
        words=rule.words,
    )


def matching(found: Iterable[RuleLine], words: str) -> tuple[RuleLine, ...]:
    """Pick the rules that hold all of these words, anywhere and in any case."""
    asked = words.lower().split()
    return tuple(line for line in found if all(word in _searched(line) for word in asked))


def _searched(line: RuleLine) -> str:
    parts = (
        line.title,
        line.id,
        family_words(line.family),
        line.severity,
        line.words,
        line.reason,
        line.remedy,
        line.source,
    )
    return " ".join(parts).lower()


# --- on paper ----------------------------------------------------------------------------------------


def rules_answer(found: Sequence[RuleLine], skipped: Sequence[SkippedRule]) -> Values:
    """Give the rules as values for scripts."""
    return {
        "rules": [
            {
                "id": line.id,
                "title": line.title,
                "family": line.family,
                "severity": line.severity,
                "reason": line.reason,
                "remedy": line.remedy,
                "source": line.source,
                "own": line.is_own,
                **({"words": line.words} if line.is_own else {}),
            }
            for line in found
        ],
        "skipped": [{"name": rule.name, "message": rule.why, "place": rule.place} for rule in skipped],
    }


def rules_text(found: Sequence[RuleLine], skipped: Sequence[SkippedRule]) -> str:
    """Write the rules for a reader in a terminal."""
    said: list[str] = []
    family = ""
    for line in found:
        if line.family != family:
            family = line.family
            said.append(f"{family_words(family)}\n")
        said.append(_block(line))
    if skipped:
        said.append(f"{say('Skipped')}\n")
        said += [_indented(_skipped_words(rule)) + "\n" for rule in skipped]
    return "\n".join(said) if said else say("No rule holds these words.") + "\n"


def _block(line: RuleLine) -> str:
    parts = [line.words, line.reason]
    if line.remedy:
        parts.append(say("What to do: {remedy}", remedy=line.remedy))
    parts.append(say("Source: {source}.", source=line.source.rstrip(".")))
    parts.append(say("Its name: {rule}", rule=line.id))
    return "\n".join([f"  {line.title} ({line.severity})", *(_indented(part) for part in parts if part)]) + "\n"


def _indented(text: str) -> str:
    return fill(" ".join(text.split()), 100, initial_indent="    ", subsequent_indent="    ", break_on_hyphens=False)


def _skipped_words(rule: SkippedRule) -> str:
    where = f" ({rule.place})" if rule.place else ""
    return f"{rule.name}: {rule.why}{where}" if rule.name else rule.why


_ABOUT = (
    "What the bench looks at, {n} rules in all, each with its reason and where that comes from. A *stop* asks "
    "for one deliberate act and a reason, and goes into the record; a *caution* is worth a look before you go "
    "on; a *note* is good to know. No rule ever keeps you from saving. The words are general: where a rule "
    "speaks on a job it names the piece, the layer and the numbers. What can hurt you is told by the product's "
    "safety data sheet, your local code and licensed practice, never by these rules alone."
)


def rules_page() -> str:
    """Write the manual's page of the rules, in Markdown, from the rules themselves."""
    found = built_in()
    made = "This page is made from the rules themselves: `benchtool rules --page`."
    said = ["# The rules", "", _ABOUT.format(n=len(found)), "", made]
    family = ""
    for line in found:
        if line.family != family:
            family = line.family
            said += ["", f"## {family_words(family)}"]
        said += ["", f"**{_plain(line.title)}** ({line.severity}). {_plain(line.reason)}"]
        said.append(f"- What to do: {_plain(line.remedy)}")
        said.append(f"- Source: {_plain(line.source.rstrip('.'))}.")
        said.append(f"- Its name: `{line.id}`")
    return "\n".join(said) + "\n"


def _plain(text: str) -> str:
    """Keep what Markdown would take for a mark as it is."""
    return "".join(f"\\{c}" if c in "\\`*_[]<>#|" else c for c in " ".join(text.split()))
