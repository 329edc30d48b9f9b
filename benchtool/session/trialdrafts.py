"""Trials half set up: kept on disk while they are typed, so that no crash loses them."""

from dataclasses import dataclass, fields

import msgspec

from benchtool.job import events as ev
from benchtool.job.cards import Card, Gun
from benchtool.session.planning import PieceText
from benchtool.session.stackbuilding import Row
from benchtool.session.trialkinds import AgeText, Candidate, Setup, Spot
from benchtool.store.drafts import DraftFile


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    key: str
    card: Card
    plan: ev.Layer


@dataclass(frozen=True, slots=True, kw_only=True)
class _System:
    key: str
    name: str
    control: bool
    colour: str | None
    rows: tuple[_Row, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kept:
    """A new set-up as it goes to disk: all but the numbers, which are those that are free when it is taken up."""

    name: str
    piece: str | None
    material: PieceText
    batch: str
    systems: tuple[_System, ...]
    replicates: int
    methods: frozenset[ev.Method]
    rest: str
    tape_stays: str
    ageing: tuple[AgeText, ...]
    width: str
    length: str
    note: str
    randomised: bool
    seed: int
    spots: tuple[Spot, ...]
    no_control: bool
    gun: Gun
    count: int


class TrialDrafts:
    """The new trials that are half set up, by the id of their job. Nothing here raises."""

    def __init__(self, file: DraftFile) -> None:
        self._file = file

    def keep(self, job: str, setup: Setup) -> bool:
        """Keep a set-up; gives whether the disk took it."""
        systems = tuple(
            _System(
                key=c.key,
                name=c.name,
                control=c.control,
                colour=c.colour,
                rows=tuple(_Row(key=r.key, card=r.card, plan=r.plan) for r in c.rows),
            )
            for c in setup.systems
        )
        same = {f.name: getattr(setup, f.name) for f in fields(_Kept) if f.name != "systems"}
        told = msgspec.to_builtins(_Kept(systems=systems, **same), str_keys=True, order="deterministic")
        return self._file.put(_about(job), told)

    def find(self, job: str) -> Setup | None:
        """Give what was half set up before; None where nothing was, or it can't be read as a set-up."""
        told = self._file.read().get(_about(job))
        try:
            kept = msgspec.convert(told, _Kept, str_keys=True) if told is not None else None
        except (msgspec.ValidationError, RecursionError):
            return None
        if kept is None:
            return None
        systems = tuple(
            Candidate(
                key=c.key,
                name=c.name,
                control=c.control,
                colour=c.colour,
                rows=tuple(Row(key=r.key, card=r.card, plan=r.plan) for r in c.rows),
            )
            for c in kept.systems
        )
        same = {f.name: getattr(kept, f.name) for f in fields(_Kept) if f.name != "systems"}
        return Setup(systems=systems, **same)

    def forget(self, job: str) -> None:
        """It is set up, or not wanted."""
        self._file.drop(_about(job))


def _about(job: str) -> str:
    return f"trial|{job}"
