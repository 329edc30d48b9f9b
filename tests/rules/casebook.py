"""The case book: whole pieces of work in shorthand, and what a painter would expect to be told of each.

A row names the material (with how it is known, whether it bends, which face is painted), the stack from the bottom
up, and what was done, in order:

    abs marked            the material; then any of flexible, rigid, behind, marked, told, guessed, unknown, textured,
                          nooks, joined=ID, mark=TEXT
    epoxy base:3 clear+flex:2 promoter2k/rigid#2
                          layers: product, its additive, its activator, `#2` for a second layer of it, coats
    release wash abrade@600 wash=water-detergent tack
                          steps of cleaning, with a grade or a cleaner; `beads` and `sheets` are the water break
    air20/50/15           a reading: air, humidity, surface;  held, lost: a strip;  heat60, cool
    mix:clear pour:base=40 stir:activated metal:filler
                          a cup by hand;  cup:clear  a cup exactly by its card, stand included;  empty
    clear. clear* clear?  one coat;  the whole layer by the book up to its recoat;  a coat with no cup on record
    can:clear/activator/270/a   a can in hand: product, part, days since it was opened, its lot
    film:clear=60 10m 2h 3d

What is expected is the set of rules that stop and the set that caution, each by itself, and how many lines are shown
of them. The countdowns of the bench (a coat that still flashes) are no findings in this sense.
"""

import re
from dataclasses import fields
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

from builders import JobBuilder
from rules.casebook_cards import CARDS

from benchtool.job.cards import Card
from benchtool.job.events import Face, Shape
from benchtool.rules.engine import every
from benchtool.rules.finding import Finding, Severity, Tables
from benchtool.session.tables import load_tables
from benchtool.session.tables_identify import load_marks
from benchtool.session.tables_pairings import load_pairings

START = datetime(2026, 5, 11, 7, 0, tzinfo=UTC)
STEP = timedelta(minutes=10)
"""How long a step of cleaning takes (judgement)."""


class _AllTables(Tables):
    """The tables with the marks that are moulded on plastics."""

    marks = load_marks()


_PLAIN = {f.name: getattr(load_tables(), f.name) for f in fields(Tables)}
TABLES = _AllTables(**_PLAIN | {"pairings": load_pairings()})

WAITS = frozenset(
    {
        "timing.flash",
        "timing.recoat-early",
        "timing.stand",
        "chemistry.solvent-over-waterborne",
        "chemistry.uv-over-wet",
        "layering.clear-over-metallic",
    }
)
"""What counts down by itself to the moment at which work goes on."""

TO_DO = frozenset({"cleaning.not-cleaned", "cleaning.mould-release", "cleaning.not-wiped", "surface.no-tooth"})
"""Steps of cleaning and abrading that are still to come: as long as the piece is being prepared they are no mistake."""


class Row(NamedTuple):
    """One case. Without `stop` and `caution` nothing of either may be said; `lines` are the lines shown then."""

    what: str
    piece: str
    stack: str
    work: str
    stop: str = ""
    caution: str = ""
    lines: int = 1

    @property
    def quiet(self) -> bool:
        """Whether nothing is to be said."""
        return not self.stop and not self.caution


class Block(NamedTuple):
    """Cases that rest on one source."""

    name: str
    source: str
    rows: tuple[Row, ...]


# --- what is said ------------------------------------------------------------------------------------------


def alarms(found: tuple[Finding, ...]) -> list[Finding]:
    """Pick the stops and cautions that are no countdown and no next step of the bench itself."""
    graver = (f for f in found if f.severity is not Severity.NOTE and not f.waived)
    return [f for f in graver if not f.routine and not (f.rule in WAITS and f.clears_at is not None)]


def raised(bench: JobBuilder, severity: Severity) -> set[str]:
    """Give the rules that raise something of this severity now, each by itself."""
    return {f.rule for f in alarms(tuple(every(bench.shown()))) if f.severity is severity}


def lines(bench: JobBuilder, *, preparing: bool = False) -> list[str]:
    """Give what is shown of stops and cautions, each cause once, as a painter reads it.

    As long as the piece is `preparing` the steps still to come are left out.
    """
    shown = alarms(bench.shown())
    return [f"{f.severity}: {f.rule}: {f.message}" for f in shown if not (preparing and f.rule in TO_DO)]


# --- the shorthand -----------------------------------------------------------------------------------------

_PREP = {"release": "mould-release wash", "dry": "dry out"}
_STEPS = ("release", "wash", "degrease", "abrade", "scuff", "tack", "mask", "unmask", "strip", "dry")
_UNITS = {"m": "minutes", "h": "hours", "d": "days"}
_LAYER = re.compile(r"(?P<card>[\w-]+)(\+(?P<additive>\w+))?(/(?P<activator>[\w-]+))?(#(?P<nth>\d))?(:(?P<coats>\d+))?")


