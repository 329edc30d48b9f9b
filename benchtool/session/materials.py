"""The materials a painter can choose from: found by words, and named for a list."""

import re
from collections.abc import Sequence

from benchtool.rules.finding import Tables
from benchtool.session.cardfields import clean
from benchtool.trade.markreading import parse
from benchtool.trade.marks import substrates_for
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex, Substrate

MOST_JOINED = 20
"""So many other materials the record of a piece holds."""


def name_in_list(tables: Tables, substrate_id: str) -> str:
    """Name a material so that `read_joined` finds the same one again."""
    substrate = tables.substrates.get(substrate_id)
    return substrate.name.replace(",", "") if substrate is not None else substrate_id


def read_joined(tables: Tables, typed: str, before: Sequence[str] = ()) -> tuple[str, ...]:
    """Read the other materials on a piece, `steel screws, brass`, into their ids, each once.

    One that was there `before` stays, whether the table has it or not.

    Raises:
        ValueError: one that the table does not have, or too many; the message says what to write.
    """
    found: list[str] = []
    for words in (clean(part) for part in typed.split(",")):
        if not words:
            continue
        substrate_id = _joined(tables, words, before)
        if substrate_id is None:
            raise ValueError(
                say("“{words}” is no material of the list: write one such as steel or brass.", words=shorten(words))
            )
        if substrate_id not in found:
            found.append(substrate_id)
    if len(found) > MOST_JOINED:
        raise ValueError(say("These are too many materials: {n} at most.", n=MOST_JOINED))
    return tuple(found)


def _joined(tables: Tables, typed: str, before: Sequence[str]) -> str | None:
    """Find what is meant by the material alone, or by a thing that is called by it, such as steel screws."""
    ids = {x.casefold(): x for x in before}
    for substrate in tables.substrates.values():
        ids[substrate.id.casefold()] = ids[name_in_list(tables, substrate.id).casefold()] = substrate.id
    words = typed.casefold().split()
    for n in range(len(words), 0, -1):
        said = " ".join(words[:n])
        if said in ids:
            return ids[said]
        meant = [s for s in find_substrates(tables, said) if s.known]
        if meant and (n == len(words) or set(words[:n]) <= set(_words_of(meant[0]))):
            return meant[0].id
    return None


def find_substrates(tables: Tables, words: str) -> tuple[Substrate, ...]:
    """Give the materials that `words` may mean, the likeliest first; the unknown one always leads.

    Every word must stand at the start of a word of the name or the id, failing that anywhere; a name that begins with
    what is typed goes before its like. What stands on a part finds its material too: the marks round `>PA66-GF30<` and
    the amount of filler are passed over.
    """
    known = [s for s in tables.substrates.values() if s.known]
    unknown = [s for s in tables.substrates.values() if not s.known]
    if words.strip().startswith(">") and tables.marks is not None:
        ids = substrates_for(parse(words, tables.marks()), known)
        if ids:
            return (*unknown, *(tables.substrates[x] for x in ids))
    wanted = re.findall(r"\w+", words.casefold())
    if not wanted:
        return (*unknown, *sorted(known, key=lambda s: s.name.casefold()))
    ranked = []
    for substrate in known:
        parts = _words_of(substrate)
        whole = " ".join(parts)
        if all(w in parts or w.rstrip("0123456789") in parts for w in wanted):
            ranked.append((0, substrate))
        elif all(any(p.startswith(w) for p in parts) for w in wanted):
            ranked.append((1, substrate))
        elif all(w in whole for w in wanted):
            ranked.append((2, substrate))
    if any(rank < 2 for rank, _ in ranked):
        ranked = [r for r in ranked if r[0] < 2]
    begun = " ".join(words.casefold().split())
    ranked.sort(key=lambda r: (r[0], not r[1].name.casefold().startswith(begun), r[1].name.casefold()))
    return (*unknown, *(s for _, s in ranked))


def likeliest(found: Sequence[Substrate], words: str) -> Substrate | None:
    """Give which of the materials `found` is meant by `words`; None where none is.

    “Nobody knows” leads every list: it is meant where its own name begins with what is typed, else the first other one.
    """
    typed = " ".join(words.casefold().split())
    for substrate in found:
        if substrate.known or (typed and substrate_name(substrate).casefold().startswith(typed)):
            return substrate
        if len(typed) >= LEAST_OF_ID and substrate.id.startswith(typed):
            return substrate
    return None


LEAST_OF_ID = 3
"""So many letters of an id that is not shown are no accident, such as `unk` for the unknown."""


def _words_of(substrate: Substrate) -> list[str]:
    return re.findall(r"\w+", f"{substrate.name} {substrate.id}".casefold())


def substrate_name(substrate: Substrate) -> str:
    """Name a material for a list."""
    return substrate.name[:1].upper() + substrate.name[1:] if substrate.known else "Nobody knows"


def short_name(substrate: Substrate) -> str:
    """Name a material where there is little room, such as in the title of a page."""
    if not substrate.known:
        return say("unknown material")
    return say("unknown old paint") if substrate.id == "paint-unknown" else substrate.name


def substrate_words(substrate: Substrate) -> str:
    """Say in a few words what matters of a material."""
    if not substrate.known:
        return "prove it on a test strip first"
    bends = {Flex.RIGID: "rigid", Flex.FLEXIBLE: "flexible", None: "rigid or flexible"}[substrate.flex]
    return f"{bends}, needs a promoter" if substrate.refuses_paint else bends
