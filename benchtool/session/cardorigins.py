"""Where each value of a card comes from, as typed: which fields have an origin of their own, and what is said of it."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from benchtool.job.cards import Card, Origin, OriginKind
from benchtool.session.cardfields import LONGEST_TEXT, Reader, clean
from benchtool.trade.saying import say

GENERAL = "*"
"""The origin of all values that have none of their own."""
_LONGEST_PAGE = 80

_FIELDS: Mapping[str, str] = {
    "film": "film_um",
    "film_most": "film_most_um",
    "density": "density_g_mL",
    "reducer_density": "reducer_density_g_mL",
    "solids": "solids_percent",
    "tolerance": "tolerance_percent",
    "water": "voc",
    "exempt": "voc",
    "exempt_density": "voc",
    "reducer_water": "reducer_voc",
    "reducer_exempt": "reducer_voc",
    "reducer_exempt_density": "reducer_voc",
}
"""The value of a card that a field of the form is about, where it has another name."""
_SAME = (
    "coats_least", "coats_most", "stand", "stand_reduced", "pot_life", "flash", "flash_most", "dust_free",
    "recoat_opens", "recoat_closes", "tape", "cure", "voc", "reducer_voc", "keeps", "keeps_opened", "reducer_keeps",
    "reducer_keeps_opened", "films",
)  # fmt: skip
_OF_PART = {"density": "density_g_mL", "solids": "solids_percent", "tolerance": "tolerance_percent", "share": "share"}
_OF_PART |= dict.fromkeys(("voc", "water", "exempt", "exempt_density"), "voc")
_OF_PART |= {key: key for key in ("keeps", "keeps_opened")}


@dataclass(frozen=True, slots=True, kw_only=True)
class OriginText:
    """What is typed of an origin. Without a kind it is plain words, as older cards have them.

    What was only read from the card, and not said `again`, falls away with the value it was said of.
    """

    kind: OriginKind | None = None
    words: str = ""
    page: str = ""
    day: str = ""
    again: bool = False

    @property
    def empty(self) -> bool:
        """Whether nothing is said."""
        return self.kind is None and not self.words.strip()


NO_ORIGIN = OriginText()


def kind_words(kind: OriginKind) -> str:
    """Say a kind of origin as it is offered."""
    match kind:
        case OriginKind.SHEET:
            return say("Data sheet")
        case OriginKind.MEASURED:
            return say("Own measurement")
        case OriginKind.TOLD:
            return say("Told")
        case OriginKind.PRACTICE:
            return say("Common practice")
        case OriginKind.GUESS:
            return say("A guess")


def kind_button(kind: OriginKind) -> str:
    """Name a kind of origin in a word, for a choice."""
    match kind:
        case OriginKind.SHEET:
            return say("Sheet")
        case OriginKind.MEASURED:
            return say("Measured")
        case OriginKind.TOLD:
            return say("Told")
        case OriginKind.PRACTICE:
            return say("Practice")
        case OriginKind.GUESS:
            return say("Guess")


def page_words(page: str) -> str:
    """Say which page: a number alone is that of a page, and what says more (`page 3`, `table 2`) says it itself."""
    page = clean(page)
    return say("page {page}", page=page) if page[:1].isdigit() else page


def origin_mark(text: OriginText) -> str:
    """Say in a word or two, to stand beside a value, where it comes from; nothing where nothing is said."""
    if text.empty:
        return ""
    match text.kind:
        case OriginKind.GUESS:
            return say("? a guess")
        case OriginKind.MEASURED:
            return say("measured")
        case OriginKind.TOLD:
            return say("told")
        case OriginKind.PRACTICE:
            return say("practice")
        case _:
            return say("sheet, {page}", page=page_words(text.page)) if text.page.strip() else say("own origin")


def origin_words(text: OriginText) -> str:
    """Say all that is said of an origin in one line."""
    parts = [kind_words(text.kind) if text.kind is not None else "", clean(text.words), page_words(text.page), text.day]
    return ", ".join(part for part in parts if part)


def write_origin(said: str | Origin) -> OriginText:
    """Write an origin as it would be typed."""
    if isinstance(said, str):
        return OriginText(words=said)
    return OriginText(kind=said.kind, words=said.words, page=said.page, day=said.day)


def read_origin(reader: Reader, key: str, text: OriginText) -> str | Origin | None:
    """Read an origin; None where nothing is said. What is wrong is told to `reader` as `key`."""
    words, page, day = clean(text.words), clean(text.page), text.day.strip()
    if len(words) > LONGEST_TEXT:
        reader.faults.append((key, say("This is too long: {n} characters at most.", n=LONGEST_TEXT)))
    if text.kind is None:
        return words[:LONGEST_TEXT] or None
    if len(page) > _LONGEST_PAGE:
        reader.faults.append((key, say("The page is too long: {n} characters at most.", n=_LONGEST_PAGE)))
    if day and not is_day(day):
        reader.faults.append(
            (key, say("“{day}” is no day: write it as 2026-03-14, or leave it empty.", day=clean(day)))
        )
        day = ""
    return Origin(kind=text.kind, words=words[:LONGEST_TEXT], page=page[:_LONGEST_PAGE], day=day)


def is_day(text: str) -> bool:
    """Say whether this is a day of the calendar, as `2026-03-14`."""
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        return False
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


# --- which value an origin is of -------------------------------------------------------------------


def place_of(key: str, parts: Mapping[str, str]) -> str | None:
    """Give the value of the card a field is about: `flash`, `activators.rigid.share`; None for one without an origin.

    `parts` gives the id of the part by its row: `{"activator-0": "rigid"}`.
    """
    if key in _FIELDS or key in _SAME:
        return _FIELDS.get(key, key)
    if found := re.fullmatch(r"(activator|additive)-(\d+)-(\w+)", key):
        part = parts.get(f"{found[1]}-{found[2]}")
        name = _OF_PART.get(found[3])
        kind = "activators" if found[1] == "activator" else "additives"
        return f"{kind}.{part}.{name}" if part is not None and name is not None else None
    if found := re.fullmatch(r"reduction-(.+)-(least|usual|most)", key):
        return f"reductions.{found[1]}"
    if found := re.fullmatch(r"flow-(.+)-(seconds|cup)", key):
        return f"reductions.{found[1]}.flow"
    if found := re.fullmatch(r"pace-(.+)-(table|factor|energy|percent|speed|reference|least)", key):
        return f"paces.{found[1]}"
    if found := re.fullmatch(r"forced-(.+)", key):
        return f"forced.{found[1]}"
    if found := re.fullmatch(r"care-(.+)", key):
        return f"care.{found[1]}"
    return "air" if re.fullmatch(r"air-(least|most)(-percent)?", key) else None


def key_of(place: str, card: Card, parts: Mapping[str, str] | None = None) -> str | None:
    """Give the field of the form that shows the origin of this value; None where the form shows none.

    `parts` gives the id of each part by its row, where the rows are not just those of the card.
    """
    for key, field in _FIELDS.items():
        if field == place and place not in _SAME:
            return key
    if place in _SAME:
        return place
    if place == "air":
        return "air-least"
    kind, _, rest = place.partition(".")
    match kind:
        case "activators" | "additives":
            part, _, name = rest.rpartition(".")
            row = kind.removesuffix("s")
            rows = parts if parts is not None else {f"{row}-{i}": p.id for i, p in enumerate(getattr(card, kind))}
            at = next((key for key, part_id in rows.items() if part_id == part and key.startswith(row)), None)
            own = next((key for key, field in _OF_PART.items() if field == name), None)
            return f"{at}-{own}" if at is not None and own is not None else None
        case "reductions":
            gun, _, flow = rest.partition(".")
            known = any(r.gun.value == gun for r in card.reductions)
            key = f"flow-{gun}-seconds" if flow else f"reduction-{gun}-usual"
            return key if known and flow in ("", "flow") else None
        case "paces":
            return f"pace-{rest}-reference" if any(time.value == rest for time in card.paces) else None
        case "care":
            return f"care-{rest}" if any(care.value == rest for care in card.care) else None
        case "forced":
            return f"forced-{rest}" if any(time.value == rest for time in card.forced) else None
        case _:
            return None


def shown_at(key: str) -> str:
    """Give the field that shows the origin for this one: several fields may be about one value."""
    stem = re.sub(r"(exempt_density|exempt|water)$", "voc", key)
    stem = re.sub(r"^(pace-.+)-\w+$", r"\1-reference", stem)
    stem = re.sub(r"^(reduction-.+)-(least|most)$", r"\1-usual", stem)
    stem = re.sub(r"^(flow-.+)-cup$", r"\1-seconds", stem)
    return "air-least" if re.fullmatch(r"air-(least|most)(-percent)?", stem) else stem


def value_at(card: Card, place: str) -> Any:
    """Give the value of a card an origin is of; that of the whole field where its part can't be found."""
    name, *rest = re.split(r"[.\[]", place)
    whole = getattr(card, name, None)
    kind, _, inner = place.partition(".")
    if kind in ("activators", "additives") and inner:
        part_id, _, field = inner.rpartition(".")
        part = next((p for p in whole or () if p.id == part_id), None)
        return getattr(part, field, None) if part is not None else None
    if kind == "reductions" and inner:
        gun, _, flow = inner.partition(".")
        row = next((r for r in card.reductions if r.gun.value == gun), None)
        if row is None:
            return None
        return (row.flow_s, row.flow_cup) if flow else (row.least, row.usual, row.most)
    if kind in ("paces", "forced", "care") and rest:
        return next((said for time, said in (whole or {}).items() if time.value == inner), None)
    return whole


