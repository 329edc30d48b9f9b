"""The ratios of a mix: what each share is *of*, the amounts it asks for, and what mends a wrong pour."""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from benchtool.trade.numbers import NotANumber, read_number, shorten

TOLERANCE = {"activator": 0.10, "base": 0.05, "reducer": 0.05, "additive": 0.05}
"""How far a part may be off its share before it is out of tolerance, as a fraction of that share, where
the card says nothing. Common practice, no source."""


class PartKind(StrEnum):
    """What an ingredient does in the cup."""

    BASE = "base"
    ACTIVATOR = "activator"
    REDUCER = "reducer"
    ADDITIVE = "additive"


class Of(StrEnum):
    """What a share is a share of."""

    PARTS = "parts"
    BASE = "base"
    ACTIVATED = "activated"
    TOTAL = "total"
    PART = "part"


class NotAShare(ValueError):
    """The text or the recipe is no ratio; the message says what to write instead."""


class MissingDensity(NotAShare):
    """A part has to be weighed and the card gives no density for it; `part` names it."""

    def __init__(self, part: str) -> None:
        super().__init__(f"The card gives no density for {shorten(part)}: fill in its density (g/mL) to weigh it.")
        self.part = part


@dataclass(frozen=True, slots=True)
class Share:
    """`value` parts, or `value` times what it is of (2 % of base is 0.02 of base).

    `by_weight` compares masses. A part by weight beside one by volume is a gram beside a millilitre.
    """

    value: float
    of: Of
    named: str = ""
    by_weight: bool = False

    def words(self) -> str:
        """Say the share as a card would."""
        weight = " by weight" if self.by_weight else ""
        if self.of is Of.PARTS:
            return f"{self.value:g} part{'' if self.value == 1 else 's'}{weight}"
        target = {Of.BASE: "the base", Of.ACTIVATED: "the activated mix", Of.TOTAL: "the mixed total"}
        what = target.get(self.of, self.named)
        if self.value == 1:
            return f"1:1 with {what}{weight}"
        return f"{self.value * 100:.4g} % of {what}{weight}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One ingredient of a recipe. `density_g_mL` is None where the card gives none."""

    name: str
    kind: PartKind
    share: Share
    density_g_mL: float | None = None
    tolerance: float | None = None

    @property
    def allowed(self) -> float:
        """How far this part may be off its share, as a fraction of that share."""
        return TOLERANCE[self.kind.value] if self.tolerance is None else self.tolerance

    @property
    def allowed_percent(self) -> float:
        """The same in percent, with a hair more: the noise of a float puts nothing out of tolerance."""
        return 100 * self.allowed * (1 + 1e-9) + 1e-7

    def keeps(self, off_percent: float) -> bool:
        """Whether this part may be so far off its share, either way."""
        return abs(off_percent) <= self.allowed_percent

    @property
    def grams_per_mL(self) -> float:
        """The density (g/mL), for a part that has to be weighed.

        Raises:
            MissingDensity: the card gives none, or one that no liquid has.
        """
        if self.density_g_mL is None or not (math.isfinite(self.density_g_mL) and self.density_g_mL > 0):
            raise MissingDensity(self.name)
        return self.density_g_mL


_REFERENCES = {
    "base": Of.BASE, "paint": Of.BASE, "activated": Of.ACTIVATED, "activated mix": Of.ACTIVATED,
    "total": Of.TOTAL, "mixed total": Of.TOTAL, "whole": Of.TOTAL, "total mix": Of.TOTAL,
}  # fmt: skip
_BY = re.compile(
    r"\s*\b(?:(?P<weight>by\s+(?:weight|mass|wt)|w\s?/\s?w)|by\s+vol(?:ume)?|v\s?/\s?v)\b\.?\s*", re.IGNORECASE
)
_HOW = "Write 100, 2 % of base, 10 % of total, or 1:1 of activated."
_HOW_OF = "Write 25 % of base, or 4:1 of base for one part to four of base; or 1:1 of activated, 10 % of total."


