"""The painter's language: a catalogue of sentences beside the settings, one JSON file for each language.

`words/de.json` maps each English sentence, as `packaging/words.py` lists them, to the same in German.
"""

import json
import re
from collections.abc import Mapping
from pathlib import Path

LARGEST = 4_000_000
"""Bytes that no catalogue reaches (judgement)."""


def language_of(environment: Mapping[str, str]) -> str:
    """Give the two or three letters of the language that a system's settings name; "en" where they name none."""
    for name in ("LC_ALL", "LC_MESSAGES", "LANG"):
        found = re.match(r"([a-z]{2,3})(?:[_.@-]|$)", environment.get(name, ""))
        if found:
            return found[1]
    return "en"


def catalogue(folder: Path, language: str) -> tuple[dict[str, str], str]:
    """Read the sentences of a language, and say what is wrong with its file ("" where nothing is).

    A sentence whose gaps are not those of the English one is left out: it would say something else.
    """
    path = folder / "words" / f"{language}.json"
    try:
        if not path.is_file() or path.stat().st_size > LARGEST:
            return {}, ""
        read = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as fault:
        return {}, f"{path.name} can't be read: {fault}"
    if not isinstance(read, dict):
        return {}, f"{path.name} is no list of sentences"
    kept = {k: v for k, v in read.items() if isinstance(v, str) and v.strip() and _gaps(k) == _gaps(v)}
    left_out = len(read) - len(kept)
    return kept, f"{path.name}: {left_out} sentences are left out, since their gaps differ" if left_out else ""


def _gaps(sentence: str) -> frozenset[str]:
    return frozenset(re.findall(r"\{[^{}]*\}", sentence))
