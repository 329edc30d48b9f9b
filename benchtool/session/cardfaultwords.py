"""What is wrong in a file of cards, in the words of the form first and the place in the file after them."""

import re
from collections.abc import Mapping

from benchtool.session.cardtext import TIMES
from benchtool.store.cardfiles import CardFault
from benchtool.trade.saying import say

_WHERE = re.compile(r"\.(\w+)(?:\[(\d+)\])?(?:\.(\w+))?")


def fault_told(fault: CardFault) -> str:
    """Say it: `lacquer.json: Film per coat: a number belongs here and not text (at $.card.film_um)`."""
    if not fault.place:
        return str(fault)
    name = str(CardFault(fault.path, "")).removesuffix(": ")
    message = fault.message.replace(" or nothing (null)", say(", or nothing at all,")).replace(" (null)", "")
    what = _field_at(fault.place)
    told = say("{what}: {message}", what=what, message=message) if what else message
    return say("{name}: {told} (at {place})", name=name, told=told, place=fault.place)


def _field_at(place: str) -> str:
    """Name the field of the form at a place of a card file; empty where it is of none."""
    card = re.match(r"\$\.(?:card|cards\[\d+\])(?=\.)", place)
    found = _WHERE.match(place, card.end()) if card is not None else None
    if found is None:
        return ""
    name, nth, inner = found.groups()
    if name in ("activators", "additives") and nth is not None:
        n = int(nth) + 1
        part = say("Activator {n}", n=n) if name == "activators" else say("Additive {n}", n=n)
        label = _inner().get(inner or "", "")
        return say("{part}, {label}", part=part, label=label) if label else part
    time = TIMES.get(name)
    return time.label.removesuffix(", min") if time is not None else _labels().get(name, "")


def _inner() -> Mapping[str, str]:
    return {
        "name": say("name"),
        "share": say("share"),
        "suits": say("what it suits"),
        "density_g_mL": say("density"),
        "solids_percent": say("solids"),
        "voc": say("VOC"),
        "keeps": say("keeps unopened"),
        "keeps_opened": say("keeps opened"),
        "tolerance_percent": say("may be off"),
        "maker": say("maker"),
    }


def _labels() -> Mapping[str, str]:
    return {
        "name": say("Name on the can"),
        "maker": say("Maker"),
        "duty": say("In the stack it is the"),
        "two_part": say("One-part or two-part"),
        "chemistry": say("What makes the film"),
        "carrier": say("What leaves the wet film"),
        "traits": say("It is also"),
        "hazards": say("What can hurt you"),
        "only_over": say("Only straight over these cards"),
        "activators": say("Activators"),
        "additives": say("Additives"),
        "reducer": say("Reducer"),
        "reductions": say("Reducing"),
        "coats_least": say("Coats, least"),
        "coats_most": say("Coats, most"),
        "film_um": say("Film per coat"),
        "film_most_um": say("All coats at most"),
        "density_g_mL": say("Density"),
        "reducer_density_g_mL": say("Density of the reducer"),
        "solids_percent": say("Solids"),
        "voc": say("VOC"),
        "reducer_voc": say("VOC of the reducer"),
        "tolerance_percent": say("May be off"),
        "keeps": say("Keeps unopened"),
        "keeps_opened": say("Keeps opened"),
        "reducer_keeps": say("The reducer keeps unopened"),
        "reducer_keeps_opened": say("The reducer keeps opened"),
        "care": say("When the finished piece may be used"),
        "paces": say("How the air changes it"),
        "forced": say("With heat"),
        "films": say("Thicker dry film of a coat"),
        "air": say("The air it may be sprayed in"),
        "fast_solvent": say("A fast solvent?"),
        "origins": say("Where the values come from"),
        "note": say("Note"),
    }
