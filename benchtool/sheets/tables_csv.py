"""The record of a job as tables: what happened, what was mixed, how the air was."""

from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime, tzinfo
from enum import StrEnum

from benchtool.job import events as ev
from benchtool.job.cup import Mix
from benchtool.job.record import Job, entered_at, standing, withdrawn_ids
from benchtool.job.state import State
from benchtool.sheets.csvfile import Cell, csv_bytes, head_line
from benchtool.trade.mixing import fractions


class Table(StrEnum):
    """The tables of a job, by the word for each."""

    EVENTS = "events"
    MIXES = "mixes"
    READINGS = "readings"


HEADS: dict[Table, tuple[str, ...]] = {
    Table.EVENTS: (
        "number", "event", "happened_utc", "happened_local", "entered_utc", "piece", "layer", "cup", "what", "words",
        "note", "counts", "with_event",
    ),
    Table.MIXES: (
        "cup", "begun_utc", "begun_local", "piece", "layer", "product", "gun", "part", "kind", "share", "wanted_mL",
        "poured_mL", "percent_of_base", "off_percent", "lots", "activated_utc", "emptied_utc", "left_mL",
    ),
    Table.READINGS: (
        "at_utc", "at_local", "air_degC", "humidity_percent", "surface_degC", "air_speed_m_s", "source",
    ),
}  # fmt: skip
"""The columns of each; a figure's unit stands in the name of its column."""


def table_csv(table: Table, job: Job, state: State, zone: tzinfo | None = None) -> bytes:
    """Write one of the tables as CSV (see `sheets.csvfile`); local times are in `zone`, None for this computer's."""
    return csv_bytes(HEADS[table], _ROWS[table](job, state, zone))


def table_values(table: Table, job: Job, state: State, zone: tzinfo | None = None) -> list[dict[str, Cell]]:
    """Give the same rows as objects, by the names of the columns."""
    return [dict(zip(HEADS[table], row, strict=True)) for row in _ROWS[table](job, state, zone)]


def is_table(table: Table, head: bytes) -> bool:
    """Whether a file that begins so is an earlier table of the same kind."""
    return head.startswith(head_line(HEADS[table]))


LONGEST_HEAD = 1_024
"""So much of a file tells which table it is (bytes)."""


# --- what happened ---------------------------------------------------------------------------------------


def event_rows(job: Job, state: State, zone: tzinfo | None = None) -> Iterator[tuple[Cell, ...]]:
    """Give a row for each event of the record, in the order in which they were entered.

    `counts` says `no` of what was taken back; `happened` is when it really did, as corrected since.
    """
    names = _Names(job, state)
    gone = withdrawn_ids(job.events)
    really = {place: event.at for place, event in standing(job.events)}
    for place, (event, entered) in enumerate(zip(job.events, entered_at(job.events), strict=True)):
        at = really.get(place, event.at)
        yield (
            place + 1, event.id, utc(at), local(at, zone), utc(entered), names.piece_of(event), names.layer_of(event),
            str(getattr(event, "mix", "") or ""), str(event.__struct_config__.tag), ev.event_words(event),
            _note(event), "no" if event.id in gone else "yes", event.along_with or "",
        )  # fmt: skip


def _note(event: ev.Event) -> str:
    match event:
        case ev.WaiverSigned(message=message, reason=reason):
            return f"{message} {reason}"
        case ev.Withdrawn(events=events):
            return " ".join(events)
        case ev.Corrected(event=corrected, really_at=at):
            return f"{corrected} {utc(at)}"
        case _:
            return str(getattr(event, "note", "") or getattr(event, "words", ""))


class _Names:
    """What pieces and layers are called, those too that were taken out since."""

    def __init__(self, job: Job, state: State) -> None:
        self.state = state
        self.pieces: dict[str, str] = {}
        self.layers: dict[str, tuple[str, str]] = {}
        self.mixes: dict[str, str] = {}
        cards: dict[str, str] = {}
        for event in job.events:
            match event:
                case ev.CardCopied(card=card):
                    cards[card.id] = card.name
                case ev.PieceAdded(piece=piece) | ev.PieceChanged(piece=piece):
                    self.pieces[piece.id] = piece.name
                case ev.LayerAdded(piece=on, layer=layer):
                    self.layers[layer.id] = (on, layer.name or cards.get(layer.card, layer.card))
                case ev.LayerChanged(layer=layer):
                    on = self.layers.get(layer.id, ("", ""))[0]
                    self.layers[layer.id] = (on, layer.name or cards.get(layer.card, layer.card))
                case ev.Mixed(mix=mix, layer=of):
                    self.mixes[mix] = of
                case _:
                    pass
        for known in state.layers.values():
            self.layers[known.id] = (known.piece, state.layer_name(known))
        for piece_state in state.pieces.values():
            self.pieces[piece_state.id] = piece_state.piece.name

    def piece_of(self, event: ev.Event) -> str:
        """Name the piece that an event is about; "" for none."""
        match event:
            case ev.PieceAdded(piece=piece) | ev.PieceChanged(piece=piece):
                return piece.name
            case ev.Graded(strip=strip) | ev.TapePressed(strip=strip):
                return self.pieces.get(strip, "")
            case ev.AgeingBegun(strips=strips) | ev.AgeingOver(strips=strips):
                return ", ".join(self.pieces.get(s, s) for s in strips)
            case _:
                pass
        on = getattr(event, "piece", None)
        if isinstance(on, str):
            return self.pieces.get(on, "")
        return self.pieces.get(self.layers.get(self._layer_id(event), ("", ""))[0], "")

    def layer_of(self, event: ev.Event) -> str:
        """Name the layer that an event is about; "" for none."""
        return self.layers.get(self._layer_id(event), ("", ""))[1]

    def _layer_id(self, event: ev.Event) -> str:
        layer = getattr(event, "layer", None)
        if isinstance(layer, ev.Layer):
            return layer.id
        return layer if isinstance(layer, str) else self.mixes.get(str(getattr(event, "mix", "")), "")


