"""`benchtool flow`: the seconds of a flow cup, its viscosity, and the seconds in another cup."""

import argparse
from typing import TYPE_CHECKING, Any

from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, about, gun_named, seconds

if TYPE_CHECKING:
    from benchtool.trade.flow import FlowCup


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    flow: Parser = commands.add_parser(
        "flow",
        help="turn the seconds of a flow cup into viscosity, or into another cup's seconds",
        description="Turn the seconds of a flow cup into viscosity, or into another cup's seconds.",
        epilog=(
            "examples:\n"
            "  benchtool flow 'Ford 4' 30\n"
            "  benchtool flow 'Ford 4' 30 --to 'DIN 4'\n"
            "  benchtool flow --viscosity 98.2 'ISO 4 mm'\n"
            "  benchtool flow 'Zahn 2' 22 --wanted 18 --gun airbrush --temperature 19C\n\n"
            "Cups: ISO 3 to 6 mm, Ford 1 to 5, Zahn 1 to 5, DIN 4 mm. A viscosity without a unit is in mm2/s.\n"
            "Exit status: 0 fine, 1 a cup can't be read there, 2 the input can't be used."
        ),
    )
    flow.add_argument("words", nargs="*", metavar="CUP SECONDS", help="the cup and what the stopwatch said")
    flow.add_argument("--viscosity", metavar="V", help="instead of seconds: a viscosity, such as 98.2 or 98.2cSt")
    flow.add_argument("--to", metavar="CUP", help="give the seconds in this cup")
    flow.add_argument("--temperature", metavar="T", help="how warm the paint is, such as 19C")
    flow.add_argument("--wanted", metavar="SECONDS", help="what the card asks for in the same cup")
    flow.add_argument("--gun", metavar="GUN", help="the gun it is asked for")
    _let_words_follow(flow)
    return flow


def _let_words_follow(flow: Parser) -> None:
    """Let CUP and SECONDS stand after the options too: argparse takes a starred place as empty at the first option."""
    usual = flow.parse_known_args

    def parse(args: Any = None, namespace: Any = None) -> Any:
        found, left = usual(args, namespace)
        words = [word for word in left if not word.startswith("-")]
        found.words = [*found.words, *words]
        return found, [word for word in left if word.startswith("-")]

    flow.parse_known_args = parse  # type: ignore[method-assign]


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Turn a reading or a viscosity into what was asked."""
    from benchtool.sheets.sums import flow_answer, flow_of, flow_text, read_flow
    from benchtool.trade.film import TRANSFER_PERCENT
    from benchtool.trade.flow import OutOfRange
    from benchtool.trade.quantities import NotAnAmount

    gun = gun_named(args.gun, TRANSFER_PERCENT) if args.gun is not None else "gun"
    to = _cup("--to", args.to) if args.to is not None else None
    try:
        if args.viscosity is not None:
            if args.wanted is not None or args.temperature is not None:
                raise Unusable("--wanted and --temperature go with the seconds of a cup, not with --viscosity.")
            if args.words and to is not None:
                raise Unusable("With --viscosity name one cup: as --to CUP, or alone.")
            if args.words:
                to = _cup("CUP", " ".join(args.words))
            with about("--viscosity", NotAnAmount):
                viscosity = means.measures().viscosity_mm2_s(args.viscosity, unit="mm2/s")
            sheet = flow_of(viscosity, to)
        else:
            cup, time_s = _reading(args.words)
            degC = None
            if args.temperature is not None:
                with about("--temperature", NotAnAmount):
                    degC = means.measures().temperature_degC(args.temperature)
            wanted_s = seconds("--wanted", args.wanted, "s") if args.wanted is not None else None
            sheet = read_flow(cup, time_s, to=to, degC=degC, wanted_s=wanted_s, gun=gun)
    except OutOfRange as fault:
        raise Unusable(str(fault)) from None
    return Answer(FINE if sheet.in_range else TROUBLE, flow_answer(sheet), lambda: flow_text(sheet))


def _reading(words: list[str]) -> tuple["FlowCup", float]:
    if len(words) < 2:
        raise Unusable("Name the cup and its seconds, such as benchtool flow 'Ford 4' 30, or give --viscosity.")
    cup = _cup("CUP", " ".join(words[:-1]))
    return cup, seconds("SECONDS", words[-1], "s")


def _cup(option: str, text: str) -> "FlowCup":
    from benchtool.trade.flow import NotAFlowCup, read_cup

    with about(option, NotAFlowCup):
        return read_cup(text)
