"""A piece that was prepared by its own plan gives the rules of cleaning and tooth nothing to say."""

import pytest
from builders import EPOXY, POLYOLEFIN, WATERBORNE, JobBuilder

from benchtool.job.cards import Card
from benchtool.job.events import Prep, Shape
from benchtool.job.prepplan import next_of
from benchtool.rules.finding import Severity
from benchtool.rules.preparing import plan_of
from benchtool.session.tables import load_tables

TABLES = load_tables()
TOOTH = {"surface.no-tooth"}


def prepared(substrate: str, card: Card, face: str, *shape: Shape) -> JobBuilder:
    """Do all that the plan asks for, a step every five minutes."""
    known = "told" if TABLES.substrates[substrate].known else "unknown"
    bench = JobBuilder(tables=TABLES).card(card).piece("part", substrate, face=face, shape=shape, known=known)
    bench.layer("first", card, activator=card.activators[0].id if card.activators else None)
    for _ in range(20):
        step = next_of(plan_of(bench.state, bench.state.pieces["part"], TABLES, bench.now))
        if step is None or step.part.value == "promote":
            break
        bench.wait(minutes=5)
        if step.step is None:
            bench.trial(held=True)
            continue
        passed = True if step.step is Prep.WATER_BREAK else None
        bench.prep(step.step.value, agent=step.agent, grit=step.grit[1] if step.grit else None, passed=passed)
    return bench


@pytest.mark.parametrize("substrate", TABLES.substrates)
def test_the_plan_of_a_piece_answers_the_rules_on_preparing_it(substrate: str) -> None:
    for card in (EPOXY, POLYOLEFIN, WATERBORNE):
        for face in ("outside", "behind clear"):
            for shape in ((), (Shape.TEXTURED,), (Shape.NOOKS,)):
                found = prepared(substrate, card, face, *shape).findings()
                against = [f for f in found if f.rule.startswith("cleaning.") and f.severity is not Severity.NOTE]
                assert [f.message for f in against] == []
                assert [f.message for f in found if f.rule in TOOTH] == []