def parse_share(text: str, *, plain: bool = True) -> Share:
    """Read one share: `4`, `4 parts`, `2 % of base`, `10 % of the mixed total`, `1x activated`.

    In `A:B of X` the named reference comes first, as on a can: `2:1 of base` is one part to two of base.
    `by weight` (also `by wt`, `by mass`, `w/w`) compares masses; without it a share is one of volume.
    Without `plain` a number of parts is refused: where the parts of the base stand elsewhere (a card counts
    100), a `1` copied from a 4:1:1 on the can would be a hundredth.

    Raises:
        NotAShare: no share there, below zero, or a share that does not say what it is of.
    """
    how = _HOW if plain else _HOW_OF
    try:
        value, rest = read_number(text)
        if rest.startswith(":"):
            second, rest = read_number(rest[1:])
            if value <= 0 or second <= 0:
                raise NotAShare(f"“{shorten(text)}”: a ratio of zero parts is no ratio. {how}")
            value, scaled = second / value, True
        else:
            scaled = rest[:1] in ("%", "x", "×") or rest.lower().startswith("percent")
    except NotANumber as fault:
        raise NotAShare(f"{fault} {how}") from None
    if value < 0:
        raise NotAShare(f"“{shorten(text)}” is below zero. {how}")
    by = _BY.search(rest)
    by_weight = by is not None and by["weight"] is not None
    if by is not None:
        rest = f"{rest[: by.start()]} {rest[by.end() :]}".strip()
    if not scaled:
        if rest.lower() not in ("", "part", "parts"):
            raise NotAShare(f"“{shorten(text)}” is not a share. {how}")
        if not plain:
            raise NotAShare(f"“{shorten(text)}” of what? {how}")
        return Share(value, Of.PARTS, by_weight=by_weight)
    if rest.startswith("%") or rest.lower().startswith("percent"):
        value /= 100
        rest = re.sub(r"^(?:%|percent)", "", rest, flags=re.IGNORECASE)
    elif rest[:1] in ("x", "×"):
        rest = rest[1:]
    target = re.sub(r"^(?:of\b|with\b|on\b)?\s*(?:the\b)?\s*", "", rest.strip(), flags=re.IGNORECASE).strip()
    if not target:
        raise NotAShare(f"“{shorten(text)}” of what? {how}")
    of = _REFERENCES.get(target.lower())
    if of is Of.TOTAL and value >= 1:
        raise NotAShare(f"“{shorten(text)}” leaves no room for the other parts. {how}")
    return Share(value, of, by_weight=by_weight) if of is not None else Share(value, Of.PART, target, by_weight)


def parse_ratio(text: str) -> tuple[float, ...]:
    """Read `4:1:1` as its numbers.

    Raises:
        NotAShare: fewer than two numbers, or one that is zero or below.
    """
    numbers = []
    for piece in text.split(":"):
        try:
            value, rest = read_number(piece)
        except NotANumber:
            raise NotAShare(f"“{shorten(text)}” is not a ratio such as 4:1:1.") from None
        if rest or value <= 0:
            raise NotAShare(f"“{shorten(text)}” is not a ratio such as 4:1:1; every number is above zero.")
        numbers.append(value)
    if len(numbers) < 2:
        raise NotAShare(f"“{shorten(text)}” is not a ratio such as 4:1:1.")
    return tuple(numbers)


def guess_kind(name: str, first: bool) -> PartKind:
    """Tell a part's kind from the trade's names for it; the first part is the base."""
    low = name.lower()
    for kind, words in (
        (PartKind.ACTIVATOR, ("activator", "hardener", "catalyst")),
        (PartKind.REDUCER, ("reducer", "thinner")),
        (PartKind.BASE, ("base", "paint", "resin", "clear", "promoter", "primer")),
        (PartKind.REDUCER, ("water",)),  # after the base: a waterborne base is no water
    ):
        if any(word in low for word in words):
            return kind
    return PartKind.BASE if first else PartKind.ADDITIVE


def _members(parts: Sequence[Part], share: Share) -> list[int]:
    """Which parts make up what `share` is of."""
    if share.of is Of.BASE:
        return [i for i, p in enumerate(parts) if p.kind is PartKind.BASE]
    if share.of is Of.ACTIVATED:
        return [i for i, p in enumerate(parts) if p.kind in (PartKind.BASE, PartKind.ACTIVATOR)]
    if share.of is Of.TOTAL:
        return list(range(len(parts)))
    return [i for i, p in enumerate(parts) if p.name.lower() == share.named.lower()]


def _first(parts: Sequence[Part]) -> int:
    return next(i for i, p in enumerate(parts) if p.share.of is Of.PARTS and p.share.value > 0)


