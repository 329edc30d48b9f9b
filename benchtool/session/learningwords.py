"""The words for what the record shows: how a wait lay to its window, how a part was measured, what is too few."""

from benchtool.job.cards import CardTime
from benchtool.job.learnedcases import How, Kept
from benchtool.trade.saying import say, say_n


def few_words(n: int) -> str:
    """Say that so few cases say nothing yet."""
    return say_n("Only {n} case: not enough to say anything yet.", "Only {n} cases: not enough to say anything yet.", n)


def wait_title(time: CardTime) -> str:
    """Head a time by what happens between its two ends."""
    match time:
        case CardTime.STAND:
            return say("Stand: from the stirring on")
        case CardTime.STAND_REDUCED:
            return say("Stand, reduced: up to the first coat")
        case CardTime.POT_LIFE:
            return say("Pot life: up to the last coat of the cup")
        case CardTime.FLASH:
            return say("Flash: between two coats")
        case CardTime.RECOAT_OPENS:
            return say("Recoat: before the next layer")
        case CardTime.TAPE:
            return say("Before tape went on")
        case _:
            return say("Cure: before it was worked on again")


def window_words(asked: str, closes: str) -> str:
    """Say when a window was open in the air of then; "" for an end it did not have."""
    if asked and closes:
        return say("In that air it was open from {asked} to {closes}.", asked=asked, closes=closes)
    if closes:
        return say("In that air it closed at {closes}.", closes=closes)
    return say("In that air it opened at {asked}.", asked=asked) if asked else say("In that air it never opened.")


def allowed_words(asked: str, closes: str) -> str:
    """Say the same in a few words."""
    if asked and closes:
        return say("{asked} to {closes}", asked=asked, closes=closes)
    if closes:
        return say("up to {closes}", closes=closes)
    return say("from {asked} on", asked=asked) if asked else say("never opened")


def kept_words(kept: Kept) -> str:
    """Say how a wait lay to its window."""
    match kept:
        case Kept.EARLY:
            return say("too early")
        case Kept.LATE:
            return say("too late")
        case _:
            return say("in time")


def how_words(how: How) -> str:
    """Name a way of measuring."""
    match how:
        case How.WEIGHED:
            return say("Weighed")
        case How.DROPS:
            return say("In drops")
        case How.MEASURED:
            return say("By volume")
        case _:
            return say("As asked for")
