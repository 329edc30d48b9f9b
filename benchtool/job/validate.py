"""What the shape of the file can't say: ids that are unique, references that hold, times that can be true."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from benchtool.job import events as ev
from benchtool.job.airhistory import air_expected
from benchtool.job.cardpaces import FORCEABLE, LEAST_FORCED_DEGC
from benchtool.job.cards import (
    BASE_NAME,
    Activator,
    Card,
    CardTime,
    EvaporationPacing,
    Gun,
    TablePacing,
    pace_model,
    recipe,
)
from benchtool.job.lots import Lot, times
from benchtool.job.record import Job, is_shift, standing
from benchtool.job.references import reference_faults
from benchtool.job.state import recipe_parts
from benchtool.job.trialfaults import trial_event_faults
from benchtool.trade.emissions import NotEmissions
from benchtool.trade.flow import NotAFlowCup, read_cup
from benchtool.trade.mixing import NotAShare, parse_share
from benchtool.trade.pace import NotAPace

EARLIEST, LATEST = datetime(1970, 1, 1, tzinfo=UTC), datetime(9000, 1, 1, tzinfo=UTC)
LONGEST = timedelta(days=36_600)
"""No shop's clock shows less or more, no card waits a century; and within these no sum of times can overflow."""

_TIMES = (
    "stand", "stand_reduced", "pot_life", "flash", "flash_most", "recoat_opens", "recoat_closes", "tape",
    "cure", "dust_free", "keeps", "keeps_opened", "reducer_keeps", "reducer_keeps_opened",
)  # fmt: skip

_FIELDS = {
    CardTime.FLASH: "flash", CardTime.RECOAT_OPENS: "recoat_opens", CardTime.TAPE: "tape", CardTime.CURE: "cure",
}  # fmt: skip
"""In which field of a card the waits on the piece stand."""

MOST_FILM_FACTOR = 1_000.0
"""No film takes so many times as long; more is a slip of the hand (judgement, no source)."""

