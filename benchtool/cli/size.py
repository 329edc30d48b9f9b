"""`benchtool size`: how much to mix for an area, and how thick each coat lies."""

import argparse
import re
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from benchtool.cli.common import (
    FINE,
    Answer,
    Commands,
    Means,
    Parser,
    Unusable,
    about,
    gun_named,
    percent,
    short,
    whole,
)

if TYPE_CHECKING:
    from benchtool.trade.quantities import Measures

MOST_SHAPES = 100
"""Nobody types more surfaces than this on one line."""


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    size: Parser = commands.add_parser(
        "size",
        help="work out how much to mix for an area, and its wet and dry film",
        description="Work out how much to mix for an area, and its wet and dry film.",
        epilog=(
            "examples:\n"
            "  benchtool size --area 1.5m2 --dry 25um --solids 30 --transfer 50 --thinned 50\n"
            "  benchtool size --disc 30cm --dry 1mil --solids 40 --gun airbrush --coats 2 --loss 10mL\n"
            "  benchtool size --cylinder 10cm,30cm,2 --dry 25um --solids 30\n\n"
            "Areas and shapes add up. A bare number is m2 for --area and um for --dry.\n"
            "wet_um is a coat as it is sprayed, with its reducer; wet_unthinned_um is without.\n"
            "Exit status: 0 fine, 2 the input can't be used."
        ),
    )
    size.add_argument("--area", action="append", metavar="AREA", help="such as 1.5m2 or '16 sq ft'")
    size.add_argument("--rectangle", action="append", metavar="LxW", help="such as 60cmx40cm, one face")
    size.add_argument("--disc", action="append", metavar="DIAMETER", help="such as 30cm, one face")
    size.add_argument("--cap", action="append", metavar="DIAMETER,HEIGHT", help="part of a ball, such as 30cm,10cm")
    size.add_argument("--cylinder", action="append", metavar="D,H[,ENDS]", help="such as 10cm,30cm; with 1 or 2 ends")
    size.add_argument("--dry", metavar="FILM", help="dry film of each coat, such as 25um or 1mil")
    size.add_argument("--solids", metavar="PERCENT", help="volume solids of the activated paint before reducer")
    size.add_argument("--transfer", metavar="PERCENT", help="how much of the paint lands on the piece")
    size.add_argument("--gun", metavar="GUN", help="instead of --transfer: airbrush, mini gun or full-size gun")
    size.add_argument("--thinned", metavar="PERCENT", help="reducer for 100 parts of paint, by volume")
    size.add_argument("--coats", metavar="N", help="how many coats (1)")
    size.add_argument("--loss", metavar="AMOUNT", help="what stays in cup and hose, such as 10mL")
    return size


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Work out how much to mix."""
    from benchtool.sheets.sums import SizeSheet, size_answer, size_text
    from benchtool.trade.film import MOST_COATS, TRANSFER_PERCENT, NotACoat, size
    from benchtool.trade.quantities import NotAnAmount

    if args.dry is None or args.solids is None:
        missing = "--dry 25um" if args.dry is None else "--solids 30"
        raise Unusable(f"Say how thick and of what: {missing} is missing.")
    if args.transfer is not None and args.gun is not None:
        raise Unusable("Give --transfer or --gun, not both.")
    gun = gun_named(args.gun, TRANSFER_PERCENT) if args.gun is not None else ""
    own = means.shop().transfer_percent if gun and means.shop is not None else {}
    set_by_painter = {getattr(g, "value", g): value for g, value in own.items()}
    transfer = percent("--transfer", args.transfer) if args.transfer is not None else 100.0
    if gun:
        transfer = set_by_painter.get(gun, TRANSFER_PERCENT[gun])
    coats = whole("--coats", args.coats, MOST_COATS) if args.coats is not None else 1
    solids = percent("--solids", args.solids)
    thinned = percent("--thinned", args.thinned) if args.thinned is not None else 0.0
    units = means.measures()
    with about("--dry", NotAnAmount):
        dry_um = units.length_um(args.dry, unit="um")
    loss_mL = 0.0
    if args.loss is not None:
        with about("--loss", NotAnAmount):
            loss_mL = units.volume(args.loss).mL
    area_m2 = sum(_areas(args, units))
    try:
        sized = size(
            area_m2=area_m2,
            dry_um=dry_um,
            solids_percent=solids,
            transfer_percent=transfer,
            coats=coats,
            thinned_percent=thinned,
            loss_mL=loss_mL,
        )
    except NotACoat as fault:
        raise Unusable(str(fault)) from None
    sheet = SizeSheet(
        sized=sized,
        area_m2=area_m2,
        coats=coats,
        solids_percent=solids,
        transfer_percent=transfer,
        thinned_percent=thinned,
        gun=gun if gun and transfer == TRANSFER_PERCENT[gun] else "",
    )
    return Answer(FINE, size_answer(sheet), lambda: size_text(sheet))


def _areas(args: argparse.Namespace, units: "Measures") -> Iterator[float]:
    from benchtool.trade.film import cap_m2, cylinder_m2, disc_m2, rectangle_m2

    shapes: tuple[tuple[str, str, Callable[..., float], str], ...] = (
        ("--rectangle", "60cmx40cm", rectangle_m2, r"\s*[x×*,;]\s*"),
        ("--disc", "30cm", disc_m2, r"\s*[,;]\s*"),
        ("--cap", "30cm,10cm", cap_m2, r"\s*[x×*,;]\s*"),
        ("--cylinder", "10cm,30cm or 10cm,30cm,2", cylinder_m2, r"\s*[x×*,;]\s*"),
    )
    typed = [(option, text) for option in ("area",) for text in args.area or ()]
    given = [(shape, text) for shape in shapes for text in getattr(args, shape[0][2:]) or ()]
    if not typed and not given:
        raise Unusable("Say what is to be painted: --area 1.5m2, --rectangle 60cmx40cm, --disc, --cap or --cylinder.")
    if len(typed) + len(given) > MOST_SHAPES:
        raise Unusable(f"That is more than {MOST_SHAPES} surfaces: add some of them up first.")
    for _, text in typed:
        yield _area(units, text)
    for (option, example, area, between), text in given:
        yield _shape(units, option, example, area, re.split(between, text.strip(), flags=re.IGNORECASE), text)


def _area(units: "Measures", text: str) -> float:
    from benchtool.trade.quantities import NotAnAmount

    with about("--area", NotAnAmount):
        area = units.area_m2(text, unit="m2")
        if not area > 0:
            raise NotAnAmount(f"“{short(text)}” is nothing to paint. Type an area such as 1.5 m2 or 16 sq ft.")
        return area


def _shape(
    units: "Measures", option: str, example: str, area: Callable[..., float], sizes: list[str], text: str
) -> float:
    from benchtool.trade.film import NotACoat
    from benchtool.trade.quantities import NotAnAmount

    lengths = {"--disc": 1}.get(option, 2)
    ends: dict[str, int] = {}
    if option == "--cylinder" and len(sizes) == lengths + 1:
        found = re.fullmatch(r"([0-2])(?:\s*ends?)?", sizes.pop(), flags=re.IGNORECASE)
        if found is None:
            raise Unusable("--cylinder: A cylinder has two ends: write how many of them are painted, 0, 1 or 2.")
        ends["ends"] = int(found[1])
    if len(sizes) != lengths:
        raise Unusable(f"{option} “{short(text)}” is not of the form {option} {example}.")
    with about(option, NotAnAmount, NotACoat):
        return area(*(units.length_mm(each) for each in sizes), **ends)
