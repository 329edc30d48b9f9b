"""Which rules are silent on the strips of a trial, and why: a strip is there to find out what they warn of.

What spoils a strip, or hurts whoever sprays it, is told as on any piece: times, cups, cans, activators, the air, what
lies over what, cleaning done wrongly.
"""

from collections.abc import Iterable

from benchtool.job.state import State
from benchtool.rules.finding import Finding

_FINDS_OUT = "Whether it holds is what the strip is there to find out."
_BARE = "A strip may lack a promoter or an undercoat on purpose; the control always does."
_UNPREPARED = "A strip may lack a step of prep on purpose, and that strips of one system differ is told."
_LATER = "It takes months, so no strip shows it, and the piece is told of it whatever the strips show."
_LOOKS = "Nobody looks at a strip: it is broken up by the tests."
_SAID_ONCE = "It is told of the piece that the trial is done for; the strips only copy it."

SILENT: dict[str, str] = {
    "promoter.paint-refused": _BARE,
    "promoter.high-solids": _BARE,
    "promoter.untested": _FINDS_OUT,
    "promoter.unknown-untried": _FINDS_OUT,
    "promoter.strip-came-off": _FINDS_OUT,
    "surface.nothing-holds": _FINDS_OUT,
    "surface.no-primer": _BARE,
    "surface.unsealed": _BARE,
    "surface.plasticiser": _BARE,
    "surface.no-tooth": _UNPREPARED,
    "cleaning.not-cleaned": _UNPREPARED,
    "cleaning.mould-release": _UNPREPARED,
    "surface.zinc-under-enamel": _LATER,
    "surface.crazes-shell": _FINDS_OUT,
    "surface.solvent-attacks": _FINDS_OUT,
    "surface.old-paint-unknown": _FINDS_OUT,
    "surface.old-paint-softens": _FINDS_OUT,
    "surface.guessed": _FINDS_OUT,
    "surface.mark-disagrees": _SAID_ONCE,
    "surface.galvanic": _SAID_ONCE,
    "chemistry.only-over": _BARE,
    "cleaning.viewed-side-scratched": _LOOKS,
    "cleaning.texture-abraded": _LOOKS,
    "layering.no-backing": _LOOKS,
    "layering.shows-through": _LOOKS,
    "layering.hidden": _LOOKS,
}
"""The rules that say nothing of a strip, each with the reason."""

STAYS: dict[str, str] = {
    "surface.heat-limit": "Heat spoils a strip as it does a piece.",
    "surface.etch-off-metal": "The acid works on after the tests.",
    "surface.stripped": "The record names another material than the one under the paint.",
    "surface.not-clear": "The record names the wrong face or the wrong material.",
    "cleaning.harmful-cleaner": "A strip that was harmed tells nothing of one that was not.",
}
"""The rules about what it is made of or what holds that speak of a strip all the same, each with the reason."""


def is_strip(state: State, piece: str | None) -> bool:
    """Say whether a piece is a test strip of a trial that stands in the record and knows it."""
    found = state.pieces.get(piece or "")
    return found is not None and state.is_strip(found)


def without_strips(state: State, found: Iterable[Finding]) -> list[Finding]:
    """Leave out what is not told of a strip."""
    if not state.trials:
        return list(found)
    return [f for f in found if f.rule not in SILENT or not is_strip(state, f.piece)]