# --- all of a card ---------------------------------------------------------------------------------


def general_words(card: Card) -> str:
    """Give the words of the origin of the whole card; those of its values where none is said of all."""
    said = card.origins.get(GENERAL)
    if said is not None and said != "":
        return clean(said if isinstance(said, str) else said.words)
    each = (v if isinstance(v, str) else origin_words(write_origin(v)) for v in card.origins.values())
    return clean("; ".join(dict.fromkeys(v for v in each if v)))


def write_origins(card: Card, parts: Mapping[str, str] | None = None) -> dict[str, OriginText]:
    """Write the origins of a card by the field that shows each; `*` holds what is said of all beside its words."""
    said = card.origins.get(GENERAL)
    texts = {GENERAL: OriginText(kind=said.kind, page=said.page, day=said.day)} if isinstance(said, Origin) else {}
    for place, own in card.origins.items():
        key = key_of(place, card, parts) if place != GENERAL else None
        if key is not None:
            texts[key] = write_origin(own)
    return texts


def read_origins(
    reader: Reader,
    words: str,
    texts: Mapping[str, OriginText] | None,
    parts: Mapping[str, str],
    card: Card,
    before: Card | None,
) -> dict[str, str | Origin]:
    """Read the origins of `card`; of one that was there before, those of values that the form does not show stay.

    With no `texts` they are not asked for: a value that was changed then comes no more from where the old one came.
    """
    general = _general(reader, words, (texts or {}).get(GENERAL, NO_ORIGIN), texts is not None, before)
    standing = dict(_standing(card, before))
    own: dict[str, str | Origin] = {}
    for key, text in (texts or {}).items():
        place = place_of(key, parts) if key != GENERAL else None
        if place is None:
            continue
        was = before.origins.get(place) if before is not None else None
        same = was is not None and write_origin(was) == replace(text, again=False)
        if same and not text.again and place not in standing:
            continue
        said = was if same else read_origin(reader, f"origin:{key}", text)
        if said is not None:
            own[place] = said
    if texts is None or before is None:
        own |= standing
    else:
        own |= {place: was for place, was in standing.items() if key_of(place, before) is None}
    if general is not None:
        return {**own, GENERAL: general}
    return own or {GENERAL: clean(words)[:LONGEST_TEXT]}