_PAIRS = (
    ("flash", "flash_most"), ("recoat_opens", "recoat_closes"), ("keeps_opened", "keeps"),
    ("reducer_keeps_opened", "reducer_keeps"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a record, and the JSON path of the place."""

    path: str
    message: str

    def __str__(self) -> str:
        return f"{self.message} (at {self.path})"


def faults(job: Job) -> Iterator[Fault]:
    """Give the faults of a job that is of the right shape.

    An event that lies in the future is none: a clock that was once wrong must not lock the painter out of the
    job. The rule on a clock that runs behind its record tells of it.
    """
    yield from _duplicate_ids(job)
    yield from _card_faults(job)
    for check in (trial_event_faults, reference_faults):
        yield from (Fault(path, message) for path, message in check(job))
    yield from _order_faults(job)
    yield from _heat_faults(job)
    yield from _clock_faults(job)
    if not EARLIEST <= job.created < LATEST:
        yield Fault("$.created", "there is no such time")
    for path, at in _instants(job):
        if not EARLIEST <= at < LATEST:
            yield Fault(path, "there is no such time")


def _instants(job: Job) -> Iterator[tuple[str, datetime]]:
    for i, event in enumerate(job.events):
        yield f"$.events[{i}].at", event.at
        if isinstance(event, ev.Corrected):
            yield f"$.events[{i}].really_at", event.really_at
        elif isinstance(event, ev.CourseExpected):
            for k, point in enumerate(event.points):
                yield f"$.events[{i}].points[{k}].at", point.at
        elif isinstance(event, ev.JobDescribed) and event.promised is not None:
            yield f"$.events[{i}].promised", event.promised
        elif isinstance(event, ev.ClockAnswered):
            yield f"$.events[{i}].since", event.since
            yield f"$.events[{i}].until", event.until


def _clock_faults(job: Job) -> Iterator[Fault]:
    answered = False
    for i, e in enumerate(job.events):
        if isinstance(e, ev.ClockAnswered):
            answered = True
            if not is_shift(e.by_s):
                yield Fault(f"$.events[{i}].by_s", "no clock is so far off")
            if e.until < e.since:
                yield Fault(f"$.events[{i}].until", "it is before since")
    for i, e in standing(job.events) if answered else ():
        times = [e.at, *(p.at for p in e.points)] if isinstance(e, ev.CourseExpected) else [e.at]
        if not all(EARLIEST <= at < LATEST for at in times):
            yield Fault(f"$.events[{i}].at", "an answer on the clock moves it to where there is no such time")


def _duplicate_ids(job: Job) -> Iterator[Fault]:
    seen: dict[tuple[str, str], int] = {}
    for i, e in enumerate(job.events):
        keys = [("event", e.id, ".id")]
        match e:
            case ev.PieceAdded(piece=piece):
                keys.append(("piece", piece.id, ".piece.id"))
            case ev.LayerAdded(layer=layer):
                keys.append(("layer", layer.id, ".layer.id"))
            case ev.Mixed(mix=mix):
                keys.append(("mix", mix, ".mix"))
            case ev.TrialPlanned(trial=trial):
                keys.append(("trial", trial.id, ".trial.id"))
            case _:
                pass
        for kind, key, where in keys:
            if (kind, key) in seen:
                first = seen[kind, key]
                yield Fault(f"$.events[{i}]{where}", f"the {kind} id “{key}” is already that of event {first}")
            seen.setdefault((kind, key), i)


def _card_faults(job: Job) -> Iterator[Fault]:
    for i, e in enumerate(job.events):
        if isinstance(e, ev.CardCopied):
            for path, message in card_faults(e.card):
                yield Fault(f"$.events[{i}].card{path}", message)
        elif isinstance(e, ev.Mixed):
            try:
                recipe_parts(e.parts)
            except NotAShare as wrong:
                yield Fault(f"$.events[{i}].parts", str(wrong))
        elif isinstance(e, ev.LotTaken):
            for path, message in lot_faults(e.lot):
                yield Fault(f"$.events[{i}].lot{path}", message)
        elif isinstance(e, ev.CourseExpected):
            for path, message in course_faults(e.points):
                yield Fault(f"$.events[{i}]{path}", message)


def course_faults(points: tuple[ev.CoursePoint, ...]) -> Iterator[tuple[str, str]]:
    """Give the path and the message of each step of an expected course that can't be so."""
    for k, point in enumerate(points):
        if k and point.at <= points[k - 1].at:
            yield f".points[{k}].at", "the steps must go from early to late, each at its own time"
        if air_expected(point, None) is None:
            yield f".points[{k}]", "no shop has such air: a figure in °F may have been taken for one in °C"


def lot_faults(lot: Lot) -> Iterator[tuple[str, str]]:
    """Give the path and the message of each value on a lot that can't be so."""
    for path, at in times(lot):
        if not EARLIEST <= at < LATEST:
            yield path, "there is no such time"
    if lot.keeps_opened is not None and lot.keeps_opened < timedelta(0):
        yield ".keeps_opened", "a time can't be below zero"
    elif lot.keeps_opened is not None and lot.keeps_opened > LONGEST:
        yield ".keeps_opened", "no can keeps a century"
    if (lot.counted_mL is None) != (lot.counted_on is None):
        yield ".counted_on", "a count needs both its amount and its day"


def card_faults(card: Card) -> Iterator[tuple[str, str]]:
    """Give the path and the message of each value on a card that can't be so."""
    spans = [(f".{name}", getattr(card, name)) for name in _TIMES]
    for i, a in enumerate(card.activators):
        spans += [(f".activators[{i}].keeps", a.keeps), (f".activators[{i}].keeps_opened", a.keeps_opened)]
    spans += [(f'.care["{what.value}"]', span) for what, span in card.care.items()]
    for path, span in spans:
        if span is not None and span < timedelta(0):
            yield path, "a time can't be below zero"
        elif span is not None and span > LONGEST:
            yield path, "no card waits a century"
    pairs: list[tuple[str, Card | Activator, str, str]] = [("", card, low, high) for low, high in _PAIRS]
    pairs += [(f".activators[{i}]", a, "keeps_opened", "keeps") for i, a in enumerate(card.activators)]
    for path, where, low, high in pairs:
        first, second = getattr(where, low), getattr(where, high)
        if first is not None and second is not None and second < first:
            yield f"{path}.{high}", f"it is shorter than {low}"
    if card.recoat_closes is not None and card.recoat_opens is None:
        yield ".recoat_closes", "it closes, and recoat_opens does not say when it opens"
    if card.coats_most < card.coats_least:
        yield ".coats_most", "it is less than coats_least"
    yield from _pace_faults(card)
    yield from _drying_faults(card)
    yield from _contents_faults(card)
    yield from _flow_faults(card)
    yield from _share_faults(card)


def _pace_faults(card: Card) -> Iterator[tuple[str, str]]:
    for time, pacing in card.paces.items():
        path = f'.paces["{time.value}"]'
        try:
            pace_model(pacing)
        except NotAPace as wrong:
            yield path, str(wrong)
            continue
        if time is CardTime.EVERY and isinstance(pacing, TablePacing):
            yield path, "a table is of one kind of time: write which"
        elif isinstance(pacing, EvaporationPacing) and time.in_cup:
            yield path, "what is in the cup does not dry: evaporation is for flash, recoat, tape and cure"
    air = card.air
    for low, high in (("least_degC", "most_degC"), ("least_percent", "most_percent")) if air is not None else ():
        first, second = getattr(air, low), getattr(air, high)
        if first is not None and second is not None and second < first:
            yield f".air.{high}", f"it is less than {low}"


def _drying_faults(card: Card) -> Iterator[tuple[str, str]]:
    for time, dry in card.forced.items():
        path = f'.forced["{time.value}"]'
        by_air = getattr(card, _FIELDS.get(time, ""), None)
        if time not in FORCEABLE:
            yield path, "heat is for flash, recoat opens, tape and cure: it does nothing to the other times"
        elif dry.degC < LEAST_FORCED_DEGC:
            yield f"{path}.degC", f"{dry.degC:g} °C is no heat: a forced dry has at least {LEAST_FORCED_DEGC:g} °C"
        elif not timedelta(0) < dry.wait <= LONGEST:
            yield f"{path}.wait", "a forced dry takes some time, and no century"
        elif by_air is not None and dry.wait > by_air:
            yield f"{path}.wait", f"it is longer than {_FIELDS[time]} without heat"
    for k, ((thin, first), (thick, second)) in enumerate(pairwise(card.films), 1):
        if thick <= thin:
            yield f".films[{k}]", "the films must go from thin to thick, each once"
        elif second <= first:
            yield f".films[{k}]", "a thicker film takes longer: its factor must be above that of the row before"
    for k, (_, factor) in enumerate(card.films):
        if not 1 <= factor <= MOST_FILM_FACTOR:
            yield f".films[{k}]", f"a film takes 1 to {MOST_FILM_FACTOR:g} times as long as the card says"


def _contents_faults(card: Card) -> Iterator[tuple[str, str]]:
    parts = [
        (".voc", BASE_NAME, card.voc, card.density_g_mL),
        (".reducer_voc", card.reducer, card.reducer_voc, card.reducer_density_g_mL),
    ]
    parts += [(f".activators[{i}].voc", a.name, a.voc, a.density_g_mL) for i, a in enumerate(card.activators)]
    for path, name, voc, density_g_mL in parts:
        if voc is None:
            continue
        try:
            voc.contents(name, 1, density_g_mL)
        except NotEmissions as wrong:
            yield path, str(wrong)


def _flow_faults(card: Card) -> Iterator[tuple[str, str]]:
    for i, reduction in enumerate(card.reductions):
        if reduction.flow_s is not None and reduction.flow_cup is None:
            yield f".reductions[{i}].flow_cup", "flow_s does not say out of which cup"
        elif reduction.flow_cup is not None and reduction.flow_s is None:
            yield f".reductions[{i}].flow_s", "flow_cup names a cup and no seconds"
        if reduction.flow_cup is not None:
            try:
                read_cup(reduction.flow_cup)
            except NotAFlowCup as wrong:
                yield f".reductions[{i}].flow_cup", str(wrong)


def _share_faults(card: Card) -> Iterator[tuple[str, str]]:
    shares = [(f".activators[{i}].share", a.share) for i, a in enumerate(card.activators)]
    shares += [(f".additives[{i}].share", a.share) for i, a in enumerate(card.additives)]
    for i, r in enumerate(card.reductions):
        shares += [(f".reductions[{i}].{k}", getattr(r, k)) for k in ("least", "usual", "most")]
    for path, text in shares:
        try:
            parse_share(text)
        except NotAShare as wrong:
            yield path, str(wrong)
            return
    for i, activator in enumerate(card.activators or (None,)):
        for gun in Gun:
            try:
                recipe_parts(recipe(card, activator, gun, tuple(a.id for a in card.additives)))
            except NotAShare as wrong:
                yield f".activators[{i}]" if activator is not None else ".reductions", f"for the {gun.value}: {wrong}"
                return


def _order_faults(job: Job) -> Iterator[Fault]:
    open_since: dict[str, datetime] = {}
    done_at: dict[str, datetime] = {}
    removed: set[str] = set()
    for i, e in standing(job.events):
        if isinstance(e, ev.LayerRemoved):
            removed.add(e.layer)
        elif isinstance(e, ev.CoatStarted) and e.layer not in removed:
            if e.layer in open_since:
                yield Fault(f"$.events[{i}]", "a coat starts while the one before is still being sprayed")
            elif e.layer in done_at and e.at < done_at[e.layer]:
                yield Fault(f"$.events[{i}].at", "a coat starts before the one before was done")
            open_since[e.layer] = e.at
        elif isinstance(e, ev.CoatDone) and e.layer not in removed:
            started = open_since.pop(e.layer, None)
            if started is None:
                yield Fault(f"$.events[{i}]", "a coat is done that was never started")
            elif e.at < started:
                yield Fault(f"$.events[{i}].at", "a coat is done before it started")
            done_at[e.layer] = e.at


def _heat_faults(job: Job) -> Iterator[Fault]:
    on_since: dict[str, datetime] = {}
    off_at: dict[str, datetime] = {}
    for i, e in standing(job.events):
        if isinstance(e, ev.HeatStarted):
            if e.piece in on_since:
                yield Fault(f"$.events[{i}]", "heat is put on while it is on: it was not taken off in between")
            elif e.piece in off_at and e.at < off_at[e.piece]:
                yield Fault(f"$.events[{i}].at", "heat is put on before it was last taken off")
            on_since[e.piece] = e.at
        elif isinstance(e, ev.HeatEnded):
            started = on_since.pop(e.piece, None)
            if started is None:
                yield Fault(f"$.events[{i}]", "heat is taken off that was never put on")
            elif e.at < started:
                yield Fault(f"$.events[{i}].at", "heat is taken off before it was put on")
            off_at[e.piece] = e.at
