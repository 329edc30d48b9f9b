"""`benchtool mix`: the parts of a mix, whether what was poured is right, and what mends it."""

import argparse
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from benchtool.cli.common import (
    FINE,
    TROUBLE,
    Answer,
    Commands,
    Means,
    Parser,
    Unusable,
    named,
    of_parts,
    printable,
    short,
)
from benchtool.cli.kit import (
    add_kit,
    read_cup,
    read_life,
    read_prices,
    read_scale,
    read_tolerances,
    read_tools,
    shop_tolerances,
)

if TYPE_CHECKING:
    from benchtool.sheets.mix_sheet import MixSheet
    from benchtool.trade.mixing import Part
    from benchtool.trade.quantities import Amount, Measures

MOST_PARTS = 20
"""A recipe in a job file holds no more parts than this."""

RATIO_NAMES = ("base", "activator", "reducer", "additive")


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    mix: Parser = commands.add_parser(
        "mix",
        help="work out the parts of a mix, check what was poured, and mend it",
        description="Work out the parts of a mix, check what was poured, and mend it.",
        epilog=(
            "examples:\n"
            "  benchtool mix --ratio 4:1:1 --make 100mL\n"
            "  benchtool mix --part base=100 --part activator=2%base --part reducer=1xactivated --make 30mL\n"
            "  ... --poured base=1floz --poured activator=1mL\n"
            "  ... --tools usual --cup 38,48,42\n"
            "  ... --scale 0.1g --density base=1.05 --density activator=1.1 --density reducer=0.87\n"
            "  ... --pot-life 4h --stand 5min --rate 10mL/min --coats 2 --flash 15min\n\n"
            "A share is a plain number of parts, or of something: 2%base, 10%total, 1xactivated, 5%NAME;\n"
            "'2%base by weight' compares weights, and takes a --density for each part it is about.\n"
            "Amounts take any unit; a fluid ounce, pint or gallon is the US one unless you write imperial.\n"
            "Exit status: 0 fine, 1 a part is out of tolerance, as poured or by the tools, 2 the input can't be used."
        ),
    )
    mix.add_argument("--part", action="append", metavar="NAME=SHARE", help="one ingredient, in pour order")
    mix.add_argument("--ratio", metavar="A:B:C", help="instead of --part: base, activator, reducer, additive")
    mix.add_argument("--make", metavar="AMOUNT", help="how much to make; a weight where every part has a density")
    mix.add_argument("--poured", action="append", metavar="NAME=AMOUNT", help="what is in the cup already")
    mix.add_argument("--density", action="append", metavar="NAME=g/mL", help="density of a part, for weights")
    mix.add_argument("--by-weight", action="store_true", help="the numbers of --ratio are weights")
    add_kit(mix)
    return mix


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Work out the mix."""
    from benchtool.sheets.mix_sheet import mix_answer, mix_text
    from benchtool.trade.mixing import MissingDensity, NotAShare

    try:
        sheet = _sheet(args, means)
    except MissingDensity as fault:
        raise Unusable(f"{short(fault.part)} goes by weight: give --density {short(fault.part)}=1.05 too.") from None
    except NotAShare as fault:
        raise Unusable(str(fault)) from None
    status = FINE if sheet.in_tolerance and sheet.can_be_measured else TROUBLE
    return Answer(status, mix_answer(sheet), lambda: mix_text(sheet))


def _sheet(args: argparse.Namespace, means: Means) -> "MixSheet":
    from benchtool.sheets.cup_sums import cup_sums
    from benchtool.sheets.mix_sheet import MixSheet
    from benchtool.trade.mixing import fractions, size_in_cup

    parts = _parts(args, means)
    shares = fractions(parts)
    if not min(shares) > 0:
        raise Unusable("One part is so small beside the others that no cup could hold it.")
    units = means.measures()
    amounts = _Amounts(units)
    if args.drop is not None:
        amounts = replace(amounts, drop_mL=amounts.above_zero("--drop", args.drop, "0.04 mL"))
    make = None
    if args.make is not None:
        make = amounts.read("--make", printable(args.make), _density_of_mix(parts, shares), "every part")
        amounts = replace(amounts, part_mL=_one_part_mL(parts, shares, make.mL))
    poured = amounts.by_part("--poured", args.poured, "base=29.6mL", parts)
    in_cup_mL = size_in_cup(shares, [poured[p.name].mL if p.name in poured else None for p in parts])
    if not math.isfinite(in_cup_mL):
        raise Unusable("What was poured is so far off that no cup could mend it.")
    if make is None and not poured:
        raise Unusable("Say how much to make, such as --make 30mL.")
    if make is None and not in_cup_mL > 0:
        raise Unusable("Nothing is in the cup yet: say how much to make, such as --make 30mL.")
    make_mL = make.mL if make is not None else in_cup_mL
    left = amounts.by_part("--left", args.left, "base=250mL", parts)
    sums = cup_sums(
        parts,
        make_mL,
        {name: a.mL for name, a in poured.items()},
        tools=read_tools(args, means, units),
        scale=read_scale(args.scale, units) if args.scale is not None else None,
        cup=read_cup(args.cup, make_mL, means, units) if args.cup is not None else None,
        room_mL=amounts.above_zero("--room", args.room, "60 mL") if args.room is not None else None,
        left_mL={name: a.mL for name, a in left.items()},
        price_per_mL=read_prices(args, parts, units),
        life=read_life(args, units),
    )
    if sums.life_why:
        raise Unusable(sums.life_why)
    return MixSheet(sums=sums, make=make, poured=poured)


def _density_of_mix(parts: "Sequence[Part]", shares: Sequence[float]) -> float | None:
    known = [p.density_g_mL for p in parts if p.density_g_mL is not None]
    return sum(f * d for f, d in zip(shares, known, strict=True)) if len(known) == len(parts) else None


def _one_part_mL(parts: "Sequence[Part]", shares: Sequence[float], make_mL: float) -> float | None:
    """Say how much one of the recipe's plain parts is, so that “3 parts” can be poured; None where it is a weight."""
    from benchtool.trade.mixing import Of

    for part, share in zip(parts, shares, strict=True):
        if part.share.of is Of.PARTS and not part.share.by_weight:
            one = share * make_mL / part.share.value
            return one if 0 < one < math.inf else None
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Amounts:
    """Reads the amounts on the line: with the mL of one drop and of one part, where they are known."""

    units: "Measures" = field(kw_only=False)
    drop_mL: float | None = None
    part_mL: float | None = None

    def read(self, option: str, text: str, density_g_mL: float | None, of: str) -> "Amount":
        from benchtool.trade.quantities import NotAnAmount

        try:
            return self._volume(text, density_g_mL)
        except NotAnAmount as fault:
            message = str(fault)
        if density_g_mL is None and of:
            try:
                self._volume(text, 1.0)
            except NotAnAmount:
                pass
            else:  # it failed for want of a density alone
                message = f"“{short(text)}” is a weight: give --density for {short(of)} too, or a volume such as 30 mL."
        raise Unusable(f"{option}: {message}")

    def _volume(self, text: str, density_g_mL: float | None) -> "Amount":
        return self.units.volume(text, density_g_mL=density_g_mL, drop_mL=self.drop_mL, part_mL=self.part_mL)

    def above_zero(self, option: str, text: str, such_as: str) -> float:
        mL = self.read(option, printable(text), None, "").mL
        if not mL > 0:
            raise Unusable(f"{option} “{short(text)}” is nothing. Type a volume such as {such_as}.")
        return mL

    def by_part(
        self, option: str, texts: Sequence[str] | None, example: str, parts: "Sequence[Part]"
    ) -> "dict[str, Amount]":
        typed = of_parts(option, texts, example, (p.name for p in parts))
        return {p.name: self.read(option, typed[p.name], p.density_g_mL, p.name) for p in parts if p.name in typed}


