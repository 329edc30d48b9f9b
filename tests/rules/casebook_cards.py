"""The products of the case book: one of each kind that a shop has, as their sheets usually run.

Times, films and shares are those of the trade in general: common practice, no source.
"""

from datetime import timedelta
from typing import Any

from builders import (
    CLEAR,
    COLOUR,
    ENAMEL,
    EPOXY,
    ETCH,
    FILLER,
    LACQUER,
    METALLIC,
    POLYOLEFIN,
    PRACTICE,
    PROMOTER,
    SEALER,
    URETHANE,
    UV_CLEAR,
    WATERBORNE,
    hours,
    minutes,
)
from msgspec.structs import replace

from benchtool.job.cards import Activator, AirRange, Card, Carrier, Chemistry, Duty, Hazard, Trait
from benchtool.trade.substrates import Suits

DAY = timedelta(days=1)


def _one_part(key: str, name: str, duty: Duty, chemistry: Chemistry, carrier: Carrier, **more: Any) -> Card:
    usual = {"coats_least": 1, "coats_most": 4, "flash": minutes(10), "recoat_opens": hours(1), "tape": DAY}
    return Card(id=key, name=name, duty=duty, origins=PRACTICE, chemistry=chemistry, carrier=carrier, **(usual | more))


_PRIMER = replace(
    SEALER,
    id="primer",
    name="Two-part primer",
    duty=Duty.PRIMER,
    activators=(Activator(id="primer-b", name="Primer hardener", suits=Suits.ANY, share="25 % of base"),),
    coats_most=3,
    film_um=35.0,
    recoat_opens=hours(2),
)

_BASE = _one_part(
    "base",
    "Solvent base",
    Duty.BASE,
    Chemistry.LACQUER,
    Carrier.SOLVENT,
    film_um=15.0,
    recoat_opens=minutes(20),
    recoat_closes=hours(24),
    hazards=(Hazard.SOLVENT,),
)

_SHELL = _one_part(
    "shell",
    "Lacquer for clear shells",
    Duty.BASE,
    Chemistry.LACQUER,
    Carrier.SOLVENT,
    traits=(Trait.FLEXIBLE,),
    film_um=10.0,
    recoat_opens=minutes(20),
    hazards=(Hazard.SOLVENT,),
)

_CLEAR = replace(URETHANE, id="clear", name="Urethane clear", film_um=30.0)

CARDS: dict[str, Card] = {
    "etch": replace(ETCH, film_um=8.0),
    "epoxy": replace(EPOXY, film_um=25.0, film_most_um=100.0),
    "epoxy-open": replace(EPOXY, id="epoxy-open", name="Epoxy without a last time", recoat_closes=None),
    "primer": _PRIMER,
    "flexprimer": replace(_PRIMER, id="flexprimer", name="Flexible primer", film_um=20.0, traits=(Trait.FLEXIBLE,)),
    "highsolids": replace(_PRIMER, id="highsolids", name="High-solids primer", traits=(Trait.HIGH_SOLIDS,)),
    "primer1k": _one_part(
        "primer1k", "One-part primer", Duty.PRIMER, Chemistry.LACQUER, Carrier.SOLVENT, cure=DAY, film_um=20.0
    ),
    "waterprimer": _one_part(
        "waterprimer",
        "Waterborne primer",
        Duty.PRIMER,
        Chemistry.ACRYLIC,
        Carrier.WATER,
        recoat_opens=hours(2),
        cure=7 * DAY,
    ),
    "glassprimer": _one_part("glassprimer", "Glass primer", Duty.PRIMER, Chemistry.OTHER, Carrier.SOLVENT),
    "leatherprimer": _one_part(
        "leatherprimer", "Leather primer", Duty.PRIMER, Chemistry.ACRYLIC, Carrier.WATER, traits=(Trait.FLEXIBLE,)
    ),
    "zinc": replace(
        EPOXY, id="zinc", name="Zinc-rich primer", traits=(Trait.ZINC_RICH,), stand=None, recoat_opens=hours(16)
    ),
    "filler": replace(FILLER, film_um=80.0),
    "sealer": replace(SEALER, film_um=20.0),
    "base": _BASE,
    "metallic": replace(METALLIC, film_um=12.0),
    "candy": replace(_BASE, id="candy", name="Candy", traits=(Trait.TRANSLUCENT,)),
    "onlycandy": replace(
        _BASE, id="onlycandy", name="Candy for silver", traits=(Trait.TRANSLUCENT,), only_over=("metallic",)
    ),
    "dusty": replace(
        _BASE,
        id="dusty",
        name="Base with a dust-free time only",
        flash=None,
        recoat_opens=None,
        recoat_closes=None,
        tape=None,
        dust_free=minutes(15),
    ),
    "contrary": replace(_BASE, id="contrary", name="Base at odds with itself", traits=(Trait.BRITTLE, Trait.FLEXIBLE)),
    "keeping": replace(_BASE, id="keeping", name="Base that keeps half a year", keeps_opened=180 * DAY),
    "ranged": replace(
        _BASE, id="ranged", name="Base with a range", air=AirRange(least_degC=15.0, most_degC=30.0, most_percent=75.0)
    ),
    "colour": COLOUR,
    "lacquer": replace(LACQUER, film_um=12.0),
    "fastlacquer": replace(LACQUER, id="fastlacquer", name="Fast lacquer", fast_solvent=True),
    "lacquerclear": _one_part(
        "lacquerclear",
        "Clear lacquer",
        Duty.CLEAR,
        Chemistry.LACQUER,
        Carrier.SOLVENT,
        coats_least=2,
        film_um=12.0,
        cure=7 * DAY,
    ),
    "varnish": replace(ENAMEL, id="varnish", name="Oil varnish", duty=Duty.CLEAR, coats_least=2),
    "enamel": ENAMEL,
    "water": replace(WATERBORNE, film_um=15.0),
    "waterflex": replace(WATERBORNE, id="waterflex", name="Flexible waterborne", traits=(Trait.FLEXIBLE,)),
    "waterclear": replace(WATERBORNE, id="waterclear", name="Waterborne clear", duty=Duty.CLEAR),
    "water2k": replace(
        URETHANE, id="water2k", name="Waterborne two-part clear", carrier=Carrier.WATER, recoat_opens=hours(4)
    ),
    "shell": _SHELL,
    "backing": replace(_SHELL, id="backing", name="White backing for shells"),
    "vinyl": replace(_SHELL, id="vinyl", name="Vinyl colour", film_um=15.0),
    "vinylprep": replace(POLYOLEFIN, id="vinylprep", name="Vinyl promoter", chemistry=Chemistry.OTHER),
    "promoter": replace(POLYOLEFIN, film_um=5.0),
    "promoter2k": PROMOTER,
    "clear": _CLEAR,
    "clear2k": CLEAR,
    "othermaker": replace(
        _CLEAR,
        id="othermaker",
        name="Clear with a foreign hardener",
        maker="Demo maker A",
        activators=(
            Activator(
                id="foreign", name="Foreign hardener", suits=Suits.ANY, share="50 % of base", maker="Demo maker B"
            ),
        ),
    ),
    "uv": UV_CLEAR,
    "uvblack": replace(
        UV_CLEAR, id="uvblack", name="Black UV colour", duty=Duty.BASE, film_um=60.0, traits=(Trait.DARK,)
    ),
}
"""By the short name that the tables of the case book use."""
