"""What exact tests of a few strips say in words: a p as it is shown, and how many strips it takes."""

import math
from collections.abc import Sequence
from fractions import Fraction

from benchtool.trade.exact import smallest_p, strips_for, strips_for_pairs
from benchtool.trade.saying import say

LIMIT = Fraction(1, 20)
"""The limit that most readers of a p look for (common practice, no source); nothing here hangs a verdict on it."""


def p_text(p: Fraction) -> str:
    """Write a p to two figures: 0.10, 0.029, 0.0036, 1.0."""
    if p < Fraction(1, 10_000):
        return say("less than 0.0001")
    if p == 1:
        return "1.0"
    return f"{float(p):.{1 - math.floor(math.log10(p))}f}"


def chance_words(p: Fraction) -> str:
    """Say a p as so many of a hundred trials, or of more where it is small: `10 of 100 such trials`."""
    if p == 1:
        return say("all such trials")
    if p < Fraction(1, 10_000):
        return say("fewer than 1 of 10 000 such trials")
    of = 100 if p >= Fraction(1, 100) else 1_000 if p >= Fraction(1, 1_000) else 10_000
    n, total = round(p * of), f"{of:,}".replace(",", " ") if of > 9_999 else str(of)
    if p * of == n:
        return say("{n} of {of} such trials", n=n, of=total)
    return say("about {n} of {of} such trials", n=n, of=total)


def spelled(n: int) -> str:
    """Write a small number as a word."""
    words = (
        say("none"), say("one"), say("two"), say("three"), say("four"), say("five"), say("six"), say("seven"),
        say("eight"), say("nine"), say("ten"), say("eleven"), say("twelve"),
    )  # fmt: skip
    return words[n] if 0 <= n < len(words) else str(n)


def listed(names: Sequence[str]) -> str:
    """Join names into a list with “and” before the last."""
    if len(names) < 2:
        return "".join(names)
    return say("{names} and {last}", names=", ".join(names[:-1]), last=names[-1])


def capital(sentence: str) -> str:
    """Begin a sentence with a capital."""
    return sentence[:1].upper() + sentence[1:]


def how_many_words(systems: int, each: int) -> tuple[str, ...]:
    """Say before spraying what so many strips of each of so many systems can show, and how many it would take.

    Raises:
        NotGrades: fewer than two systems.
    """
    needed = strips_for(systems)
    lines = [_reach_words(each), *([enough_words(systems)] if each < needed else [])]
    if systems > 2 and each > 1:
        together = p_text(smallest_p((each,) * systems))
        lines.append(
            say(
                "All {systems} at once: at the clearest, chance alone would part them as clearly in {chance} (exact p "
                "{p}); that says that they are not all alike, not which is better.",
                systems=spelled(systems), chance=chance_words(smallest_p((each,) * systems)), p=together,
            )
        )  # fmt: skip
        pairs, more = math.comb(systems, 2), strips_for_pairs(systems)
        if each < more:
            lines.append(
                say(
                    "Who looks at {pairs} pairs may find one of them clear by luck; it takes {each} of each, {total} "
                    "strips, for the clearest pair to hold even so.",
                    pairs=spelled(pairs), each=spelled(more), total=more * systems,
                )
            )  # fmt: skip
    if each > 1:
        lines.append(own_strip_words())
    return tuple(lines)


def enough_words(systems: int) -> str:
    """Say how many strips of each it takes before two systems can be told apart."""
    needed = strips_for(systems)
    return capital(say("{needed} of each can: {total} strips.", needed=spelled(needed), total=needed * systems))


def needed_words(systems: int) -> str:
    """Say how many strips of each it takes, where no difference was shown that more of them could prove."""
    needed = strips_for(systems)
    return say(
        "It takes {needed} of each, {total} strips, before two systems can be told apart.",
        needed=spelled(needed), total=needed * systems,
    )  # fmt: skip


def own_strip_words() -> str:
    """Say what counts as a strip (S. H. Hurlbert, Ecol. Monogr. 54, 1984, 187-211: replicates that are none)."""
    return say("Only a strip that was prepared and sprayed for itself counts: three tests on one strip are one strip.")


def _reach_words(each: int) -> str:
    if each < 1:
        return say("Without a strip of each nothing can be compared.")
    if each == 1:
        return say("With one strip of each this shows a difference and proves none.")
    p = smallest_p((each, each))
    if p >= LIMIT:
        return capital(
            say(
                "{each} against {each}: however clear it looks, chance alone would part them as clearly in at least "
                "{chance} (exact p {p}): it shows a difference and proves none.",
                each=spelled(each), chance=chance_words(p), p=p_text(p),
            )
        )  # fmt: skip
    return capital(
        say(
            "{each} against {each}: where every strip of one is better than every strip of the other, chance alone "
            "would part them as clearly in {chance} (exact p {p}).",
            each=spelled(each), chance=chance_words(p), p=p_text(p),
        )
    )  # fmt: skip
