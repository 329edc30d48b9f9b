"""The register of cases for the rules, and the panels that most of them begin with."""

from collections.abc import Callable

from builders import CLEAR, COLOUR, PROMOTER, JobBuilder, minutes

Case = Callable[[], JobBuilder]
FAILING: list[tuple[str, Case]] = []
PASSING: list[tuple[str, Case]] = []


def fails(rule: str) -> Callable[[Case], Case]:
    """The job built below must raise `rule`."""
    return lambda case: FAILING.append((rule, case)) or case


def passes(rule: str) -> Callable[[Case], Case]:
    """The job built below comes close to `rule` and must not raise it."""
    return lambda case: PASSING.append((rule, case)) or case


def panel(activator: str | None = "rigid", **piece: str) -> JobBuilder:
    """A clean panel, to be promoted and painted."""
    bench = JobBuilder().card(PROMOTER, COLOUR).piece(**piece).prep("wash", "degrease")
    return bench.layer("promoter", PROMOTER, activator=activator).layer("colour", COLOUR, 2)


def promoted(**piece: str) -> JobBuilder:
    """The same panel with its promoter on, at the end of the last coat."""
    return panel(**piece).ready("promoter").coats(2, apart=minutes(15))


def clear_coated(face: str = "outside") -> JobBuilder:
    """A panel with one coat of clear on, of two planned."""
    bench = JobBuilder().card(CLEAR).piece(face=face).prep("wash").layer("clear", CLEAR, activator="slow")
    return bench.ready().coat()


def coloured(face: str = "outside") -> JobBuilder:
    """A panel with its colour on and the clear planned."""
    bench = JobBuilder().card(COLOUR, CLEAR).piece(face=face).prep("wash").layer("colour", COLOUR, 1)
    return bench.layer("clear", CLEAR, activator="slow").ready("colour").coat()
