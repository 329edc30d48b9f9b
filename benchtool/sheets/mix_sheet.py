"""One mix on paper: what each part should be, how to measure it, what was poured, and what mends it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from benchtool.sheets.cup_sums import CupSums
from benchtool.sheets.cup_values import cup_lines, cup_values, part_values
from benchtool.sheets.values import Values, plain, with_why
from benchtool.trade.mixing import Part, PartKind, PourCheck
from benchtool.trade.numbers import figure
from benchtool.trade.quantities import Amount


@dataclass(frozen=True, slots=True, kw_only=True)
class MixSheet:
    """A mix as asked for. `make` is None where what is in the cup sets the size; `poured` is by part name."""

    sums: CupSums
    make: Amount | None
    poured: Mapping[str, Amount]

    @property
    def parts(self) -> tuple[Part, ...]:
        """The recipe in pour order."""
        return self.sums.parts

    @property
    def want_mL(self) -> tuple[float, ...]:
        """How much of each part is wanted."""
        return self.sums.want_mL

    @property
    def checks(self) -> tuple[PourCheck, ...]:
        """Each part as poured; empty before the first pour."""
        return self.sums.checks

    @property
    def total_mL(self) -> float:
        """The mix as wanted."""
        return sum(self.want_mL)

    @property
    def in_tolerance(self) -> bool:
        """Whether every part that was poured is right, as far as one can tell."""
        return self.sums.in_tolerance

    @property
    def can_be_measured(self) -> bool:
        """Whether the tools that were named keep every part within tolerance; what is poured already needs none."""
        return bool(self.poured) or self.sums.measurable

    @property
    def poured_mL(self) -> float:
        """All that is in the cup."""
        return sum(a.mL for a in self.poured.values())

    @property
    def mended_mL(self) -> float:
        """What the cup holds once every part in it, and every part still to pour, is right."""
        return sum((c.poured_mL or 0.0) + c.add_mL for c in self.checks)

    @property
    def notes(self) -> tuple[str, ...]:
        """What a reader of the amounts should know about them."""
        notes = []
        if self.make is None:
            notes.append("How much to make was not said: the wanted amounts are those of the cup as it will become.")
        elif self.checks and self.mended_mL < self.total_mL * (1 - 1e-9):
            notes.append(f"What is in the cup comes to {figure(self.mended_mL)} mL, less than was asked for.")
        typed = [*self.poured.values(), *([self.make] if self.make is not None else [])]
        notes += [f"{amount.understood}: count the drops in a mL of that dropper." for amount in typed if amount.guess]
        return tuple(notes)

    def percent_of_base(self, i: int) -> float | None:
        """Give part `i` in percent of the base, as poured or else as wanted; None where that can't be said."""
        if self.checks:
            return self.checks[i].percent_of_base
        pairs = zip(self.parts, self.want_mL, strict=True)
        base_mL = sum(want for part, want in pairs if part.kind is PartKind.BASE)
        return 100 * self.want_mL[i] / base_mL if base_mL > 0 else None


def mix_answer(sheet: MixSheet) -> Values:
    """Give a mix: volumes in mL, weights in g, shares in percent."""
    values: Values = {
        "parts": [_part(sheet, i) for i in range(len(sheet.parts))],
        "total_mL": sheet.total_mL,
        "in_tolerance": sheet.in_tolerance,
        "notes": list(sheet.notes),
    }
    if sheet.make is not None:
        values["make_understood"] = sheet.make.understood
    if sheet.checks:
        values["poured_total_mL"] = sheet.poured_mL
        values["mended_total_mL"] = sheet.mended_mL
    return values | cup_values(sheet.sums)


def _part(sheet: MixSheet, i: int) -> Values:
    part, want_mL = sheet.parts[i], sheet.want_mL[i]
    check = sheet.checks[i] if sheet.checks else None
    poured = sheet.poured.get(part.name)
    percent = sheet.percent_of_base(i)
    why = []
    if check is None:
        why.append("nothing poured yet")
        if percent is None:
            why.append("there is no base in this mix")
    elif check.why:
        why.append(check.why)
    if part.density_g_mL is None:
        why.append("no density is given, so no weight")
    values: Values = {
        "name": part.name,
        "kind": part.kind.value,
        "share": part.share.words(),
        "want_mL": want_mL,
        "want_g": want_mL * part.density_g_mL if part.density_g_mL is not None else None,
        "poured_mL": check.poured_mL if check is not None else None,
        "typed": poured.typed if poured is not None else None,
        "understood": poured.understood if poured is not None else None,
        "percent_of_base": percent,
        "off_percent": check.off_percent if check is not None else None,
        "add_mL": check.add_mL if check is not None else None,
    }
    more, reasons = part_values(sheet.sums, i)
    values |= more
    why += reasons
    return with_why(values, why)


