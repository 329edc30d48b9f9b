"""What a mix is made with, as options name it: measuring tools, a scale, a cup, lots, prices and pot life."""

import argparse
import math
import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from benchtool.cli.common import (
    Means,
    Parser,
    Unusable,
    about,
    named,
    of_parts,
    percent,
    printable,
    seconds,
    short,
    whole,
)

if TYPE_CHECKING:
    from benchtool.sheets.cup_sums import Life
    from benchtool.trade.measuring import Tool
    from benchtool.trade.mixing import Part
    from benchtool.trade.quantities import Measures
    from benchtool.trade.vessel import Cup

MOST_TOOLS = 40
"""Nobody owns more; with more the search for the best of them would be long."""

SCALE_STEPS = 20_000
"""What a scale bears where nothing is said of it: so many of its steps (2 kg at 0.1 g). Common practice, no source."""

_TOOL_FORM = "--tool '3 mL syringe=syringe,0.1mL,3mL'"


def add_kit(mix: Parser) -> None:
    """Say which options name what the mix is made with."""
    kit = mix.add_argument_group("what it is measured with")
    kit.add_argument(
        "--tool",
        action="append",
        metavar="NAME=KIND,STEP,HOLDS[,ERROR]",
        help="a syringe, graduated cup, pipette, dropper or scale: '3 mL syringe=syringe,0.1mL,3mL'; a dropper's "
        "step is one drop",
    )
    kit.add_argument("--tools", choices=("shop", "usual"), help="your own tools, or a usual set to try with")
    kit.add_argument("--scale", metavar="STEP[,BEARS]", help="weigh it: the scale's step, such as 0.1g or 0.01g,500g")
    kit.add_argument("--drop", metavar="AMOUNT", help="what one drop of your dropper holds, for amounts in drops")
    kit.add_argument("--tolerance", action="append", metavar="NAME=PERCENT", help="how far a part may be off")
    cup = mix.add_argument_group("what it is made in and from")
    cup.add_argument("--cup", metavar="BOTTOM,TOP,HEIGHT", help="inside, in mm; or the name of a cup, or shop")
    cup.add_argument("--room", metavar="AMOUNT", help="all that may be in the cup")
    cup.add_argument("--left", action="append", metavar="NAME=AMOUNT", help="what is left of a part's lot")
    cup.add_argument("--price", action="append", metavar="NAME=PRICE/AMOUNT", help="such as base=24.50/1L")
    life = mix.add_argument_group("how it is sprayed")
    life.add_argument("--pot-life", metavar="TIME", help="from the activator going in, such as 4h")
    life.add_argument("--rate", metavar="RATE", help="how fast you spray, such as 10mL/min")
    life.add_argument("--stand", metavar="TIME", help="the wait before it may be sprayed, such as 5min")
    life.add_argument("--coats", metavar="N", help="how many coats of it (1)")
    life.add_argument("--flash", metavar="TIME", help="the wait between coats, such as 15min")


def read_tools(args: argparse.Namespace, means: Means, units: "Measures") -> "tuple[Tool, ...]":
    """Read --tool and --tools.

    Raises:
        Unusable: a tool that is none, too many, or no shop to look into.
    """
    from benchtool.trade.measuring import USUAL_TOOLS

    tools = [_tool(name, text, units) for name, text in named("--tool", args.tool, _TOOL_FORM[7:]).items()]
    if args.tools == "usual":
        tools += USUAL_TOOLS
    elif args.tools == "shop":
        if means.shop is None:
            raise Unusable(f"No shop is known here: name your tools with {_TOOL_FORM}.")
        tools += means.shop().tools
        if not tools:
            raise Unusable(f"There is no tool in your shop: name one with {_TOOL_FORM}.")
    if len(tools) > MOST_TOOLS:
        raise Unusable(f"That is more than {MOST_TOOLS} tools: name those you would take in hand.")
    return tuple(tools)


def _tool(name: str, text: str, units: "Measures") -> "Tool":
    from benchtool.trade.measuring import NotATool, Tool, ToolKind
    from benchtool.trade.quantities import NotAnAmount

    kind_said, *sizes = (piece.strip() for piece in text.split(","))
    kinds = {kind.value: kind for kind in ToolKind} | {"cup": ToolKind.CUP}
    kind = kinds.get(kind_said.lower())
    option = f"--tool {short(name)}"
    if kind is None:
        known = ", ".join(k.value for k in ToolKind)
        raise Unusable(f"{option}: “{short(kind_said)}” is no kind of tool. Write one of {known}.")
    if len(sizes) not in (2, 3):
        raise Unusable(f"{option} “{short(text)}” is not of the form {_TOOL_FORM}.")
    with about(option, NotAnAmount, NotATool):
        if kind is ToolKind.SCALE:
            step, holds, *error = (units.mass(size, unit="g") for size in sizes)
        else:
            step, holds, *error = (units.volume(size, unit="mL").mL for size in sizes)
        return Tool(name=name, kind=kind, step=step, capacity=holds, error=error[0] if error else None)


