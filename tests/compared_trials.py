"""Trials that were graded, for the tests of how they are compared."""

from collections.abc import Mapping, Sequence
from datetime import timedelta

from builders import URETHANE, JobBuilder
from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import Card, Duty
from benchtool.trade.substrates import Flex

TWO_PART = "Two-part promoter"
ONE_PART = "One-part promoter"
CLEAR = "Clear as primer, 48 h cure"
NONE = "No promoter"

PROMOTER = replace(URETHANE, id="promoter", name="Promoter", duty=Duty.PROMOTER, two_part=False, activators=())
COLOUR = replace(URETHANE, id="colour", name="Colour", duty=Duty.BASE, two_part=False, activators=())

Grades = Mapping[str, Mapping[ev.Method, Sequence[str]]]


def plan_of(
    systems: Sequence[str],
    each: int = 1,
    *,
    control: str | None = None,
    methods: Sequence[ev.Method] = (ev.Method.PLAIN_TAPE, ev.Method.STICK, ev.Method.NAIL),
    ageing: Sequence[ev.Ageing] = (),
    piece: str | None = None,
) -> ev.Trial:
    """A trial whose strips lie by replicate: s1 of each system, then s2 of each, twelve on a panel."""
    strips = [
        ev.Strip(piece=f"s{s}-{r}", system=f"sys{s}", replicate=r + 1, panel=1 + n // 12, place=n % 12)
        for n, (r, s) in enumerate((r, s) for r in range(each) for s in range(len(systems)))
    ]
    return ev.Trial(
        id="t1",
        name="Clear shell",
        systems=tuple(ev.System(id=f"sys{s}", name=name, control=name == control) for s, name in enumerate(systems)),
        strips=tuple(strips),
        methods=tuple(methods),
        ageing=tuple(ageing),
        piece=piece,
    )


def begun(plan: ev.Trial, *, painted: bool = True, cards: Sequence[Card] = (PROMOTER, COLOUR)) -> JobBuilder:
    """A job with the piece “Shell” and the strips of a trial, each painted (the controls without the first card)."""
    b = JobBuilder().add(ev.JobDescribed, title="A shell").card(*cards).piece("shell", "unknown", known="unknown")
    for card in cards:
        b.layer(f"shell-{card.id}", card, 1)
    numbers = {s.piece: i for i, s in enumerate(sorted(plan.strips, key=lambda s: (s.panel, s.place)), 1)}
    controls = {s.id for s in plan.systems if s.control}
    for strip in plan.strips:
        made = ev.Piece(
            id=strip.piece, name=f"Strip {numbers[strip.piece]}", substrate="unknown", known=ev.Known.UNKNOWN,
            flex=Flex.RIGID, strip_of=plan.id, batch="roll 7",
        )  # fmt: skip
        b.add(ev.PieceAdded, piece=made)
        b._piece = strip.piece
        for card in cards[1:] if strip.system in controls else cards:
            b.layer(f"{strip.piece}-{card.id}", card, 1)
    b.add(ev.TrialPlanned, trial=plan)
    for strip in plan.strips if painted else ():
        for layer in b.state.pieces[strip.piece].layers:
            b.coat(layer.id, mix=None)
    return b


def graded(b: JobBuilder, plan: ev.Trial, grades: Grades, *, after: timedelta = timedelta(days=8)) -> JobBuilder:
    """Wait, then give grades: by system's name and method, one for each replicate; "" for none."""
    b.wait(seconds=after.total_seconds())
    for system in plan.systems:
        for method, codes in grades.get(system.name, {}).items():
            mine = [s for s in plan.strips if s.system == system.id]
            for strip, code in zip(sorted(mine, key=lambda s: s.replicate), codes, strict=False):
                if code:
                    b.add(ev.Graded, trial=plan.id, strip=strip.piece, method=method, grade=code)
    return b


def shell() -> tuple[JobBuilder, ev.Trial]:
    """Four strips on a clear shell: all hold plain tape, scratches tell them apart. Common practice, no source."""
    plan = plan_of((ONE_PART, NONE, TWO_PART, CLEAR), control=NONE, piece="shell")
    return graded(begun(plan), plan, SHELL_GRADES), plan


def _row(tape: str, stick: str, nail: str) -> dict[ev.Method, tuple[str]]:
    return {ev.Method.PLAIN_TAPE: (tape,), ev.Method.STICK: (stick,), ev.Method.NAIL: (nail,)}


SHELL_GRADES: Grades = {
    TWO_PART: _row("5", "4", "4"),
    CLEAR: _row("5", "3", "3"),
    ONE_PART: _row("5", "2", "2"),
    NONE: _row("5", "0", "1"),
}


def worn(systems: int = 12, each: int = 4) -> tuple[JobBuilder, ev.Trial]:
    """An ugly one: many systems with long names, every method, ageing, a missing grade here and there."""
    names = [
        f"System {i}: an adhesion promoter of a very long name for olefins, wet on wet {i}" for i in range(systems)
    ]
    ageing = (ev.Ageing(kind=ev.AgeingKind.WATER, lasts=timedelta(hours=24)), ev.Ageing(kind=ev.AgeingKind.FLEX))
    plan = plan_of(names, each, control=names[3], methods=tuple(ev.Method), ageing=ageing)
    from benchtool.trade.grades import codes

    def some(i: int, method: ev.Method) -> list[str]:
        every = codes(method)
        return ["" if (i + k) % 11 == 0 else every[(i * 5 + k * 3) % len(every)] for k in range(each)]

    grades = {name: {m: some(i, m) for m in ev.Method} for i, name in enumerate(names)}
    return graded(begun(plan), plan, grades), plan
