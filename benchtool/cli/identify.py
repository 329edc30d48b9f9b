"""`benchtool identify`: what an unmarked piece may be made of, by what can be seen without harming it."""

import argparse
from collections.abc import Mapping
from typing import TYPE_CHECKING

from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, named, printable, short

if TYPE_CHECKING:
    from benchtool.trade.identify import Candidates, ClueTable, Question
    from benchtool.trade.substrates import Substrate

_SHOWN = 12
"""So many candidates the text shows; the JSON gives all."""


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    identify: Parser = commands.add_parser(
        "identify",
        help="narrow down what an unmarked piece is made of",
        description="Narrow down what a piece is made of, by its mark and by what can be seen without harming it.",
        epilog=(
            "examples:\n"
            "  benchtool identify\n"
            "  benchtool identify --clue what-is-it=bumper --clue bend=tough\n"
            "  benchtool identify --mark '>PP+EPDM-TD20<'\n\n"
            "Without a mark and a clue it lists the clues and their answers. No clue burns the piece or rubs it with\n"
            "solvent.\n"
            "Exit status: 0 fine, 1 what was seen does not go together, 2 the input can't be used."
        ),
    )
    identify.add_argument("--mark", metavar="TEXT", help="what is moulded on the piece")
    identify.add_argument(
        "--clue", metavar="ID=ANSWER", action="append", help="what was seen; once for each clue, in any order"
    )
    return identify


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Narrow down the material."""
    from benchtool.session.tables_identify import load_clues, load_marks
    from benchtool.trade.identify import narrow, next_question
    from benchtool.trade.markreading import parse
    from benchtool.trade.marks import ranks

    clues = load_clues()
    table = means.tables().substrates
    answers = _answers(args.clue, clues)
    mark, marked = None, dict[str, int]()
    if args.mark is not None:
        mark = parse(printable(args.mark), load_marks())
        if not mark.understood:
            raise Unusable(f"--mark: {mark.problems[-1]}")
        marked = ranks(mark, table.values())
    told = narrow(answers, table.values(), clues, marked=marked)
    ask = next_question(answers, table.values(), clues, marked=marked)
    begun = bool(answers) or mark is not None
    values: dict[str, object] = {
        "mark": mark.words if mark is not None else "",
        "answers": answers,
        "candidates": [
            {"id": c.id, "name": table[c.id].name, "score": c.score, "for": list(c.pro), "against": list(c.con)}
            for c in told.left
        ],
        "excluded": [{"id": c.id, "name": table[c.id].name, "why": list(c.con)} for c in told.excluded],
        "unknown": told.unknown,
        "next": _question(ask) if ask is not None else None,
        "clues": [_question(q) for q in clues.questions.values()],
        "not_done": [{"what": r.what, "why": r.why} for r in clues.refused],
    }
    if ask is None:
        values["why"] = "no question is left that tells more"
    status = TROUBLE if told.at_odds else FINE
    words = mark.words if mark is not None else ""
    return Answer(status, values, lambda: _text(told, ask, clues, table, words) if begun else _all(clues))


def _answers(texts: list[str] | None, clues: "ClueTable") -> dict[str, str]:
    from benchtool.trade.identify import CANT_SAY

    answers = {}
    for clue, given in named("--clue", texts, "bend=tough").items():
        question = clues.questions.get(clue)
        if question is None:
            raise Unusable(f"--clue “{short(clue)}” is not known here. Write one of {', '.join(clues.questions)}.")
        if question.answer(given) is None and given != CANT_SAY:
            known = ", ".join(a.id for a in question.answers)
            raise Unusable(f"--clue {clue} has no answer “{short(given)}”. Write one of {known} or {CANT_SAY!r}.")
        answers[clue] = given
    return answers


def _question(question: "Question") -> dict[str, object]:
    return {
        "id": question.id,
        "ask": question.ask,
        "how": question.how,
        "answers": [{"id": a.id, "words": a.words} for a in question.answers],
    }


def _text(
    told: "Candidates", ask: "Question | None", clues: "ClueTable", table: "Mapping[str, Substrate]", mark: str
) -> str:
    lines = [mark] if mark else []
    lines += ["It may be:"] if told.left and told.left[0].score > 0 else []
    shown = [c for c in told.left if c.score > 0][:_SHOWN]
    for candidate in shown:
        lines.append(f"  {table[candidate.id].name}")
        lines += [f"    for: {why}" for why in candidate.pro] + [f"    against: {why}" for why in candidate.con]
    if shown and len(told.left) > len(shown):
        lines.append(f"  and {len(told.left) - len(shown)} more that fit less well")
    if told.excluded:
        lines.append("Ruled out: " + "; ".join(table[c.id].name for c in told.excluded) + ".")
    lines += [told.unknown] if told.unknown else []
    if ask is not None:
        lines += ["", "Next:", *_asked(ask)]
    return "\n".join([*lines, "", *(r.why for r in clues.refused)])


def _all(clues: "ClueTable") -> str:
    lines = [line for question in clues.questions.values() for line in _asked(question)]
    return "\n".join([*lines, "", *(r.why for r in clues.refused)])


def _asked(question: "Question") -> list[str]:
    return [f"{question.id}: {question.ask} {question.how}", *(f"  {a.id}: {a.words}" for a in question.answers)]