# --- what was mixed --------------------------------------------------------------------------------------


def mix_rows(job: Job, state: State, zone: tzinfo | None = None) -> Iterator[tuple[Cell, ...]]:
    """Give a row for each part of each cup that counts; one that nothing was poured of has an empty `poured_mL`."""
    named = _Names(job, state)
    for mix in state.mixes.values():
        layers = [x.id for x in state.layers.values() if mix.id in x.mixes or any(c.mix == mix.id for c in x.coats)]
        whose = [named.layers[x] for x in layers or [mix.made.layer] if x in named.layers]
        pieces = ", ".join(dict.fromkeys(named.pieces.get(piece, "") for piece, _ in whose))
        names = ", ".join(dict.fromkeys(name for _, name in whose))
        product = mix.card.name if mix.card is not None else mix.made.card
        begins = (mix.id, utc(mix.made.at), local(mix.made.at, zone), pieces, names, product, mix.made.gun.value)
        ends = (_utc(mix.activated_at), _utc(mix.emptied_at), _figure(mix.left_mL))
        for own in _parts(mix, state):
            yield (*begins, *own, *ends)


def _parts(mix: Mix, state: State) -> Iterator[tuple[Cell, ...]]:
    """Give what is said of each part: the recipe's own, then what was poured besides it."""
    kept = {part.name: part for part in mix.made.parts}
    wanted = _wanted(mix)
    checks = {check.name: check for check in mix.checks}
    for name in (*kept, *(n for n in mix.poured_mL if n not in kept)):
        part, check = kept.get(name), checks.get(name)
        yield (
            name, part.kind.value if part is not None else "", str(part.share) if part is not None else "",
            _sum(wanted.get(name)), _figure(mix.poured_mL.get(name)),
            _sum(check.percent_of_base) if check is not None else None,
            _sum(check.off_percent) if check is not None else None,
            _lots([p for p in mix.pours if p.part == name], state),
        )  # fmt: skip


def _wanted(mix: Mix) -> dict[str, float]:
    try:
        shares = fractions(mix.parts)
    except ValueError:
        return {}
    return {p.name: share * mix.made.make_mL for p, share in zip(mix.parts, shares, strict=True)}


def _lots(pours: Sequence[ev.Poured], state: State) -> str:
    ids = dict.fromkeys(p.lot for p in pours if p.lot is not None)
    return ", ".join(state.lots[i].words if i in state.lots else i for i in ids)


# --- the air ---------------------------------------------------------------------------------------------


def reading_rows(_: Job, state: State, zone: tzinfo | None = None) -> Iterator[tuple[Cell, ...]]:
    """Give a row for each reading that counts, in the order of their times."""
    for r in sorted(state.readings, key=lambda r: r.at):
        yield (
            utc(r.at), local(r.at, zone), _figure(r.air_degC), _figure(r.humidity_percent), _figure(r.surface_degC),
            _figure(r.speed_m_s), r.source,
        )  # fmt: skip


_ROWS: dict[Table, Callable[[Job, State, tzinfo | None], Iterator[tuple[Cell, ...]]]] = {
    Table.EVENTS: event_rows,
    Table.MIXES: mix_rows,
    Table.READINGS: reading_rows,
}


# --- times and figures -----------------------------------------------------------------------------------


def utc(at: datetime) -> str:
    """Write an instant as ISO 8601 in UTC."""
    return at.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def local(at: datetime, zone: tzinfo | None) -> str:
    """Write an instant as ISO 8601 in the painter's own time, with how far that is from UTC."""
    try:
        return at.astimezone(zone).isoformat(timespec="seconds")
    except (OverflowError, OSError, ValueError):  # before the zones of some systems begin
        return utc(at)


def _utc(at: datetime | None) -> str:
    return utc(at) if at is not None else ""


def _figure(value: float | None) -> float | None:
    """Give a figure of the record without the noise of binary sums."""
    return float(f"{value:.12g}") if value is not None else None


def _sum(value: float | None) -> float | None:
    """Give a figure that was worked out: six digits are more than any scale shows."""
    return float(f"{value:.6g}") if value is not None else None
