"""The words of the prep plan about test strips: whether one is asked for, and what the trial of one proves."""

from collections.abc import Sequence

from benchtool.job.prepwords import LIFTING, PRACTICE, Ground, Told
from benchtool.trade.saying import say


def trial(ground: Ground) -> Told:
    """Prove it on a strip where nothing is known to hold."""
    words = say("Prove it on a test strip beside a bare control.")
    if not ground.substrate.known:
        return Told(words, say("Nobody has named the material: only a strip shows what holds."), PRACTICE)
    reason = say("Nothing is known to hold on {material}: only a strip shows it.", material=ground.substrate.name)
    return Told(words, reason, ground.substrate.sources.get("routes", ground.substrate.source))


def trial_chosen(told: Told, system: str, trial: str, against: Sequence[str], to_do: Sequence[str]) -> Told:
    """Say what the trial of the chosen system proves of the piece, or why it does not; `told` is what to do then."""
    named = {"system": system, "trial": trial}
    if against:
        return told._replace(reason=say("The trial of {system} does not speak for it.", **named) + f" {against[0]}")
    words = say("Proved: {system} held in the trial {trial}.", **named)
    reason = " ".join(to_do) or say("It was done on the same material, prepared the same way.")
    return Told(words, reason, PRACTICE)


def trial_old_paint(*, isolated: bool) -> Told:
    """Try the paint on a hidden spot where nobody knows what the old one is; the first layer may lock it in."""
    words = say("Spray this system on a hidden spot, wait a day, and log it as a test strip.")
    if isolated:
        return Told(words, say("The first layer locks the old paint in, but nobody knows what that is."), LIFTING)
    return Told(words, say("Nobody knows what the old paint is: it may lift or wrinkle under fresh paint."), LIFTING)


def no_promote_on_strip() -> Told:
    """Why a test strip gets none."""
    return Told(
        say("No promoter on this strip."), say("Its system has none: the strip shows what that does."), PRACTICE
    )