def _parts(args: argparse.Namespace, means: Means) -> "tuple[Part, ...]":
    from benchtool.trade.mixing import NotAShare, Of, Part, Share, guess_kind, parse_ratio, parse_share

    shares: dict[str, Share] = {}
    if args.ratio is not None:
        if args.part:
            raise Unusable("Give --ratio or --part, not both.")
        for i, number in enumerate(parse_ratio(printable(args.ratio))):
            name = RATIO_NAMES[i] if i < len(RATIO_NAMES) else f"additive {i - len(RATIO_NAMES) + 2}"
            shares[name] = Share(number, Of.PARTS, by_weight=args.by_weight)
    elif args.by_weight:
        raise Unusable("--by-weight goes with --ratio; for a part write '2%base by weight'.")
    for name, text in named("--part", args.part, "base=100").items():
        try:
            shares[name] = parse_share(text)
        except NotAShare as fault:
            raise Unusable(f"--part {short(name)}: {fault}") from None
        if not 0 < shares[name].value < math.inf:
            raise Unusable(f"--part {short(name)}: “{short(text)}” is no amount of anything. Leave such a part out.")
    if not shares:
        raise Unusable("Say what goes into it: --part base=100 and so on for each part, or --ratio 4:1:1.")
    if len(shares) > MOST_PARTS:
        raise Unusable(f"A mix has at most {MOST_PARTS} parts.")
    typed = of_parts("--density", args.density, "base=1.05", shares)
    densities = {name: _density(text) for name, text in typed.items()}
    allowed, usual = read_tolerances(args, tuple(shares)), shop_tolerances(args, means)
    kinds = {name: guess_kind(name, first=i == 0) for i, name in enumerate(shares)}
    return tuple(
        Part(
            name=name,
            kind=kinds[name],
            share=share,
            density_g_mL=densities.get(name),
            tolerance=allowed.get(name, usual.get(kinds[name].value)),
        )
        for name, share in shares.items()
    )


def _density(text: str) -> float:
    from benchtool.trade.numbers import NotANumber, read_number

    try:
        value, unit = read_number(text)
    except NotANumber:
        value, unit = math.nan, ""
    if unit.lower() not in ("", "g/ml", "g/cm3", "g/cm³", "kg/l") or not 0.1 < value < 25:
        raise Unusable(f"--density “{short(text)}” is no density. Write it in g/mL, such as 1.05.")
    return value
