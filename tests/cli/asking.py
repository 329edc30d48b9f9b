"""Answers of the command line, caught in strings, and a small job to ask about."""

import io
import json
import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from benchtool.cli import run
from benchtool.job import events as ev
from benchtool.job.cards import Activator, Card, Duty, Gun, Hazard, RecipePart, Reduction
from benchtool.job.record import Job
from benchtool.job.shop import Shop
from benchtool.rules.finding import Tables
from benchtool.session.library import CardLibrary
from benchtool.trade.mixing import PartKind
from benchtool.trade.quantities import Measures
from benchtool.trade.substrates import Flex, Substrate, Suits

START = datetime(2026, 11, 25, 13, 0, tzinfo=UTC)
MEASURES = Measures()
CAUTION = "Gloves and supplied air, as the safety data sheet says."
TABLES = Tables(
    substrates={
        "abs": Substrate(id="abs", name="ABS", flex=Flex.RIGID, refuses_paint=False, moulded=True, source="test"),
        "unknown": Substrate(
            id="unknown", name="unknown", flex=None, refuses_paint=False, moulded=True, source="test", known=False
        ),
    },
    cautions={Hazard.ISOCYANATES: CAUTION},
)


@dataclass(frozen=True)
class Said:
    """What a command said."""

    status: int
    out: str
    err: str

    @property
    def values(self) -> dict:
        """The answer as strict JSON: one object and a newline, no NaN, no key twice."""
        assert self.out.endswith("}\n")

        def once(pairs):
            assert len({k for k, _ in pairs}) == len(pairs)
            return dict(pairs)

        def never(name):
            raise AssertionError(f"{name} is no JSON")

        values = json.loads(self.out, object_pairs_hook=once, parse_constant=never)
        assert isinstance(values, dict)
        assert_sound(values)
        return values


def assert_sound(value: object) -> None:
    """Every null has a reason beside it and every number is one."""
    if isinstance(value, dict):
        if None in value.values():
            assert isinstance(value["why"], str)
            assert value["why"].strip()
        for each in value.values():
            assert_sound(each)
    elif isinstance(value, list):
        for each in value:
            assert_sound(each)
    elif isinstance(value, float):
        assert math.isfinite(value)


def assert_contract(said: Said) -> None:
    """Hold what is true of every answer: its status, and one line on standard error only for input that is no use."""
    assert said.status in (0, 1, 2)
    if said.status == 2:
        assert said.out == ""
        assert said.err.endswith("\n")
        assert len(said.err.splitlines()) == 1
        assert said.err.strip()
        assert "Traceback" not in said.err
    else:
        assert said.err == ""
        assert said.out


def minutes(n: float) -> datetime:
    """Give the instant `n` minutes after the start."""
    return START + timedelta(minutes=n)


def ask(
    *argv: str,
    now: datetime = START,
    job: Callable[[str], object] | None = None,
    shop: Shop | None = None,
    stdin: str | None = None,
    library: CardLibrary | None = None,
) -> Said:
    """Ask `benchtool argv` at `now`; `job` opens the job, None where nobody should ask for one."""

    def nobody(name: str) -> Job:
        raise AssertionError(f"nobody asked for {name}")

    out, err = io.StringIO(), io.StringIO()
    status = run(
        argv,
        now=lambda: now,
        tables=lambda: TABLES,
        measures=lambda: MEASURES,
        open_job=job or nobody,
        out=out,
        err=err,
        shop=(lambda: shop) if shop is not None else None,
        stdin=io.StringIO(stdin) if stdin is not None else None,
        library=(lambda: library) if library is not None else None,
    )
    said = Said(status, out.getvalue(), err.getvalue())
    assert_contract(said)
    return said


BASE = Card(
    id="silver",
    name="Silver base",
    duty=Duty.BASE,
    origins={"*": "made up for this test"},
    two_part=True,
    activators=(Activator(id="slow", name="Slow activator", suits=Suits.ANY, share="2 % of base"),),
    reductions=(Reduction(gun=Gun.AIRBRUSH, least="50 % of base", usual="1:1 of activated", most="150 % of base"),),
    coats_least=1,
    coats_most=3,
    stand=timedelta(minutes=10),
    pot_life=timedelta(hours=4),
    flash=timedelta(minutes=10),
    recoat_opens=timedelta(minutes=30),
    recoat_closes=timedelta(hours=2),
    tape=timedelta(hours=24),
    cure=timedelta(days=7),
    hazards=(Hazard.ISOCYANATES,),
)
CLEAR = Card(
    id="gloss",
    name="Gloss clear",
    duty=Duty.CLEAR,
    origins={"*": "made up for this test"},
    coats_least=2,
    flash=timedelta(minutes=15),
)


def tank(*more: ev.Event, demo: bool = False, note: str = "", title: str = "Tank", schema: int = 1) -> Job:
    """Write the record of a tank: cleaned, its base mixed at minute 5 and its first coat done at minute 30."""
    parts = (
        RecipePart(name="Silver base", kind=PartKind.BASE, share="100"),
        RecipePart(name="Slow activator", kind=PartKind.ACTIVATOR, share="2 % of base"),
        RecipePart(name="Reducer", kind=PartKind.REDUCER, share="1:1 of activated"),
    )
    tank_ = ev.Piece(id="p1", name="Fuel tank", substrate="abs", known=ev.Known.MARKED, flex=Flex.RIGID)
    base = ev.Layer(id="l1", card="silver", coats=2, activator="slow")
    clear = ev.Layer(id="l2", card="gloss", coats=2, name="Top clear")
    events = (
        ev.JobDescribed(id="e1", at=minutes(0), title=title, customer="A customer"),
        ev.CardCopied(id="e2", at=minutes(0), card=BASE),
        ev.CardCopied(id="e3", at=minutes(0), card=CLEAR),
        ev.PieceAdded(id="e4", at=minutes(0), piece=tank_),
        ev.LayerAdded(id="e5", at=minutes(0), piece="p1", layer=base),
        ev.LayerAdded(id="e6", at=minutes(0), piece="p1", layer=clear),
        ev.PrepDone(id="e7", at=minutes(1), piece="p1", step=ev.Prep.RELEASE_WASH),
        ev.PrepDone(id="e8", at=minutes(2), piece="p1", step=ev.Prep.DEGREASE),
        ev.Mixed(
            id="e9",
            at=minutes(5),
            mix="m1",
            layer="l1",
            card="silver",
            gun=Gun.AIRBRUSH,
            make_mL=204,
            parts=parts,
            activator="slow",
        ),
        ev.Poured(id="e10", at=minutes(5), mix="m1", part="Silver base", mL=100),
        ev.Poured(id="e11", at=minutes(6), mix="m1", part="Slow activator", mL=2),
        ev.MixStirred(id="e12", at=minutes(7), mix="m1", what=ev.Stirred.ACTIVATED),
        ev.Poured(id="e13", at=minutes(18), mix="m1", part="Reducer", mL=102),
        ev.MixStirred(id="e14", at=minutes(19), mix="m1", what=ev.Stirred.REDUCED),
        ev.CoatStarted(id="e15", at=minutes(25), layer="l1", mix="m1"),
        ev.CoatDone(id="e16", at=minutes(30), layer="l1"),
        *more,
    )
    return Job(format="bench job", schema=schema, id="tank", created=START, demo=demo, note=note, events=events)