def mix_text(sheet: MixSheet) -> str:
    """Write a mix as a table and the sentences that go with it."""
    return "\n".join(_lines(sheet)) + "\n"


def _lines(sheet: MixSheet) -> Iterator[str]:
    asked = f" ({sheet.make.understood})" if sheet.make is not None and not _in_mL(sheet.make) else ""
    yield f"A mix of {figure(sheet.total_mL)} mL{asked}"
    yield from sheet.notes
    yield ""
    yield from _table([_head(sheet), *(_row(sheet, i) for i in range(len(sheet.parts)))])
    yield ""
    if sheet.checks:
        yield from _verdict(sheet)
    yield from cup_lines(sheet.sums)
    if any(p.kind is PartKind.ACTIVATOR for p in sheet.parts):
        yield "Activated paint: protect skin, eyes and lungs as its safety data sheet says."


def _head(sheet: MixSheet) -> list[str]:
    poured = ["poured", "off by", "add"] if sheet.checks else []
    return ["part", "share", "wanted", "on a scale", "of the base", *poured]


def _row(sheet: MixSheet, i: int) -> list[str]:
    part, want = sheet.parts[i], sheet.want_mL[i]
    percent = sheet.percent_of_base(i)
    row = [
        plain(part.name),
        plain(part.share.words()),
        f"{figure(want)} mL",
        f"{figure(want * part.density_g_mL)} g" if part.density_g_mL is not None else "",
        f"{figure(percent)} %" if percent is not None else "",
    ]
    if not sheet.checks:
        return row
    check, poured = sheet.checks[i], sheet.poured.get(part.name)
    if poured is None:
        row.append("not yet")
    else:
        row.append(f"{figure(poured.mL)} mL" + ("" if _in_mL(poured) else f" ({poured.understood})"))
    row.append(_off(check.off_percent) if check.off_percent is not None else "")
    row.append(f"{figure(check.add_mL)} mL" if check.add_mL > 0 else "")
    return row


def _off(percent: float) -> str:
    text = f"{percent:+.1f}".removesuffix(".0")
    return "0 %" if text in ("+0", "-0") else f"{text} %"


def _in_mL(amount: Amount) -> bool:
    return amount.understood.endswith(" mL")


def _table(rows: list[list[str]]) -> Iterator[str]:
    used = [c for c in range(len(rows[0])) if any(row[c] for row in rows[1:])]
    wide = {c: max(len(row[c]) for row in rows) for c in used}
    for row in rows:
        cells = (f"{row[c]:<{wide[c]}}" if c < 2 else f"{row[c]:>{wide[c]}}" for c in used)
        yield ("  " + "  ".join(cells)).rstrip()


def _verdict(sheet: MixSheet) -> Iterator[str]:
    for part, check in zip(sheet.parts, sheet.checks, strict=True):
        if not check.within and check.off_percent is not None:
            side = "over" if check.off_percent > 0 else "under"
            words = plain(part.share.words())
            yield f"{plain(part.name)} is {abs(check.off_percent):.0f} % {side} its share ({words}): too far off."
    if sheet.in_tolerance:
        yield "What was poured is within tolerance."
    ways = sheet.sums.choices
    if ways is not None and ways.exact is None:  # it does not fit: the ways on say what does
        return
    adds = [_add(c) for c in sheet.checks if c.poured_mL is not None and c.add_mL > 0]
    rest = [_add(c) for c in sheet.checks if c.poured_mL is None and c.add_mL > 0]
    if adds:
        yield f"{'To be exact' if sheet.in_tolerance else 'To mend it'}, add {' and '.join(adds)}."
    if rest:
        yield f"Still to pour: {', '.join(rest)}."
    if adds or rest:
        yield f"That makes {figure(sheet.mended_mL)} mL."


def _add(check: PourCheck) -> str:
    return f"{figure(check.add_mL)} mL {plain(check.name)}"
