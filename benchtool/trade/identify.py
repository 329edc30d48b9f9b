"""What an unmarked part may be made of, from what one can see and do without harming it.

A clue is a question with a few answers. Each answer speaks for or against kinds of materials, with a weight: 1 is a
hint, 2 is fair, 3 is strong. It excludes only where physics leaves no way out, such as what sinks or what a magnet
holds. The weights are common practice, no source; what they rest on stands beside each in resources/clues.json.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from benchtool.trade.saying import say
from benchtool.trade.substrates import Material, Nature, Substrate

CANT_SAY = "can't say"
"""The answer that tells nothing; every question may be answered so."""

BY_MARK = 6
"""The weight of a mark: that of two strong clues, for it may be on another part of the piece."""

CLEAR_LEAD = 3
"""So far ahead the first candidate stands out: one strong clue, or a fair one and a hint."""

LEAST_GAIN = 0.05
"""A question that is expected to tell less than this, in bits for each unit of effort, is not worth the asking."""

NEAR_mN_m, FAR_mN_m = 3.0, 8.0
"""Published surface energies of one polymer differ by 3 to 5 mN/m between tables; 8 and more is another material."""

_NONE: Mapping[str, int] = {}


STRONG = 3
"""An answer of this weight speaks strongly, be it for or against."""


class Tell(StrEnum):
    """What an answer tells of the piece itself, whatever it is made of."""

    FLEXIBLE = "flexible"
    RIGID = "rigid"
    BEHIND_CLEAR = "behind clear"


BENDING = frozenset({Tell.FLEXIBLE, Tell.RIGID})


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialKind:
    """A kind of material: all that any of these names, but for the ids that are `without`."""

    ids: frozenset[str] = frozenset()
    symbols: frozenset[str] = frozenset()
    materials: frozenset[Material] = frozenset()
    natures: frozenset[Nature] = frozenset()
    without: frozenset[str] = frozenset()

    def holds(self, substrate: Substrate) -> bool:
        """Say whether a material is of this kind."""
        if substrate.id in self.without:
            return False
        return (
            substrate.id in self.ids
            or not self.symbols.isdisjoint(substrate.symbols)
            or substrate.material in self.materials
            or not self.natures.isdisjoint(substrate.natures)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What an answer says of a kind of material: for it or, below zero, against it; `why` is a sentence."""

    kind: str
    weight: int
    why: str
    source: str
    excludes: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Saying:
    """An answer; `wetting_mN_m` is the range of wetting tension that it stands for, where it is one of inks.

    `tells` is what it tells of the piece beside the material.
    """

    id: str
    words: str
    effects: tuple[Effect, ...] = ()
    wetting_mN_m: tuple[float, float] | None = None
    tells: frozenset[Tell] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """A clue: what is asked, how to find out without harm, how much trouble that is (1 to 3), and the answers.

    A `first` one is asked before all others, whatever it may tell.
    """

    id: str
    ask: str
    how: str
    effort: int
    answers: tuple[Saying, ...]
    first: bool = False

    def answer(self, answer_id: str) -> Saying | None:
        """Give an answer by its id."""
        return next((a for a in self.answers if a.id == answer_id), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A test that is not asked for, and why."""

    what: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClueTable:
    """All clues, in the order in which a painter would look."""

    questions: Mapping[str, Question]
    kinds: Mapping[str, MaterialKind]
    refused: tuple[Refused, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A material that it may be, or may not; `pro` and `con` are sentences in the order of the clues."""

    id: str
    score: int = 0
    pro: tuple[str, ...] = ()
    con: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidates:
    """What is left, likeliest first, and what is out, each with why.

    `unknown` says why “unknown” is the honest answer so far, empty where the first of the left stands out. `at_odds`
    says that what was seen does not go together.
    """

    left: tuple[Candidate, ...]
    excluded: tuple[Candidate, ...]
    unknown: str = ""
    at_odds: bool = False


@dataclass(slots=True)
class _Count:
    sum: int = 0
    out: bool = False
    opposed: bool = False
    pro: list[str] = field(default_factory=list)
    con: list[str] = field(default_factory=list)

    @property
    def score(self) -> int:
        """What is strongly spoken against stands below what nothing is said of, unless far more speaks for it."""
        return min(self.sum, -1) if self.opposed and self.sum < CLEAR_LEAD else self.sum

    def take(self, weight: int, why: str, *, excludes: bool) -> None:
        self.sum += weight
        self.out |= excludes
        self.opposed |= weight <= -STRONG
        where = self.pro if weight > 0 else self.con
        if why not in where:
            where.append(why)


def narrow(
    answers: Mapping[str, str], substrates: Iterable[Substrate], clues: ClueTable, *, marked: Mapping[str, int] = _NONE
) -> Candidates:
    """Say what the part may be, by the answers (clue to answer) and by `marks.ranks` of a mark on it.

    The order of the answers does not matter, and one more never brings back what is excluded. An answer that the
    table does not have tells nothing.
    """
    known = [s for s in substrates if s.known]
    counts = {s.id: _Count() for s in known}
    _by_mark(counts, marked)
    for saying in _given(answers, clues):
        for substrate in known:
            for weight, why, excludes in _told(saying, substrate, clues):
                counts[substrate.id].take(weight, why, excludes=excludes)
    ranked = [
        Candidate(id=i, score=c.score, pro=tuple(c.pro), con=tuple(c.con))
        for i, c in sorted(counts.items(), key=lambda item: -item[1].score)
    ]
    left = tuple(c for c in ranked if not counts[c.id].out)
    out = tuple(c for c in ranked if counts[c.id].out)
    at_odds = bool(known) and (not left or left[0].score < 0)
    return Candidates(left=left, excluded=out, unknown=_unknown(left, out), at_odds=at_odds)


def told_beside(answers: Mapping[str, str], clues: ClueTable) -> frozenset[Tell]:
    """Give what the answers tell of the piece itself; where they say that it bends and that it does not, neither."""
    found = frozenset(tell for saying in _given(answers, clues) for tell in saying.tells)
    return found - BENDING if found >= BENDING else found


def _given(answers: Mapping[str, str], clues: ClueTable) -> Iterator[Saying]:
    for question in clues.questions.values():
        saying = question.answer(answers.get(question.id, CANT_SAY))
        if saying is not None:
            yield saying


def _by_mark(counts: Mapping[str, _Count], marked: Mapping[str, int]) -> None:
    for i, rank in marked.items():
        if i in counts:
            why = say("The mark on it names this.") if rank == 0 else say("The mark on it may mean this.")
            counts[i].take(BY_MARK if rank == 0 else BY_MARK - CLEAR_LEAD, why, excludes=False)


def _told(saying: Saying, substrate: Substrate, clues: ClueTable) -> Iterator[tuple[int, str, bool]]:
    for effect in saying.effects:
        if clues.kinds[effect.kind].holds(substrate):
            yield effect.weight, say(effect.why), effect.excludes
    if saying.wetting_mN_m is not None and substrate.surface_energy_mN_m is not None:
        low, high = substrate.surface_energy_mN_m
        least, most = saying.wetting_mN_m
        gap = max(least - high, low - most, 0.0)
        shown = f"{low:g}" if low == high else f"{low:g}-{high:g}"
        if gap <= NEAR_mN_m:
            yield 2, say("Its clean face is published at {shown} mN/m, as the inks say.", shown=shown), False
        elif gap >= FAR_mN_m:
            yield (
                -2,
                say("Its clean face is published at {shown} mN/m, far from what the inks say.", shown=shown),
                False,
            )


def _unknown(left: Sequence[Candidate], out: Sequence[Candidate]) -> str:
    if not left and not out:
        return say("There is no material to choose from.")
    if not left:
        return say("What you saw does not go together: it rules out every material here. Look again, or prove it.")
    best = left[0]
    if not best.pro and not best.con and best.score == 0 and not out:
        return say("Nothing is known of it yet.")
    if best.score < 0:
        return say("What you saw does not go together: it speaks against every material left. Look again, or prove it.")
    if best.score == 0:
        return say("Nothing you saw speaks for any material here. Look again, or prove it on a strip.")
    if len(left) > 1 and best.score - left[1].score < CLEAR_LEAD:
        return say("Several materials fit about as well: a strip tells more than a guess.")
    return ""


# --- what to ask next --------------------------------------------------------------------------------


def next_question(
    answers: Mapping[str, str], substrates: Iterable[Substrate], clues: ClueTable, *, marked: Mapping[str, int] = _NONE
) -> Question | None:
    """Give the question that tells the materials left apart best for its trouble; None where none is worth it.

    A question that is answered, be it by `CANT_SAY`, is not asked again; how a piece bends not where that is told.
    """
    known = {s.id: s for s in substrates if s.known}
    left = narrow(answers, known.values(), clues, marked=marked).left
    if len(left) < 2:
        return None
    first = next((q for q in clues.questions.values() if q.first and q.id not in answers), None)
    if first is not None:
        return first
    top = left[0].score
    chances = [2.0 ** (c.score - top) for c in left]
    total = sum(chances)
    chances = [c / total for c in chances]
    best, best_gain = None, LEAST_GAIN
    bending = not BENDING.isdisjoint(told_beside(answers, clues))
    for question in clues.questions.values():
        if question.id in answers or (bending and _asks_bending(question)):
            continue
        gain = _gain(question, [known[c.id] for c in left], chances, clues) / question.effort
        if gain > best_gain + 1e-9:
            best, best_gain = question, gain
    return best


def _asks_bending(question: Question) -> bool:
    return any(not BENDING.isdisjoint(saying.tells) for saying in question.answers)


def _gain(question: Question, left: Sequence[Substrate], chances: Sequence[float], clues: ClueTable) -> float:
    """How many bits the answer is expected to tell: the mutual information of answer and material."""
    rows = [_likelihoods(question, substrate, clues) for substrate in left]
    gain = 0.0
    for i in range(len(question.answers)):
        overall = sum(p * row[i] for p, row in zip(chances, rows, strict=True))
        if overall > 0:
            gain += sum(
                p * row[i] * math.log2(row[i] / overall) for p, row in zip(chances, rows, strict=True) if row[i] > 0
            )
    return gain


def _likelihoods(question: Question, substrate: Substrate, clues: ClueTable) -> list[float]:
    weights = []
    for saying in question.answers:
        told = list(_told(saying, substrate, clues))
        weights.append(0.0 if any(out for _, _, out in told) else 2.0 ** sum(w for w, _, _ in told))
    total = sum(weights)
    return [w / total for w in weights] if total > 0 else [1 / len(weights)] * len(weights)