def read_scale(text: str, units: "Measures") -> "Tool":
    """Read `0.1g` or `0.01g,500g`.

    Raises:
        Unusable: no scale has these figures.
    """
    from benchtool.trade.measuring import NotATool, Tool, ToolKind
    from benchtool.trade.quantities import NotAnAmount

    step_said, *bears_said = (piece.strip() for piece in text.split(","))
    if len(bears_said) > 1:
        raise Unusable(f"--scale “{short(text)}” is not of the form --scale 0.1g or --scale 0.01g,500g.")
    with about("--scale", NotAnAmount, NotATool):
        step = units.mass(step_said, unit="g")
        bears = units.mass(bears_said[0], unit="g") if bears_said else step * SCALE_STEPS
        return Tool(name="scale", kind=ToolKind.SCALE, step=step, capacity=bears)


def read_cup(text: str, mL: float, means: Means, units: "Measures") -> "Cup":
    """Read `38,48,42`: the inside diameters at bottom and top and the height, in mm unless said; or a cup's name.

    `shop` is the cup that the window would take for `mL`.

    Raises:
        Unusable: no cup has this shape or this name.
    """
    from benchtool.trade.numbers import figure
    from benchtool.trade.quantities import NotAnAmount
    from benchtool.trade.vessel import USUAL_CUPS, Cup, NotACup

    said = printable(text).strip()
    own = means.shop() if means.shop is not None else None
    if said.lower() == "shop":
        from benchtool.session.owned import cup_for

        fitting = cup_for(own, mL) if own is not None else None
        if fitting is None:
            raise Unusable(
                f"No cup of your shop holds {figure(mL)} mL: write its bottom, top and height inside, such as 38,48,42."
            )
        return fitting
    for cup in (*(own.cups if own is not None else ()), *USUAL_CUPS):
        if cup.name.lower() == said.lower():
            return cup
    sizes = re.split(r"\s*[,;]\s*", said)
    if len(sizes) != 3:
        raise Unusable(f"--cup “{short(text)}”: write bottom, top and height inside, such as --cup 38,48,42, in mm.")
    with about("--cup", NotAnAmount, NotACup):
        bottom, top, height = (units.length_mm(size, unit="mm") for size in sizes)
        return Cup(name="the cup", bottom_mm=bottom, top_mm=top, height_mm=height)


def read_tolerances(args: argparse.Namespace, names: Sequence[str]) -> dict[str, float]:
    """Read --tolerance: how far each part may be off its share, as a fraction of it.

    Raises:
        Unusable: no percentage above 0 and up to 100.
    """
    found = {}
    for name, text in of_parts("--tolerance", args.tolerance, "base=5", names).items():
        value = percent(f"--tolerance {short(name)}", text)
        if not 0 < value <= 100:
            raise Unusable(f"--tolerance {short(name)} “{short(text)}”: write a percentage above 0 and up to 100.")
        found[name] = value / 100
    return found


def shop_tolerances(args: argparse.Namespace, means: Means) -> Mapping[str, float | None]:
    """Give what the painter's shop allows each kind of part, by kind; nothing unless --tools shop is given."""
    from benchtool.trade.mixing import PartKind

    if args.tools != "shop" or means.shop is None:
        return {}
    shop = means.shop()
    return {kind.value: shop.tolerance(kind) for kind in PartKind}


def read_prices(args: argparse.Namespace, parts: "Sequence[Part]", units: "Measures") -> dict[str, float]:
    """Read --price: what a mL of each part costs.

    Raises:
        Unusable: no price, or of no amount.
    """
    from benchtool.trade.cost import NotAPrice, per_mL
    from benchtool.trade.numbers import NotANumber, read_number
    from benchtool.trade.quantities import NotAnAmount

    example = "base=24.50/1L"
    typed = of_parts("--price", args.price, example, (p.name for p in parts))
    found = {}
    for part in parts:
        if part.name not in typed:
            continue
        option = f"--price {short(part.name)}"
        price_said, slash, amount = typed[part.name].partition("/")
        try:
            price, rest = read_number(price_said)
        except NotANumber:
            price, rest = math.nan, ""
        if not slash or rest or not math.isfinite(price):
            raise Unusable(f"{option} “{short(typed[part.name])}” is not of the form --price {example}.")
        with about(option, NotAnAmount, NotAPrice):
            full_mL = units.volume(amount, density_g_mL=part.density_g_mL).mL
            found[part.name] = per_mL(price, full_mL)
    return found


def read_life(args: argparse.Namespace, units: "Measures") -> "Life | None":
    """Read what pot life is reckoned with; None where no --pot-life is given.

    Raises:
        Unusable: a time, a rate or a number that is none, or one that goes with a pot life and no pot life.
    """
    from benchtool.sheets.cup_sums import Life
    from benchtool.trade.potlife import MOST_COATS
    from benchtool.trade.quantities import NotAnAmount

    if args.pot_life is None:
        given = [o for o in ("rate", "stand", "coats", "flash") if getattr(args, o) is not None]
        if given:
            raise Unusable(f"--{given[0]} goes with a pot life: give --pot-life 4h too.")
        return None
    if args.rate is None:
        raise Unusable("Say how fast you spray, such as --rate 10mL/min.")
    with about("--rate", NotAnAmount):
        rate = units.rate_mL_min(args.rate)
    return Life(
        pot_life_s=seconds("--pot-life", args.pot_life),
        rate_mL_min=rate,
        stand_s=seconds("--stand", args.stand) if args.stand is not None else 0.0,
        coats=whole("--coats", args.coats, MOST_COATS) if args.coats is not None else 1,
        flash_s=seconds("--flash", args.flash) if args.flash is not None else 0.0,
    )
