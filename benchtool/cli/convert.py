"""`benchtool convert`: an amount in another unit."""

import argparse

from benchtool.cli.common import FINE, Answer, Commands, Means, Parser, Unusable, about


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    convert: Parser = commands.add_parser(
        "convert",
        help="turn an amount into another unit",
        description="Turn an amount into another unit.",
        epilog=(
            "examples:\n"
            "  benchtool convert '1 imperial fl oz' mL\n"
            "  benchtool convert '1/2 tsp' mL\n"
            "  benchtool convert '15 drops' mL --drop 0.04mL\n"
            "  benchtool convert 68F C\n"
            "  benchtool convert 30g mL --density 1.2\n\n"
            "A fluid ounce, pint, quart or gallon is the US one unless you write imperial. Drops are a guess\n"
            "until you say how much one of them is.\n"
            "Exit status: 0 fine, 2 the input can't be used."
        ),
    )
    convert.add_argument("amount", metavar="AMOUNT", help="a number and its unit")
    convert.add_argument("unit", metavar="UNIT", help="the unit to turn it into")
    convert.add_argument("--drop", metavar="AMOUNT", help="what one drop of that dropper holds, such as 0.04mL")
    convert.add_argument("--density", metavar="G_PER_ML", help="to turn a weight into a volume, or back")
    return convert


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Turn the amount into the unit."""
    from benchtool.sheets.sums import convert_answer, convert_text
    from benchtool.trade.quantities import NotAnAmount

    units = means.measures()
    drop_mL = density = None
    if args.drop is not None:
        with about("--drop", NotAnAmount):
            drop_mL = units.volume(args.drop).mL
            if not drop_mL > 0:
                raise NotAnAmount("A drop of nothing is none. Type a volume such as 0.04 mL.")
    if args.density is not None:
        with about("--density", NotAnAmount):
            density = units.density_g_mL(args.density, unit="g/mL")
    try:
        done = units.convert(args.amount, args.unit, drop_mL=drop_mL, density_g_mL=density)
    except NotAnAmount as fault:
        raise Unusable(str(fault)) from None
    return Answer(FINE, convert_answer(*done), lambda: convert_text(*done))
