"""What a rule says, and what it is told."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum

from benchtool.job.cards import Hazard
from benchtool.job.events import MixStirred, Piece, Poured, Stirred
from benchtool.job.record import Job, standing
from benchtool.job.state import Coat, LayerState, Mix, PieceState, State
from benchtool.trade.substrates import Substrate


class Severity(StrEnum):
    """How grave a finding is, worst first."""

    STOP = "stop"
    CAUTION = "caution"
    NOTE = "note"


RANK = {Severity.STOP: 0, Severity.CAUTION: 1, Severity.NOTE: 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing a rule has to say about one place of the job at one moment.

    `key` names the same matter at any time, so that a waiver of it still holds later; `clears_at` is when
    time alone will settle it. A `routine` stop only repeats what the next step at the bench asks for anyway.
    """

    rule: str
    severity: Severity
    message: str
    remedy: str
    key: str
    piece: str | None = None
    layer: str | None = None
    clears_at: datetime | None = None
    forbids_coat: bool = False
    waived: bool = False
    routine: bool = False

    @property
    def blocks(self) -> bool:
        """Whether a coat on this layer asks for a waiver now."""
        return self.forbids_coat and self.severity is Severity.STOP and not self.waived


@dataclass(frozen=True, slots=True)
class Tables:
    """The trade's tables that rules look things up in, read from resources/ by the caller."""

    substrates: Mapping[str, Substrate]
    cautions: Mapping[Hazard, str]

    def substrate_of(self, piece: Piece) -> Substrate:
        """What the piece is made of; a material that the table does not have counts as unknown."""
        return self.substrates.get(piece.substrate) or self.substrates["unknown"]


@dataclass(frozen=True, slots=True)
class Facts:
    """All that a rule may look at."""

    job: Job
    state: State
    now: datetime
    tables: Tables

    def layers(self) -> Iterator[tuple[PieceState, LayerState]]:
        """Walk over every layer of every piece."""
        for piece in self.state.pieces.values():
            for layer in piece.layers:
                yield piece, layer

    def cups(self) -> Iterator[tuple[PieceState, LayerState, Mix]]:
        """Walk over the cups that stand ready, with the layer each is for.

        A cup serves the layer it was begun for, and every other piece that takes the same product next.
        """
        for piece, layer in self.layers():
            mix = self.state.mix_for(layer)
            if mix is not None and not layer.finished and (layer is piece.current or mix.made.layer == layer.id):
                yield piece, layer, mix

    def sprayed(self, only: LayerState | None = None) -> Iterator[tuple[PieceState, LayerState, Coat, Mix]]:
        """Walk over the coats that are on (all, or those of one layer), with their cup as it was when each began."""
        for piece, layer in self.layers():
            for coat in layer.coats if only is None or only is layer else ():
                mix = self.state.mixes.get(coat.mix or "")
                if mix is not None:
                    yield piece, layer, coat, self.mix_at(mix, coat)

    def mix_at(self, mix: Mix, coat: Coat) -> Mix:
        """Give `mix` as it was when `coat` began: without what was poured and stirred after that."""
        times = [*(p.at for p in mix.pours), *mix.stirred.values()]
        if all(at < coat.started_at for at in times):
            return mix
        # The state keeps the last stirring of each kind only, and no order within an instant: the record has both.
        pours: list[Poured] = []
        stirred: dict[Stirred, datetime] = {}
        first: dict[Stirred, datetime] = {}
        for place, event in standing(self.job.events):
            if (event.at, place) >= (coat.started_at, coat.place):
                continue
            if isinstance(event, Poured) and event.mix == mix.id:
                pours.append(event)
            elif isinstance(event, MixStirred) and event.mix == mix.id:
                stirred[event.what] = event.at
                first[event.what] = min(first.get(event.what, event.at), event.at)
        return replace(mix, pours=pours, stirred=stirred, first_stirred=first)


Check = Callable[[Facts], Iterable[Finding]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule: its id, why it exists in plain words, where that comes from, and the function that looks."""

    id: str
    severity: Severity
    reason: str
    source: str
    check: Check

    @property
    def family(self) -> str:
        """The family that the rule belongs to."""
        return self.id.partition(".")[0]


@dataclass(frozen=True, slots=True)
class Family:
    """Collects the rules of one family."""

    name: str
    rules: list[Rule] = field(default_factory=list)

    def rule(self, name: str, severity: Severity, *, reason: str, source: str) -> Callable[[Check], Check]:
        """Register the function below as the rule `family.name`."""

        def take(check: Check) -> Check:
            self.rules.append(
                Rule(id=f"{self.name}.{name}", severity=severity, reason=reason, source=source, check=check)
            )
            return check

        return take


PRACTICE = "common practice, no source"
SHEET = "the product card"


def key(rule: str, *places: object) -> str:
    """Name the matter of a finding: the rule and the ids it is about."""
    return "|".join([rule, *(str(p) for p in places)])
