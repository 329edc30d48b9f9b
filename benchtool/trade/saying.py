"""What is said to the painter, in their language: a sentence is looked up by its English and filled in after.

The English stands in the code, whole and literal, so that a list of all sentences can be drawn from it
(packaging/words.py). A catalogue maps each to another language; without one they are said as they stand.
"""

from collections.abc import Mapping

_said: dict[str, str] = {}


def speak(catalogue: Mapping[str, str]) -> None:
    """Say every sentence by this catalogue from now on; what it does not hold stays English."""
    _said.clear()
    _said.update(catalogue)


def say(sentence: str, **values: object) -> str:
    """Say a sentence, each `{name}` in it filled with the value of that name; a value is never read as a sentence."""
    told = _said.get(sentence, sentence)
    if not values:
        return told
    try:
        return told.format_map(values)
    except (KeyError, IndexError, ValueError, AttributeError):
        return sentence.format_map(values)  # a translation that slipped says nothing wrong


def say_n(one: str, many: str, n: int, **values: object) -> str:
    """Say the sentence for one, or the one for `n` of them; `{n}` is that number."""
    return say(one if n == 1 else many, n=n, **values)
