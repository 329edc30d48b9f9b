"""A reading of the air as typed: what is wrong with which field, and what follows from it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial

from benchtool.job import events as ev
from benchtool.rules.air import down
from benchtool.session.cardfields import Wrong
from benchtool.session.session import Draft
from benchtool.trade.air import (
    MARGIN_K,
    Air,
    NotAir,
    keeps_margin,
    margin_K,
    misread_fahrenheit,
    misread_surface,
)  # fmt: skip
from benchtool.trade.numbers import NotANumber, figure, read_number, shorten
from benchtool.trade.quantities import Measures, NotAnAmount

TYPED = "typed"


@dataclass(frozen=True, slots=True)
class Taken:
    """A reading as understood: the event still to be stamped, and what to say of it."""

    draft: Draft
    words: str


def read_reading(measures: Measures, typed: Mapping[str, str]) -> Taken:
    """Read air, humidity, surface and speed; the last two may be left empty. Bare numbers are °C, % and m/s.

    Raises:
        Wrong: with the fields at fault.
    """
    faults: list[tuple[str, str]] = []

    def ask(key: str, read: Callable[[str], float], *, may_lack: bool = False) -> float | None:
        text = typed.get(key, "").strip()
        if not text and may_lack:
            return None
        try:
            return read(text)
        except (NotAnAmount, NotANumber) as wrong:
            faults.append((key, str(wrong)))
            return None

    degC = partial(measures.temperature_degC, unit="degC")
    air = ask("air", degC)
    humidity = ask("humidity", _percent)
    surface = ask("surface", degC, may_lack=True)
    speed = ask("speed", _speed, may_lack=True)
    if faults or air is None or humidity is None:
        raise Wrong(faults)
    return _checked(air, humidity, surface, speed)


def _checked(air: float, humidity: float, surface: float | None, speed: float | None) -> Taken:
    parts: list[tuple[str, dict[str, float]]] = [("humidity", {"air_degC": 20.0, "humidity_percent": humidity})]
    parts.append(("air", {"air_degC": air, "humidity_percent": humidity}))
    if surface is not None:
        parts.append(("surface", {**parts[-1][1], "surface_degC": surface}))
    if speed is not None:
        parts.append(("speed", {**parts[-1][1], "speed_m_s": speed}))
    made = None
    for key, values in parts:
        try:
            made = Air(**values)
        except NotAir as wrong:
            raise Wrong([(key, str(wrong))]) from None
    assert made is not None
    draft = partial(
        ev.ReadingTaken,
        air_degC=air,
        humidity_percent=humidity,
        surface_degC=surface,
        speed_m_s=speed,
        source=TYPED,
    )
    return Taken(draft, f"Reading logged.{_words(made)}")


def _words(air: Air) -> str:
    """What the painter should know of it at once: a slip of units, or dew."""
    meant = misread_fahrenheit(air.air_degC, air.humidity_percent)
    if meant is not None:
        return f" If {air.air_degC:g} was °F, undo it (U) and type {figure(meant)} °C."
    surface = misread_surface(air)
    if surface is not None:
        return f" A surface of {air.surface_degC:g} °C? If that was °F, undo it (U) and type {figure(surface)} °C."
    margin = margin_K(air)
    if margin is None:
        return f" Dew point {air.dew_point_degC:.1f} °C."
    told = f" Dew point {air.dew_point_degC:.1f} °C, the surface {down(abs(margin))} °C "
    told += "above it." if margin >= 0 else "below it."
    return told if keeps_margin(margin) else f"{told} {MARGIN_K:g} °C is the least: do not spray."


def _percent(text: str) -> float:
    value, rest = read_number(text)
    if rest not in ("", "%", "% RH", "%RH", "RH"):
        raise NotANumber(f"“{shorten(text)}” is no humidity: write percent, such as 50.")
    return value


def _speed(text: str) -> float:
    value, rest = read_number(text)
    factor = {"": 1.0, "m/s": 1.0, "ft/min": 0.00508, "fpm": 0.00508, "km/h": 1 / 3.6}.get(rest.lower())
    if factor is None:
        raise NotANumber(f"“{shorten(text)}” is no speed of air: write m/s, such as 0.3.")
    return value * factor