def _standing(card: Card, before: Card | None) -> Iterator[tuple[str, str | Origin]]:
    """Give the origins of the card before whose value is still the same."""
    if before is None:
        return
    for place, was in before.origins.items():
        if place != GENERAL and value_at(card, place) == value_at(before, place):
            yield place, was


def _general(reader: Reader, words: str, more: OriginText, asked: bool, before: Card | None) -> str | Origin | None:
    """Read the origin of the whole card; None where it had none, and nothing was said of it now."""
    typed = clean(words)
    was = before.origins.get(GENERAL) if before is not None else None
    if not asked and isinstance(was, Origin):
        more = OriginText(kind=was.kind, page=was.page, day=was.day)
    if not typed and more.kind is None:
        missing = say("Say where the values come from: a sheet and its page, your own measurement, a guess.")
        reader.faults.append(("origin", missing))
    if before is not None and typed == general_words(before):
        if was is None and more.kind is None:
            return None
        if isinstance(was, str) and more.kind is None:
            return was
        if isinstance(was, Origin) and (more.kind, more.page, more.day) == (was.kind, was.page, was.day):
            return was
    faults = len(reader.faults)
    said = read_origin(reader, "origin", OriginText(kind=more.kind, words=typed, page=more.page, day=more.day))
    return said if said is not None or len(reader.faults) > faults else ""


def guessed(card: Card, name: str) -> bool:
    """Say whether this value of the card is a guess by itself, the card as a whole being none."""
    own = card.origins.get(name)
    return isinstance(own, Origin) and own.kind is OriginKind.GUESS


def all_guessed(card: Card) -> bool:
    """Say whether the card as a whole is a guess."""
    return guessed(card, GENERAL)
