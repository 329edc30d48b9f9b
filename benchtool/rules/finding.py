"""What a rule says, and what it is told."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum
from typing import Any, TypeVar, cast

from benchtool.job.cards import Chemistry, Hazard
from benchtool.job.events import MixStirred, Piece, Poured, Stirred
from benchtool.job.record import Job, standing
from benchtool.job.shoprules import ShopRule, SkippedRule
from benchtool.job.state import Coat, LayerState, Mix, PieceState, State
from benchtool.trade.marks import MarkTable
from benchtool.trade.numbers import clock_words
from benchtool.trade.substrates import Cleaner, Substrate
from benchtool.trade.windows import FOR_GOOD


class Severity(StrEnum):
    """How grave a finding is, worst first."""

    STOP = "stop"
    CAUTION = "caution"
    NOTE = "note"


RANK = {Severity.STOP: 0, Severity.CAUTION: 1, Severity.NOTE: 2}


class Cause(StrEnum):
    """What can be behind several findings at once; `cause` makes a finding's `cause` of it."""

    MATERIAL = "what it is made of"
    HOLD = "what makes paint hold"
    CLEAN = "how clean it is"
    TOOTH = "how it was abraded"
    ACTIVATOR = "which activator"
    FLEX = "whether the film bends"
    RATIO = "what is in the cup"
    CUP_TIME = "how long the cup stands"
    WINDOW = "how long ago the coat under it was"
    PAIRING = "what goes over what"
    ORDER = "what went on out of turn"
    FILM = "how thick the film is"
    AIR = "the air"
    CAN = "what is in the can"
    CARD = "what the card says"
    TRIAL = "what a trial shows"