def measured_by(parts: Sequence[Part], i: int) -> dict[int, float]:
    """Say which parts (by place in the recipe) part `i` is measured by, each with what its mL count for.

    A millilitre counts 1 where the share is one of volume, its density (g/mL) where it is one by weight.
    Plain parts are measured by the first of them; a share of the total counts the part itself too.

    Raises:
        MissingDensity: a share by weight of a part whose card gives no density.
    """
    share = parts[i].share
    if share.of is Of.PARTS:
        return {_first(parts): 1.0}
    return {j: parts[j].grams_per_mL if share.by_weight else 1.0 for j in _members(parts, share)}


def fractions(parts: Sequence[Part]) -> tuple[float, ...]:
    """Work out what fraction of the finished mix, by volume, each part is; they sum to 1.

    Raises:
        MissingDensity: a share by weight, and no density for a part it needs.
        NotAShare: no part to start from, an unknown reference, parts that name each other in a ring,
            or shares of the total that leave nothing for the rest.
    """
    if not parts:
        raise NotAShare("A mix needs at least one part.")
    names = [p.name.lower() for p in parts]
    if len(set(names)) < len(names):
        raise NotAShare("Two parts have the same name.")
    if not any(p.share.of is Of.PARTS and p.share.value > 0 for p in parts):
        raise NotAShare("One part must be a plain number of parts, such as base=100, to measure the rest by.")
    n = len(parts)
    rows = [[0.0] * (n + 1) for _ in range(n)]
    for i, part in enumerate(parts):
        rows[i][i] = part.grams_per_mL if part.share.by_weight else 1.0
        if part.share.of is Of.PARTS:
            rows[i][n] = part.share.value
            continue
        members = _members(parts, part.share)
        if not members or members == [i]:
            what = part.share.named or part.share.of.value
            raise NotAShare(f"{part.name} is a share of “{shorten(what)}”, and no other part is that.")
        for j, counts in measured_by(parts, i).items():
            rows[i][j] -= part.share.value * counts
    amounts = _solve(rows)
    total = sum(amounts) if amounts is not None else math.nan
    if amounts is None or not math.isfinite(total) or total <= 0 or min(amounts) < 0:
        raise NotAShare("These shares do not add up to a mix: together they leave no room for the base.")
    return tuple(a / total for a in amounts)


def _solve(rows: list[list[float]]) -> list[float] | None:
    """Solve a handful of linear equations by elimination with pivots; None where they have no one answer."""
    n = len(rows)
    for col in range(n):
        pivot = max(range(col, n), key=lambda r: abs(rows[r][col]))
        if abs(rows[pivot][col]) < 1e-12:
            return None
        rows[col], rows[pivot] = rows[pivot], rows[col]
        for r in range(n):
            if r != col and rows[r][col]:
                factor = rows[r][col] / rows[col][col]
                rows[r] = [a - factor * b for a, b in zip(rows[r], rows[col], strict=True)]
    found = [rows[i][n] / rows[i][i] for i in range(n)]
    noise = 1e-12 * max(map(abs, found))
    return [0.0 if abs(x) <= noise else x for x in found]


def amounts_mL(parts: Sequence[Part], make_mL: float) -> tuple[float, ...]:
    """Give the volume of each part (mL) for `make_mL` of finished mix.

    Raises:
        NotAShare: as `fractions`, or `make_mL` is not above zero.
    """
    if not (math.isfinite(make_mL) and make_mL > 0):
        raise NotAShare("The amount to make must be above zero.")
    return tuple(f * make_mL for f in fractions(parts))


@dataclass(frozen=True, slots=True, kw_only=True)
class PourCheck:
    """One part as poured. None stands where a figure can't be given, and `why` says why.

    `percent_of_base` is by weight where the part's share is.
    """

    name: str
    poured_mL: float | None
    percent_of_base: float | None
    off_percent: float | None
    add_mL: float
    within: bool
    why: str = ""


