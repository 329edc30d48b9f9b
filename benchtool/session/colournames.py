"""Plain colours by their names, to tell layers apart by on screen; they stand for no paint."""

from collections.abc import Mapping

PALETTE: tuple[tuple[str, str], ...] = (
    ("#f5f3ee", "White"), ("#b9b8b4", "Light grey"), ("#5b5d60", "Dark grey"), ("#16171a", "Black"),
    ("#b3201f", "Red"), ("#e06a15", "Orange"), ("#f0c21b", "Yellow"), ("#3f7d34", "Green"),
    ("#1d8a8c", "Turquoise"), ("#1f4e9e", "Blue"), ("#5d3a86", "Violet"), ("#6a452a", "Brown"),
)  # fmt: skip

_MORE = {"grey": "#8a8a87", "silver": "#c4c6c8", "gold": "#b8923a", "pink": "#d9738f", "purple": "#5d3a86"}
_SHADES = {"deep": (0, 0.35), "dark": (0, 0.35), "light": (255, 0.45), "pale": (255, 0.6)}
"""Towards black or white, and how far (judgement: a drawing is all that hangs on it)."""


def _known() -> Mapping[str, str]:
    return {**_MORE, **{name.lower(): colour for colour, name in PALETTE}}


def named_colour(typed: str) -> str | None:
    """Give the colour (`#rrggbb`) of a plain name such as `blue` or `deep blue`; None where it is none."""
    words = typed.casefold().replace("gray", "grey").replace("-", " ").split()
    known = _known()
    whole = known.get(" ".join(words))
    if whole is not None:
        return whole
    if len(words) != 2 or words[0] not in _SHADES or words[1] not in known:
        return None
    towards, share = _SHADES[words[0]]
    plain = known[words[1]]
    parts = (int(plain[i : i + 2], 16) for i in (1, 3, 5))
    return "#" + "".join(f"{round(part + (towards - part) * share):02x}" for part in parts)