def cause(what: Cause, *places: object) -> str:
    """Name the cause of a finding: what it is, and the ids it is about (a piece's, a layer's, a cup's)."""
    return "|".join([what.value, *(str(p) for p in places)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing a rule has to say about one place of the job at one moment.

    `key` names the same matter at any time, so that a waiver of it still holds later; `clears_at` is when
    time alone will settle it. A `routine` stop only repeats what the next step at the bench asks for anyway.
    `cause` names what is behind it (see `Cause`): of the findings with one cause the worst is shown and carries the
    others as `echoes`. `alike` is the same for what is told in the same words of several strips of one trial, and empty
    for what is told of no strip: such findings are shown once too (see `engine.grouped`). `name`, `why`, `whence` and
    `gravest` are the name, the reason, the source and the severity of a rule of the painter's own: what it says of a
    coat that is on is milder.
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
    cause: str = ""
    echoes: tuple["Finding", ...] = ()
    alike: str = ""
    name: str = ""
    why: str = ""
    whence: str = ""
    gravest: Severity | None = None

    @property
    def blocks(self) -> bool:
        """Whether a coat on this piece (of the whole job where it names none) asks for a waiver now."""
        return self.forbids_coat and self.severity is Severity.STOP and not self.waived

    @property
    def told_of(self) -> tuple[str, ...]:
        """The pieces that this is told of: more than one where strips of a trial have it alike."""
        same = (e.piece for e in self.echoes if self.alike and e.alike == self.alike)
        return tuple(dict.fromkeys(p for p in (self.piece, *same) if p is not None))

    @property
    def others(self) -> "tuple[Finding, ...]":
        """The echoes that say something else, each once whatever strips it is told of."""
        heard = {self.alike, ""}
        found = []
        for echo in self.echoes:
            if echo.alike in heard and echo.alike:
                continue
            heard.add(echo.alike)
            found.append(echo)
        return tuple(found)


class While(StrEnum):
    """How long a pairing of two chemistries is to be feared, counted from the last coat of the one below."""

    UNTIL_RECOAT = "until its recoat opens"
    UNTIL_CURED = "until it is cured"
    ALWAYS = "at any time"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairing:
    """What happens where one chemistry goes over another; `barrier` says that a sealer between them helps."""

    over: Chemistry
    under: Chemistry
    severity: Severity
    during: While
    what: str
    remedy: str
    source: str
    barrier: bool = False


@dataclass(frozen=True, slots=True)
class Tables:
    """The trade's tables that rules look things up in, read from resources/ by the caller."""

    substrates: Mapping[str, Substrate]
    cautions: Mapping[Hazard, str]
    cleaners: Mapping[str, Cleaner] = field(default_factory=dict)
    pairings: Mapping[tuple[Chemistry, Chemistry], Pairing] = field(default_factory=dict)
    marks: Callable[[], MarkTable] | None = None
    shop_rules: tuple[ShopRule, ...] = ()
    skipped: tuple[SkippedRule, ...] = ()

    def substrate_of(self, piece: Piece) -> Substrate:
        """What the piece is made of; a material that the table does not have counts as unknown."""
        return self.substrates.get(piece.substrate) or self.substrates["unknown"]


Memo = TypeVar("Memo")
Sprayed = tuple[PieceState, LayerState, Coat, Mix]


@dataclass(frozen=True, slots=True)
class Facts:
    """All that a rule may look at."""

    job: Job
    state: State
    now: datetime
    tables: Tables
    memo: dict[str, Any] = field(default_factory=dict)

    def settled(self, name: str, work: Callable[[], Memo]) -> Memo:
        """Give what the record alone decides: worked out once for a state, whatever the time."""
        if name not in self.memo:
            self.memo[name] = work()
        return cast("Memo", self.memo[name])

    def layers(self) -> list[tuple[PieceState, LayerState]]:
        """Give every layer with its piece."""
        return self.settled("layers", lambda: [(p, x) for p in self.state.pieces.values() for x in p.layers])

    def next_layers(self) -> dict[str, LayerState | None]:
        """Give the layer that each piece takes next, by the id of the piece."""
        return self.settled("next", lambda: {p.id: p.current for p in self.state.pieces.values()})

    def cups(self) -> list[tuple[PieceState, LayerState, Mix]]:
        """Give the cups that stand ready, with the layer each is for.

        A cup serves the layer it was begun for, and every other piece that takes the same product next.
        """
        return self.settled("cups", lambda: list(self._cups()))

    def _cups(self) -> Iterator[tuple[PieceState, LayerState, Mix]]:
        for piece, layer in self.layers():
            mix = self.state.mix_for(layer)
            if mix is not None and not layer.finished and (layer is piece.current or mix.made.layer == layer.id):
                yield piece, layer, mix

    def sprayed(self, only: LayerState | None = None) -> list[Sprayed]:
        """Give the coats that are on (all, or those of one layer), with their cup as it was when each began."""
        by_layer = self.settled("sprayed", self._sprayed)
        return by_layer.get(only.id, []) if only is not None else [x for row in by_layer.values() for x in row]

    def _sprayed(self) -> dict[str, list[Sprayed]]:
        found: dict[str, list[Sprayed]] = {}
        newest = {mix.id: _newest(mix) for mix in self.state.mixes.values()}
        for piece, layer in self.layers():
            for coat in layer.coats:
                mix = self.state.mixes.get(coat.mix or "")
                if mix is not None:
                    last = newest[mix.id]
                    then = mix if last is None or last < coat.started_at else self.mix_at(mix, coat)
                    found.setdefault(layer.id, []).append((piece, layer, coat, then))
        return found

    def mix_at(self, mix: Mix, coat: Coat) -> Mix:
        """Give `mix` as it was when `coat` began: without what was poured and stirred after that."""
        last = _newest(mix)
        if last is None or last < coat.started_at:
            return mix
        # The state keeps the last stirring of each kind only, and no order within an instant: the record has both.
        pours: list[Poured] = []
        stirred: dict[Stirred, datetime] = {}
        first: dict[Stirred, datetime] = {}
        for place, event in self.settled("standing", lambda: standing(self.job.events)):
            if (event.at, place) >= (coat.started_at, coat.place):
                continue
            if isinstance(event, Poured) and event.mix == mix.id:
                pours.append(event)
            elif isinstance(event, MixStirred) and event.mix == mix.id:
                stirred[event.what] = event.at
                first[event.what] = min(first.get(event.what, event.at), event.at)
        return replace(mix, pours=pours, stirred=stirred, first_stirred=first)


def _newest(mix: Mix) -> datetime | None:
    """When the last thing was done to a cup; None where nothing was."""
    return max((*(p.at for p in mix.pours), *mix.stirred.values()), default=None)


Check = Callable[[Facts], Iterable[Finding]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule: its id, what it is about, why it exists, where that comes from, what to do, and the function that looks.

    `title` is a few plain words without a full stop, `remedy` says in general what to do when it speaks. A rule that is
    not `timed` says the same at any moment of one state, and is asked once for it.
    """

    id: str
    severity: Severity
    title: str
    reason: str
    source: str
    remedy: str
    check: Check
    timed: bool = True

    @property
    def family(self) -> str:
        """The family that the rule belongs to."""
        return self.id.partition(".")[0]


@dataclass(frozen=True, slots=True)
class Family:
    """Collects the rules of one family."""

    name: str
    rules: list[Rule] = field(default_factory=list)

    def rule(
        self,
        name: str,
        severity: Severity,
        *,
        title: str,
        reason: str,
        source: str,
        remedy: str,
        timed: bool = True,
    ) -> Callable[[Check], Check]:
        """Register the function below as the rule `family.name`."""

        def take(check: Check) -> Check:
            rule = Rule(
                id=f"{self.name}.{name}",
                severity=severity,
                title=title,
                reason=reason,
                source=source,
                remedy=remedy,
                check=check,
                timed=timed,
            )
            self.rules.append(rule)
            return check

        return take


PRACTICE = "common practice, no source"
SHEET = "the product card"


def left(until: datetime, now: datetime) -> str:
    """Say how long it is from `now` to `until`; what does not come in this air is no length of time."""
    if until >= FOR_GOOD:
        return "until the air is better"
    return clock_words((until - now).total_seconds())


def key(rule: str, *places: object) -> str:
    """Name the matter of a finding: the rule and the ids it is about."""
    return "|".join([rule, *(str(p) for p in places)])