def check_pours(parts: Sequence[Part], poured_mL: Mapping[str, float]) -> tuple[PourCheck, ...]:
    """Compare what was poured (mL by part name) with the recipe.

    `off_percent` says how far a part is off its share *of what the card measures it by*, as poured; plain
    parts are measured by the first of them. `add_mL` is the smallest addition to each part after which all
    ratios are exact: nothing is ever taken out, so the part that is furthest over sets the size.
    A part not poured yet is not out of tolerance; what it needs is in its `add_mL`.

    Raises:
        NotAShare: as `fractions`, or a poured part that the recipe does not have.
    """
    share_of_total = fractions(parts)
    poured = [poured_mL.get(p.name) for p in parts]
    unknown = set(poured_mL) - {p.name for p in parts}
    if unknown:
        raise NotAShare(f"“{shorten(min(unknown))}” was poured, and the recipe has no such part.")
    size = size_in_cup(share_of_total, poured)
    base = [i for i, p in enumerate(parts) if p.kind is PartKind.BASE]
    checks = []
    for i, part in enumerate(parts):
        have = poured[i]
        add = share_of_total[i] * size - (have or 0.0)
        add = 0.0 if add <= 1e-9 * max(size, 1e-9) else add
        off, why = _off(i, measured_by(parts, i), share_of_total, poured)
        percent = None
        if have is not None:
            percent, no_percent = _percent_of_base(parts, i, base, poured)
            why = why or no_percent
        checks.append(
            PourCheck(
                name=part.name,
                poured_mL=have,
                percent_of_base=percent,
                off_percent=off,
                add_mL=add,
                within=off is None or part.keeps(off),
                why=why,
            )
        )
    return tuple(checks)


def reduction_of(parts: Sequence[Part], share: Share, poured_mL: Mapping[str, float]) -> float:
    """Say how much (mL) of what `share` is of is in the cup, so that `share.value` times it is the reducer.

    The reducer itself is left out of a total; plain parts are measured by the first of them. Where `share` is
    by weight, the answer is the mL of reducer that weigh as much as what it is measured by.

    Raises:
        MissingDensity: `share` is by weight, and a part it needs has no density.
    """
    per_mL = 1.0  # what a mL of the reducer counts for
    if share.by_weight:
        reducer = next((p for p in parts if p.kind is PartKind.REDUCER), None)
        if reducer is None:
            raise MissingDensity("the reducer")
        per_mL = reducer.grams_per_mL
    if share.of is Of.PARTS:
        first = next((p for p in parts if p.share.of is Of.PARTS and p.share.value > 0), None)
        if first is None:
            return 0.0
        counts = first.grams_per_mL if first.share.by_weight else 1.0
        return poured_mL.get(first.name, 0.0) * counts / first.share.value / per_mL
    members = [parts[i] for i in _members(parts, share) if parts[i].kind is not PartKind.REDUCER]
    reference = sum(poured_mL.get(p.name, 0.0) * (p.grams_per_mL if share.by_weight else 1.0) for p in members)
    return reference / per_mL / (1 - share.value) if share.of is Of.TOTAL else reference / per_mL


def size_in_cup(share_of_total: Sequence[float], poured_mL: Sequence[float | None]) -> float:
    """Say how large (mL) the smallest finished mix is that what is in the cup can become."""
    return max((p / f for p, f in zip(poured_mL, share_of_total, strict=True) if p and f > 0), default=0.0)


def _off(
    i: int, members: Mapping[int, float], share_of_total: Sequence[float], poured: Sequence[float | None]
) -> tuple[float | None, str]:
    have = poured[i]
    if have is None:
        return None, "not poured yet"
    if any(poured[j] is None for j in members if share_of_total[j] > 0):
        return None, "what it is measured by is not poured yet"
    reference = sum((poured[j] or 0.0) * counts for j, counts in members.items())
    wanted_reference = sum(share_of_total[j] * counts for j, counts in members.items())
    if reference <= 0 or share_of_total[i] <= 0:
        return None, "there is nothing to measure it by"
    wanted = share_of_total[i] / wanted_reference
    return (have / reference / wanted - 1) * 100, ""


def _percent_of_base(
    parts: Sequence[Part], i: int, base: Sequence[int], poured: Sequence[float | None]
) -> tuple[float | None, str]:
    have, by_weight = poured[i] or 0.0, parts[i].share.by_weight
    try:
        in_cup = sum((poured[j] or 0.0) * (parts[j].grams_per_mL if by_weight else 1.0) for j in base)
        own = have * (parts[i].grams_per_mL if by_weight else 1.0)
    except MissingDensity as fault:
        return None, str(fault)
    return (100 * own / in_cup, "") if in_cup > 0 else (None, "no base poured yet")
