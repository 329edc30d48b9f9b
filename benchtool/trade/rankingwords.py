"""A ranking in plain sentences, in the order to be read: first what would be misunderstood worst."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from benchtool.trade.exact import smallest_p
from benchtool.trade.exactwords import (
    LIMIT,
    capital,
    chance_words,
    enough_words,
    listed,
    needed_words,
    own_strip_words,
    p_text,
    spelled,
)
from benchtool.trade.rankingparts import Pair, PairFound, Ranking, Relation, TestFound
from benchtool.trade.saying import say, say_n

_MOST_CROSSED = 6
"""Pairs of which neither is better, told one by one; the rest are counted."""


def told(ranking: Ranking) -> tuple[str, ...]:
    """Say what the ranking shows and what it does not prove."""
    if not any(cell.scores for cell in ranking.cells):
        return (say("No strip has been graded yet."),)
    return (
        *tape_words(ranking),
        *doubt_words(ranking),
        *control_words(ranking),
        *order_words(ranking),
        *missing_words(ranking),
        *crossed_words(ranking),
        *test_words(ranking),
        *pair_words(ranking),
    )


# --- what the tape does not prove -----------------------------------------------------------------------------


def tape_words(ranking: Ranking) -> Iterator[str]:
    """Say of each tape test in which the control held as well as the rest that it proves nothing."""
    tapes = [t for t in ranking.tests if t.tape and t.control_as_good]
    alike: dict[tuple[bool, bool], list[TestFound]] = {}
    for test in tapes:
        alike.setdefault((test.held is False, test.apart), []).append(test)
    for same in alike.values():
        yield _control_on_tape(same)
    if tapes:
        yield say("That is no proof that no promoter is needed.")
        if not any(not t.tape and len(t.sizes) > 1 for t in ranking.tests):
            yield say("Grade a stick and a fingernail scratch too before choosing.")


def _control_on_tape(tests: Sequence[TestFound]) -> str:
    """Say it once of all tape tests in which it is the same."""
    test, label = tests[0], capital("; ".join(t.label for t in tests))
    if test.held is False:
        return say("{test}: the bare control came off no worse than the rest.", test=label)
    look = say("look at the scratch grades")
    if test.apart:
        return say(
            "{test}: the bare control held as well as any: this tape does not show that a promoter helps; {look}.",
            test=label, look=look,
        )  # fmt: skip
    return say(
        "{test}: the bare control held the tape as well as the rest: tape alone does not tell them apart here; {look}.",
        test=label, look=look,
    )  # fmt: skip


# --- what so few strips can't prove ---------------------------------------------------------------------------


def doubt_words(ranking: Ranking) -> Iterator[str]:
    """Say what so few strips can show, and what they can't."""
    sizes = [size for test in ranking.tests for size in test.sizes]
    systems = sum(any(c.scores for c in ranking.cells if c.system == s.name) for s in ranking.systems)
    if systems < 2:
        return
    shown = any(test.apart for test in ranking.tests)
    least = min((smallest_p(pair) for pair in _size_pairs(ranking)), default=Fraction(1))
    if max(sizes) == 1:
        if shown:
            yield say("With one strip of each, this shows a difference and proves none.")
        else:
            yield say("With one strip of each, no difference shows; that does not prove them alike.")
    elif not shown:
        yield say("No difference shows; that does not prove them alike.")
    elif least >= LIMIT:
        yield say(
            "However clear it looks, with so few strips chance alone would part two systems as clearly in at least "
            "{chance} (exact p {p}): that shows a difference and proves none.",
            chance=chance_words(least), p=p_text(least),
        )  # fmt: skip
    if least >= LIMIT:
        yield enough_words(systems) if shown else needed_words(systems)
    if max(sizes) > 1:
        yield own_strip_words()


def _size_pairs(ranking: Ranking) -> Iterator[tuple[int, int]]:
    for test in ranking.tests:
        largest = sorted(test.sizes)[-2:]
        if len(largest) == 2:
            yield largest[0], largest[1]


def control_words(ranking: Ranking) -> Iterator[str]:
    """Say where there is no control, or none that was graded."""
    controls = [s.name for s in ranking.systems if s.control]
    graded = {c.system for c in ranking.cells if c.scores}
    if not controls:
        yield say("No control is named: without a strip with no promoter nothing shows that a promoter helps.")
    elif not graded & set(controls):
        yield say("The control has no grade: nothing shows yet that a promoter helps.")


# --- the order ------------------------------------------------------------------------------------------------


def order_words(ranking: Ranking) -> Iterator[str]:
    """Say the order, best first, with the systems of one level together."""
    levels = ranking.order
    if sum(map(len, levels)) < 2:
        return
    if len(levels) > 1:
        yield say("Best first: {levels}.", levels=say(", then ").join(map(_level, levels)))
    elif all(p.relation is Relation.SAME for p in ranking.pairs if {p.first, p.second} <= set(levels[0])):
        yield say("{systems}: all have the same grades in every test.", systems=capital(listed(levels[0])))
    else:
        yield say("No system is better than all the rest, and none is worse than all the rest, by every test.")


