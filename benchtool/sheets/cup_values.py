"""The sums of a cup as values for JSON and as sentences: tools, scale, cup, ways on, pot life, cost."""

from collections.abc import Iterator

from benchtool.sheets.cup_sums import CupSums
from benchtool.sheets.values import Values, plain, with_why
from benchtool.trade.measuring import Measuring
from benchtool.trade.numbers import clock_words, pour_figure
from benchtool.trade.potlife import CupPlan
from benchtool.trade.rescue import Rescue


def part_values(sums: CupSums, i: int) -> tuple[Values, list[str]]:
    """Give what was worked out of part `i`, and why a figure of it can't be given.

    Only what was asked for is there: tools, a scale, a cup, prices, and what was poured each bring their own keys.
    """
    values: Values = {}
    why: list[str] = []
    if sums.measuring is not None:
        _measured(sums, i, values, why)
    if sums.scale is not None:
        weighed = sums.weighed[i] if sums.weighed is not None else None
        values |= {
            "measured_g": weighed.g if weighed is not None else None,
            "reading_g": weighed.reading_g if weighed is not None else None,
            "weighed_off_percent": weighed.off_percent if weighed is not None else None,
            "weighed_worst_percent": weighed.worst_percent if weighed is not None else None,
        }
        if weighed is None:
            why.append(sums.weigh_why)
        elif weighed.off_percent is None:
            why.append("what the others are measured by has no ratio of its own")
    if sums.cup is not None:
        values["fill_mm"] = sums.fill_mm[i]
        if sums.fill_mm[i] is None:
            why.append(sums.fill_why)
    if sums.choices is not None:
        enough = sums.choices.enough
        values["add_enough_mL"] = enough.add_mL[i] if enough is not None else None
        if enough is None:
            why.append("no addition that fits is enough")
    if sums.cost:
        values["cost"] = sums.cost[i]
        if sums.cost[i] is None:
            why.append("no price is given for it")
    return values, why


def _measured(sums: CupSums, i: int, values: Values, why: list[str]) -> None:
    assert sums.measuring is not None
    found = sums.measuring.measured[i]
    tool = found.tool
    worst = sums.measuring.worst_percent[i]
    values |= {
        "tool": plain(tool.name) if tool is not None else None,
        "fills": found.fills,
        "mark": float(found.mark) if found.mark is not None else None,
        "measured_mL": found.mL if tool is not None else None,
        "rounding_percent": found.rounding_percent if tool is not None else None,
        "marked_off_percent": sums.measuring.off_percent[i],
        "worst_percent": worst,
        "measurable": sums.measuring.within[i],
        "guess": found.guess,
        "measure_words": plain(found.words),
    }
    if tool is None:
        why.append(plain(found.words))
    elif worst is None:
        why.append("measured by itself it has no ratio")
    if sums.choices is not None:
        add = sums.adds[i]
        values |= {
            "add_tool": plain(add.tool.name) if add is not None and add.tool is not None else None,
            "add_mark": float(add.mark) if add is not None and add.mark is not None else None,
            "add_words": plain(add.words) if add is not None else None,
        }
        if add is None:
            why.append("nothing is to be added, or no tool measures it")


def cup_values(sums: CupSums) -> Values:
    """Give what was worked out of the cup as a whole; the keys of what was not asked for are not there."""
    values: Values = {}
    why: list[str] = []
    if sums.measuring is not None or sums.weighed is not None:
        values["measurable"] = sums.measurable
    if sums.measuring is not None:
        values |= {
            "smallest_batch_mL": sums.measuring.smallest_mL,
            "measuring_words": plain(sums.measuring.words),
        }
        if sums.measuring.smallest_mL is None:
            kept = all(sums.measuring.within)
            why.append("these tools keep this size" if kept else "no batch can be kept by these tools")
    if sums.scale is not None:
        values["scale_words"] = plain(sums.scale_words)
    if sums.cup is not None:
        values |= {"cup": plain(sums.cup.name), "cup_holds_mL": sums.cup.capacity_mL, "cup_words": plain(sums.fill_why)}
    if sums.choices is not None:
        values["rescue"] = _rescue(sums)
    if sums.largest_mL is not None:
        values |= {"largest_batch_mL": sums.largest_mL, "cups": [_cup(plan) for plan in sums.cups]}
    if sums.cost:
        values["total_cost"] = sums.total_cost
        if sums.total_cost is None:
            why.append("a price is missing")
    return with_why(values, why)


def _rescue(sums: CupSums) -> Values:
    ways = sums.choices
    assert ways is not None
    why = []
    if ways.exact is None:
        why.append("all exact does not fit the cup, or a lot has too little left")
    if ways.enough is None:
        why.append("no addition that fits is enough")
    else:
        why.append("what is enough leaves nothing to be the best of")
    fresh = {plain(p.name): mL for p, mL in zip(sums.parts, ways.restart_mL, strict=True)}
    return with_why(
        {
            "exact": _way(sums, ways.exact, ways.cost_exact),
            "enough": _way(sums, ways.enough, ways.cost_enough),
            "best": _way(sums, ways.best, None, priced=False),
            "restart": _priced({"amounts_mL": fresh, "wasted_mL": ways.wasted_mL}, ways.cost_restart),
            "words": [plain(words) for words in ways.words],
        },
        why,
    )


