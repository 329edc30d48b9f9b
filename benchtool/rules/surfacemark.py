"""The rule of surface that holds what is moulded on a piece against what it is said to be made of."""

from collections.abc import Iterator

from benchtool.rules.finding import Cause, Facts, Family, Finding, Severity
from benchtool.rules.ground import Ground, grounds
from benchtool.trade.markreading import parse
from benchtool.trade.marks import MarkTable, substrates_for
from benchtool.trade.saying import say

FAMILY = Family("surface")


@FAMILY.rule(
    "mark-disagrees",
    Severity.CAUTION,
    timed=False,
    title="The moulded mark names another material",
    reason="The moulded mark is the maker's own word on the plastic: where it says another, one of the two is wrong.",
    source="ISO 11469, generic identification and marking of plastics products",
    remedy="Read the mark again in raking light, and choose the material that it names.",
)
def mark_disagrees(facts: Facts) -> Iterator[Finding]:
    """The mark on the piece names another material than was chosen for it; a mark that can't be read says nothing."""
    marks = facts.tables.marks
    for ground in grounds(facts) if marks is not None else ():
        if marks is None or not ground.piece.piece.mark or not ground.substrate.known or not ground.open:
            continue
        other = _other(facts, marks(), ground)
        if not other:
            continue
        named = {"piece": ground.name, "material": ground.substrate.name, "mark": ground.piece.piece.mark}
        yield ground.finding(
            "surface.mark-disagrees",
            Severity.CAUTION,
            say("{piece} is marked “{mark}”, which is {other} and not {material}.", other=other, **named),
            say("Read the mark again in raking light, and choose the material that it names."),
            Cause.MATERIAL,
        )


def _other(facts: Facts, table: MarkTable, ground: Ground) -> str:
    """Name what the mark means first, "" where it may mean what was chosen, or nothing that the table has."""
    substrates = facts.tables.substrates
    meant = substrates_for(parse(ground.piece.piece.mark, table), substrates.values())
    return "" if not meant or ground.substrate.id in meant else substrates[meant[0]].name