def _level(names: Sequence[str]) -> str:
    if len(names) == 1:
        return names[0]
    return say("{systems} (no order between them)", systems=listed(names))


def missing_words(ranking: Ranking) -> Iterator[str]:
    """Say which systems have no place, and which tests they lack."""
    tests = {t.label for t in ranking.tests}
    placed = [name for level in ranking.order for name in level]
    for name, labels in ranking.missing.items():
        graded = {c.label for c in ranking.cells if c.system == name and c.scores}
        lacking = [label for label in labels if label not in graded and label in tests]
        if not graded:
            yield say("“{system}” has no grade at all and can't be placed.", system=name)
        elif lacking:
            yield say("“{system}” can't be placed: it has no grade in {tests}.", system=name, tests=listed(lacking))
        else:
            yield say(
                "“{system}” can't be placed: {others} have no grade in {tests}.",
                system=name, others=listed([f"“{other}”" for other in placed]), tests=listed(labels),
            )  # fmt: skip


def crossed_words(ranking: Ranking) -> Iterator[str]:
    """Say which pairs are better in one test and worse in another."""
    crossed = [p for p in ranking.pairs if p.relation is Relation.CROSSED]
    for pair in crossed[:_MOST_CROSSED]:
        yield _crossed(pair)
    if (more := len(crossed) - _MOST_CROSSED) > 0:
        yield say_n(
            "Of {n} more pair neither is better by all tests.",
            "Of {n} more pairs neither is better by all tests.",
            more,
        )


def _crossed(pair: Pair) -> str:
    reasons = []
    if pair.better_on:
        reasons.append(say("“{system}” is better in {tests}", system=pair.first, tests=listed(pair.better_on)))
    if pair.worse_on:
        reasons.append(say("“{system}” is better in {tests}", system=pair.second, tests=listed(pair.worse_on)))
    if pair.crossed_on:
        reasons.append(say("their strips overlap in {tests}", tests=listed(pair.crossed_on)))
    return say(
        "“{first}” or “{second}”: {reasons}.",
        first=pair.first, second=pair.second, reasons=say(", ").join(reasons),
    )  # fmt: skip


# --- the figures ----------------------------------------------------------------------------------------------


def test_words(ranking: Ranking) -> Iterator[str]:
    """Say of each test whether it tells the systems apart, with its exact p."""
    for test in ranking.tests:
        label = capital(test.label)
        if len(test.sizes) < 2:
            if test.sizes:
                yield say("{test}: one system alone was graded.", test=label)
        elif not test.apart:
            if not (test.tape and test.control_as_good):
                yield say("{test} does not tell them apart: all strips have one grade.", test=label)
        elif test.p is None:
            yield say("{test}: no exact p, and no other is given. {why}", test=label, why=test.why)
        elif test.smallest < 1:
            yield say(
                "{test}: chance alone would part them as clearly in {chance} (exact p {p}; the smallest that these "
                "strips can reach is {smallest}).",
                test=label, chance=chance_words(test.p), p=p_text(test.p), smallest=p_text(test.smallest),
            )  # fmt: skip
    shown = [t.adjusted for t in ranking.tests if t.adjusted is not None]
    if any(len(t.sizes) > 2 for t in ranking.tests if t.adjusted is not None):
        yield say("Taken over all systems at once, that says whether they are all alike, not which one is better.")
    if len(shown) > 1:
        yield say(
            "Who looks at {n} tests may find one of them clear by luck: with that counted in, chance would do as well "
            "as the clearest in {chance} (p {p} by Holm's way).",
            n=spelled(len(shown)), chance=chance_words(min(shown)), p=p_text(min(shown)),
        )  # fmt: skip


def pair_words(ranking: Ranking) -> Iterator[str]:
    """Tell the first on the list against each other, where there are more than the two that were told already."""
    if sum(map(len, ranking.order)) < 3:
        return
    top = ranking.order[0][0]
    lines = []
    for label in dict.fromkeys(p.label for p in ranking.pair_tests):
        against = [_against(p, top) for p in ranking.pair_tests if p.label == label and top in (p.first, p.second)]
        if said := [each for each in against if each]:
            lines.append(
                say("{test}: chance alone would part {system} as clearly {others}.",
                    test=capital(label), system=top, others=listed(said))
            )  # fmt: skip
    yield from lines
    adjusted = [p.adjusted for p in ranking.pair_tests if p.adjusted is not None]
    if lines and len(adjusted) > 1:
        yield say(
            "Who looks at {n} pairs may find one of them clear by luck: with that counted in, chance would do as well "
            "as the clearest in {chance} (p {p} by Holm's way).",
            n=spelled(len(adjusted)), chance=chance_words(min(adjusted)), p=p_text(min(adjusted)),
        )  # fmt: skip


def _against(pair: PairFound, top: str) -> str:
    other = pair.second if pair.first == top else pair.first
    if pair.p is None:
        return ""
    return say("from {system} in {chance} (exact p {p})", system=other, chance=chance_words(pair.p), p=p_text(pair.p))
