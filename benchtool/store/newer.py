"""Reading a job file of a newer schema as far as it can be understood, and saying what was left out."""

from typing import Any

from msgspec import ValidationError, convert, inspect

from benchtool.job.events import Event
from benchtool.job.record import Job
from benchtool.job.validate import faults
from benchtool.store.faults import Unreadable, misshapen
from benchtool.store.files import one_line


def understood(plain: dict[str, Any]) -> tuple[Job, tuple[str, ...]]:
    """Make a job of what this version knows, with a note on everything it leaves out.

    An event of an unknown kind is left out; so is one that no longer makes sense without what was left out.

    Raises:
        Unreadable: the head of the file is not what any version would write.
    """
    notes: list[str] = []
    events = plain.get("events", [])
    if not isinstance(events, list):
        raise Unreadable("A list belongs here", "$.events")
    head = only_known({k: v for k, v in plain.items() if k != "events"}, inspect.type_info(Job), "$", notes)
    kept: list[tuple[int, Event]] = []
    kinds = inspect.type_info(Event)
    for i, event in enumerate(events):
        place = f"$.events[{i}]"
        known = only_known(event, kinds, place, notes)
        try:
            kept.append((i, convert(known, Event)))
        except ValidationError as wrong:
            notes.append(f"{place} is left out: {_why(event, misshapen(str(wrong), place))}")
    try:
        return _sound(convert({**head, "events": []}, Job), kept, notes)
    except ValidationError as wrong:
        raise misshapen(str(wrong)) from None


def _why(event: Any, wrong: Unreadable) -> str:
    if isinstance(event, dict) and isinstance(event.get("type"), str) and wrong.place.endswith("].type"):
        return f"this version does not know “{one_line(event['type'], 60)}”"
    return f"{wrong.wrong} (at {wrong.place})"


def _sound(head: Job, kept: list[tuple[int, Event]], notes: list[str]) -> tuple[Job, tuple[str, ...]]:
    """Leave out, until nothing more is amiss, the events that lost what they speak of."""
    while True:
        job = Job(
            format=head.format,
            schema=head.schema,
            id=head.id,
            created=head.created,
            demo=head.demo,
            note=head.note,
            events=tuple(e for _, e in kept),
        )
        amiss: dict[int, str] = {}
        for fault in faults(job):
            number = fault.path.removeprefix("$.events[").partition("]")[0]
            if not number.isdigit():
                raise Unreadable(one_line(fault.message), one_line(fault.path))
            amiss.setdefault(int(number), fault.message)
        if not amiss:
            return job, tuple(notes)
        notes += [f"$.events[{kept[k][0]}] is left out: {one_line(why)}" for k, why in sorted(amiss.items())]
        kept = [pair for k, pair in enumerate(kept) if k not in amiss]


def only_known(value: Any, kind: inspect.Type, place: str, notes: list[str]) -> Any:
    """Drop the fields that this version does not know from `value`, however deep they lie."""
    match kind:
        case inspect.Metadata():
            return only_known(value, kind.type, place, notes)
        case inspect.UnionType() if isinstance(value, dict):
            structs = [t for t in kind.types if isinstance(t, inspect.StructType)]
            fitting = [t for t in structs if t.tag_field is None or value.get(t.tag_field) == t.tag]
            return only_known(value, fitting[0], place, notes) if len(fitting) == 1 else value
        case inspect.VarTupleType() if isinstance(value, list):
            return [only_known(v, kind.item_type, f"{place}[{i}]", notes) for i, v in enumerate(value)]
        case inspect.DictType() if isinstance(value, dict):
            return {k: only_known(v, kind.value_type, f'{place}["{one_line(k, 60)}"]', notes) for k, v in value.items()}
        case inspect.StructType() | inspect.DataclassType() if isinstance(value, dict):
            fields = {f.encode_name: f.type for f in kind.fields}
            known: dict[str, Any] = {}
            for name, inner in value.items():
                if name in fields:
                    known[name] = only_known(inner, fields[name], f"{place}.{name}", notes)
                elif isinstance(kind, inspect.StructType) and name == kind.tag_field:
                    known[name] = inner
                else:
                    notes.append(f"{place}.{one_line(name, 60)} is left out: this version does not know it")
            return known
        case _:
            return value
