"""`benchtool air`: dew point, wet bulb and vapour pressure, and whether a surface is dry enough to paint."""

import argparse
from typing import TYPE_CHECKING

from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, about, percent, short

if TYPE_CHECKING:
    from benchtool.trade.quantities import Measures


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    air: Parser = commands.add_parser(
        "air",
        help="work out dew point and wet bulb, and whether a surface is dry enough to paint",
        description="Work out dew point and wet bulb, and whether a surface is dry enough to paint.",
        epilog=(
            "examples:\n"
            "  benchtool air --temperature 20C --humidity 50 --surface 15C\n"
            "  benchtool air --temperature 68F --humidity 50 --surface 59F --altitude 1500m\n"
            "  benchtool air --temperature 20C --wet-bulb 15C\n\n"
            "A surface is dry enough when it is at least 3 C above the dew point.\n"
            "A bare number is Pa for --pressure and m for --altitude; a temperature needs its unit. A weather report\n"
            "gives the pressure at sea level: give what a barometer in the shop shows, or --altitude.\n"
            "Exit status: 0 fine, 1 the surface is less than 3 C above the dew point, 2 the input can't be used."
        ),
    )
    air.add_argument("--temperature", metavar="T", help="of the air, such as 20C or 68F")
    air.add_argument("--humidity", metavar="PERCENT", help="relative humidity, such as 50")
    air.add_argument("--wet-bulb", metavar="T", help="instead of --humidity: a psychrometer's wet bulb, such as 15C")
    air.add_argument("--surface", metavar="T", help="of the piece, such as 15C")
    air.add_argument("--pressure", metavar="P", help="of the air in the shop, such as 1013hPa (sea level)")
    air.add_argument("--altitude", metavar="H", help="instead of --pressure: height above the sea, such as 1500m")
    air.add_argument("--fast", action="store_true", help="the reducer is a fast one: it blushes sooner")
    return air


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Work out how the air stands."""
    from benchtool.sheets.air_answer import AirSheet, air_answer, air_text
    from benchtool.trade.air import SEA_LEVEL_PA, Air, NotAir, altitude_pressure_Pa, humidity_from_wet_bulb

    if args.temperature is None:
        raise Unusable("Say how warm the air is: --temperature 20C is missing.")
    if (args.humidity is None) == (args.wet_bulb is None):
        few = "Say how damp the air is: --humidity 50, or --wet-bulb 15C, is missing."
        raise Unusable(few if args.humidity is None else "Give --humidity or --wet-bulb, not both.")
    if args.pressure is not None and args.altitude is not None:
        raise Unusable("Give --pressure or --altitude, not both.")
    units = means.measures()
    humidity = percent("--humidity", args.humidity) if args.humidity is not None else None
    degC = _warmth("--temperature", args.temperature, units, humidity)
    surface = _warmth("--surface", args.surface, units) if args.surface is not None else None
    pressure = SEA_LEVEL_PA
    try:
        if args.pressure is not None:
            pressure = _measured("--pressure", args.pressure, units, "Pa")
        elif args.altitude is not None:
            pressure = altitude_pressure_Pa(_measured("--altitude", args.altitude, units, "m"))
        if humidity is None:
            humidity = humidity_from_wet_bulb(degC, _warmth("--wet-bulb", args.wet_bulb, units), pressure)
        air = Air(air_degC=degC, humidity_percent=humidity, surface_degC=surface, pressure_Pa=pressure)
        sheet = AirSheet(air, fast=args.fast)
        values = air_answer(sheet)
    except NotAir as fault:
        raise Unusable(str(fault)) from None
    return Answer(TROUBLE if sheet.stop else FINE, values, lambda: air_text(sheet))


def _warmth(option: str, text: str, units: "Measures", humidity: float | None = None) -> float:
    from benchtool.trade.air import misread_fahrenheit
    from benchtool.trade.numbers import figure
    from benchtool.trade.quantities import NotAnAmount

    bare = _bare(text)
    if bare is not None and humidity is not None and (meant := misread_fahrenheit(bare, humidity)) is not None:
        said = short(text)
        raise Unusable(f"{option}: “{said}” has no unit: write {said}F if it was °F, which is {figure(meant)} °C.")
    with about(option, NotAnAmount):
        return units.temperature_degC(text)


def _measured(option: str, text: str, units: "Measures", unit: str) -> float:
    from benchtool.trade.quantities import NotAnAmount

    with about(option, NotAnAmount):
        return units.convert(text if _bare(text) is None else f"{text} {unit}", unit).value


def _bare(text: str) -> float | None:
    """Give a number that stands alone; None where there is a unit, or no number."""
    from benchtool.trade.numbers import NotANumber, read_number

    try:
        value, unit = read_number(text)
    except NotANumber:
        return None
    return value if not unit else None