def _way(sums: CupSums, way: Rescue | None, cost: float | None, *, priced: bool = True) -> Values | None:
    if way is None:
        return None
    values: Values = {
        "add_mL": {plain(p.name): mL for p, mL in zip(sums.parts, way.add_mL, strict=True)},
        "total_mL": way.total_mL,
        "within": way.within,
        "worst_percent": way.worst_percent,
    }
    return _priced(values, cost) if priced else with_why(values, [])


def _priced(values: Values, cost: float | None) -> Values:
    return with_why(values | {"cost": cost}, ["a price is missing"] if cost is None else [])


def _cup(plan: CupPlan) -> Values:
    return with_why(
        {
            "number": plan.number,
            "mL": plan.mL,
            "coats": list(plan.coats),
            "mix_at_s": plan.mix_at_s,
            "spray_at_s": plan.spray_at_s,
            "ends_s": plan.ends_s,
            "pot_life_ends_s": plan.pot_life_ends_s,
        },
        [],
    )


def cup_lines(sums: CupSums) -> Iterator[str]:
    """Say what was worked out of a cup, a sentence at a time."""
    for words in _words(sums):
        yield plain(words)


def _words(sums: CupSums) -> Iterator[str]:
    if sums.measuring is not None:
        yield from _measuring_words(sums, sums.measuring)
    if sums.weighed is not None:
        start = "All of it on" if sums.measuring is not None and not sums.poured_mL else "On"
        yield f"{start} the scale, set to zero once with the empty cup on it:"
        yield from (f"- {w.words}{_off_words(w.off_percent, w.worst_percent)}" for w in sums.weighed)
    if sums.scale_words:
        yield sums.scale_words
    if sums.cup is not None:
        named = [(p.name, mm) for p, mm in zip(sums.parts, sums.fill_mm, strict=True) if mm is not None]
        if named:
            lines = ", ".join(f"{name} to {mm:.1f} mm" for name, mm in named)
            yield f"On a dipstick, from the bottom of {sums.cup.name}: {lines}."
        if sums.fill_why:
            yield sums.fill_why
    if sums.choices is not None and (not sums.in_tolerance or sums.choices.exact is None):
        yield "The ways on from what was poured:"
        yield from (f"- {words}" for words in sums.choices.words)
    if sums.choices is not None:
        adds = [(p.name, add) for p, add in zip(sums.parts, sums.adds, strict=False) if add is not None]
        yield from (f"To add {pour_figure(add.want_mL)} mL {name}: {add.words}." for name, add in adds)
    yield from _cost_words(sums)
    yield from _life_words(sums)


def _measuring_words(sums: CupSums, measuring: Measuring) -> Iterator[str]:
    if not sums.poured_mL and not (sums.by_scale_alone and sums.weighed is not None):
        yield "To measure it:"
        pairs = zip(measuring.measured, measuring.off_percent, measuring.worst_percent, strict=True)
        for found, off, worst in pairs:
            guess = " (a guess: count the drops in a mL)" if found.guess else ""
            yield f"- {found.part}: {found.words}{_off_words(off, worst)}{guess}"
        if measuring.words:
            yield measuring.words


def _off_words(off: float | None, worst: float | None) -> str:
    if off is None or worst is None:
        return ""
    return f" ({off:+.1f} % by the marks, at worst {worst:+.0f} %)"


def _cost_words(sums: CupSums) -> Iterator[str]:
    if not sums.cost:
        return
    priced = [f"{p.name} {c:.2f}" for p, c in zip(sums.parts, sums.cost, strict=True) if c is not None]
    whole = f", {sums.total_cost:.2f} in all" if sums.total_cost is not None else "; the rest has no price"
    yield f"It costs {', '.join(priced)}{whole}."


def _life_words(sums: CupSums) -> Iterator[str]:
    if sums.largest_mL is None:
        return
    if sums.largest_mL > 0:
        yield f"At most {pour_figure(sums.largest_mL)} mL can be sprayed in all coats before its pot life ends."
    else:
        yield "The waits between coats outlast one cup: a later coat needs a fresh one."
    if len(sums.cups) == 1:
        yield f"One cup of {pour_figure(sums.cups[0].mL)} mL will do."
        return
    yield f"Make it in {len(sums.cups)} cups, with no time lost between them:"
    for plan in sums.cups:
        coats = f"coat {plan.coats[0]}" if len(plan.coats) == 1 else f"coats {plan.coats[0]} to {plan.coats[-1]}"
        yield (
            f"- cup {plan.number}, {pour_figure(plan.mL)} mL for {coats}: activator in at {clock_words(plan.mix_at_s)} "
            f"from now, spray from {clock_words(plan.spray_at_s)} to {clock_words(plan.ends_s)}."
        )
