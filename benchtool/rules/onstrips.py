"""Which rules are silent on the strips of a trial, and why: a strip is there to find out what they warn of.

Of strips that were put away nothing is told; what is told alike of several strips of one trial is marked so. What
spoils a strip, or hurts whoever sprays it, is told as on any piece: times, cups, cans, activators, the air, what lies
over what, cleaning done wrongly.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import lru_cache

from benchtool.job.state import State
from benchtool.job.trialnumbers import StripNumber, strip_numbers
from benchtool.rules.finding import Finding
from benchtool.trade.saying import say

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


def of_strips(state: State, found: Iterable[Finding]) -> list[Finding]:
    """Leave out what is not told of a strip, and mark what is told of it as what its like has alike."""
    return [told for f in found if (told := _told(state, f)) is not None] if state.trials else list(found)


def _told(state: State, finding: Finding) -> Finding | None:
    piece = state.pieces.get(finding.piece or "")
    if piece is None or not state.is_strip(piece):
        return finding
    trial = state.trials[piece.piece.strip_of or ""]
    if finding.rule in SILENT or trial.ended_at is not None:
        return None
    layer = state.layers.get(finding.layer or "")
    card = layer.plan.card if layer is not None else ""
    said = _without_names(finding.message, piece.piece.name)
    return replace(finding, alike="|".join((trial.id, finding.rule, card, said)))


@lru_cache(maxsize=1024)
def _without_names(message: str, strip: str) -> str:
    """Give what a message says but for the name of its strip and its figures: a countdown is another on each."""
    return re.sub(r"\d[\d:.,]*", "#", message.replace(strip, "#"))


def told_of(state: State, finding: Finding) -> str:
    """Name what a finding is told of: its piece, or all strips of a trial that have it alike; "" for the record."""
    pieces = [p for p in finding.told_of if p in state.pieces]
    trial = state.trial_of(pieces[0]) if len(pieces) > 1 else None
    if trial is None:
        return state.pieces[pieces[0]].piece.name if pieces else ""
    numbers = strip_numbers(trial)
    parts = _runs(sorted(numbers[p] for p in pieces if p in numbers))
    if len(parts) < 2:
        return say("Strips {numbers}", numbers="".join(parts))
    return say("Strips {numbers} and {last}", numbers=", ".join(parts[:-1]), last=parts[-1])


def _runs(numbers: Sequence[StripNumber]) -> list[str]:
    """Write numbers with those that follow one another as `1 to 12`."""
    runs: list[list[StripNumber]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    pairs = [[say("{a} to {b}", a=str(r[0]), b=str(r[-1]))] if len(r) > 2 else [str(n) for n in r] for r in runs]
    return [words for part in pairs for words in part]
