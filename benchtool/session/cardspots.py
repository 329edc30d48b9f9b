"""Which field of the form shows what a check says of a value of the card."""

import re
from collections.abc import Iterator, Mapping

from benchtool.job.cardchecks import CardCheck, card_checks
from benchtool.job.cards import Card
from benchtool.session.cardreading import Reading

_FIELDS: Mapping[str, str] = {
    "film_um": "film", "film_most_um": "film_most", "density_g_mL": "density", "solids_percent": "solids",
    "reducer_density_g_mL": "reducer_density", "tolerance_percent": "tolerance", "two_part": "parts",
    "activators": "parts", "fast_solvent": "fast",
}  # fmt: skip
_OF_PART: Mapping[str, str] = {"density_g_mL": "density", "solids_percent": "solids", "tolerance_percent": "tolerance"}


def spot(path: str, card: Card, parts: Mapping[str, str]) -> str:
    """Give the field that shows the value at `path` of a card; `parts` gives the id of each part by its row."""
    if found := re.fullmatch(r"\.(activators|additives)\[(\d+)\]\.(\w+)", path):
        part = getattr(card, found[1])[int(found[2])].id
        row = next((key for key, part_id in parts.items() if part_id == part and found[1].startswith(key[:8])), "")
        return f"{row}-{_OF_PART.get(found[3], found[3])}"
    if found := re.fullmatch(r"\.reductions\[(\d+)\]\.(\w+)", path):
        gun = card.reductions[int(found[1])].gun.value
        flow = {"flow_s": "seconds", "flow_cup": "cup"}.get(found[2])
        return f"flow-{gun}-{flow}" if flow is not None else f"reduction-{gun}-{found[2]}"
    if found := re.match(r'\.(paces|forced)\["(.+)"\]', path):
        return f"pace-{found[2]}-law" if found[1] == "paces" else f"forced-{found[2]}"
    name = path.removeprefix(".")
    return _FIELDS.get(name, name)


def remarks(reading: Reading) -> Iterator[tuple[str, CardCheck]]:
    """Check what is typed so far, and give each remark with its field; of a field at fault nothing more is said."""
    wrong = {key for key, _ in reading.faults}
    for check in card_checks(reading.card):
        key = spot(check.path, reading.card, reading.parts)
        if key not in wrong and check.path != ".activators":  # that there is none is told by the first row of them
            yield key, check
