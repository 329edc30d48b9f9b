"""What keeps a film flexible has to be poured, not only written into the recipe of the cup."""

import pytest
from builders import URETHANE, JobBuilder, minutes


def sprayed(*pours: tuple[str, float]) -> JobBuilder:
    bench = JobBuilder().card(URETHANE).piece("strip", "pvc", flex="flexible")
    bench.layer("clear", URETHANE, 2, activator="hard", additives=("flex",)).mix("clear")
    for part, mL in pours:
        bench.pour(part, mL)
    return bench.stir("activated").coats(2, apart=minutes(20))


@pytest.mark.parametrize(
    ("pours", "missing"),
    [
        ([("base", 30.0), ("activator", 15.0), ("Flex additive", 3.0)], False),
        ([("base", 30.0), ("activator", 15.0)], True),
        ([], False),  # nothing is logged of what went in: the recipe is taken to be kept
    ],
)
def test_a_coat_without_the_additive_is_told_after_its_cup_is_empty(
    pours: list[tuple[str, float]], missing: bool
) -> None:
    assert ("promoter.flex-additive-missing" in sprayed(*pours).empty().rules()) is missing