def place(bench: JobBuilder, piece: str, stack: str) -> JobBuilder:
    """Bring in a piece and plan its stack."""
    substrate, *words = piece.split()
    told = {w for w in words if "=" not in w}
    named = dict(w.split("=", 1) for w in words if "=" in w)
    known = next((k for k in ("marked", "guessed", "unknown") if k in told), "told")
    bench.piece(
        "part",
        substrate,
        flex="flexible" if "flexible" in told else "rigid",
        known=known,
        face=Face.BEHIND_CLEAR if "behind" in told else Face.OUTSIDE,
        mark=named.get("mark", ""),
        shape=tuple(s for w, s in (("textured", Shape.TEXTURED), ("nooks", Shape.NOOKS)) if w in told),
        joined=(named["joined"],) if "joined" in named else (),
    )
    for word in stack.split():
        _plan(bench, word)
    return bench


def _plan(bench: JobBuilder, word: str) -> None:
    read = _LAYER.fullmatch(word)
    assert read is not None, word
    card = CARDS[read["card"]]
    if card.id not in bench.state.cards:
        bench.card(card)
    usual = next((a.id for a in card.activators), None)
    bench.layer(
        read["card"] + (read["nth"] or ""),
        card,
        int(read["coats"]) if read["coats"] else None,
        activator=None if read["activator"] == "none" else read["activator"] or usual,
        additives=(read["additive"],) if read["additive"] else (),
    )


def work(bench: JobBuilder, words: str) -> JobBuilder:
    """Do what the words say, one after another."""
    for word in words.split():
        _act(bench, word)
    return bench


def _act(bench: JobBuilder, word: str) -> None:
    wait = re.fullmatch(r"(\d+)([mhd])", word)
    step = re.fullmatch(rf"({'|'.join(_STEPS)})(?:@(\d+))?(?:=([\w-]+))?", word)
    if wait is not None:
        bench.wait(**{_UNITS[wait[2]]: int(wait[1])})
    elif step is not None:
        told = {"grit": int(step[2])} if step[2] else {"agent": step[3]} if step[3] else {}
        bench.now += STEP
        bench.prep(_PREP.get(step[1], step[1]), **told)
    elif word.startswith("air"):
        bench.read_air(**dict(zip(("air_degC", "humidity_percent", "surface_degC"), _numbers(word), strict=False)))
    elif word.startswith("heat"):
        bench.heat(_numbers(word)[0])
    elif word[-1] in ".*?":
        _spray(bench, word[:-1], word[-1])
    else:
        _odd(bench, *re.split(r"[:=]", word))


def _numbers(word: str) -> list[float]:
    return [float(n) for n in re.findall(r"\d+(?:\.\d+)?", word)]


def _spray(bench: JobBuilder, layer: str, how: str) -> None:
    if how == "?":
        bench.coat(layer, mix=None)
        return
    if bench.state.mix_for(bench.layer_state(layer)) is None:
        bench.ready(layer)
    if how == ".":
        bench.coat(layer)
        return
    card, plan = card_of(bench, layer), bench.layer_state(layer).plan
    for i in range(bench.layer_state(layer).coats_done, plan.coats):
        bench.now += (card.flash or timedelta(0)) if i else timedelta(0)
        bench.coat(layer)
    bench.empty()
    bench.now += card.recoat_opens or card.flash or timedelta(0)


def card_of(bench: JobBuilder, layer: str) -> Card:
    """The card of a layer."""
    return bench.state.cards[bench.layer_state(layer).plan.card]


def _odd(bench: JobBuilder, what: str, of: str = "", much: str = "") -> None:
    match what:
        case "beads" | "sheets":
            bench.now += STEP
            bench.prep("water-break test", passed=what == "sheets")
        case "held" | "lost":
            bench.trial(held=what == "held")
        case "cool":
            bench.heat_off()
        case "cup":
            bench.ready(of)
        case "mix" | "metal":
            bench.mix(of, metal=what == "metal")
        case "pour":
            bench.pour(of, float(much))
        case "stir":
            bench.stir(of)
        case "film":
            bench.film(float(much), of)
        case "empty":
            bench.empty()
        case "can":
            card, part, days, lot = CARDS[of.split("/")[0]], *of.split("/")[1:]
            name = card.activators[0].name if part == "activator" else "Base"
            bench.take(card, name, lot, opened_on=bench.now - timedelta(days=int(days)))
        case _:
            raise AssertionError(what)


def build(row: Row) -> JobBuilder:
    """Do the work of a row."""
    return work(place(JobBuilder(START, TABLES), row.piece, row.stack), row.work)
