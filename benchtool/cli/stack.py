"""`benchtool stack`: the order of a stack, its film, and what speaks against it, of a job or of a few cards."""

import argparse
from typing import TYPE_CHECKING, Any

from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, printable, short

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from benchtool.job.cards import Card
    from benchtool.job.record import Job
    from benchtool.job.state import LayerState, PieceState, State
    from benchtool.rules.finding import Tables
    from benchtool.session.stackagainst import Said
    from benchtool.trade.substrates import Substrate

_WHY = "null where no card gives the film of it"


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    stack: Parser = commands.add_parser(
        "stack",
        help="put the products of a stack in order, and say what speaks against it",
        description="Put the products of a stack in order, and say what speaks against it: the stacks that a job has "
        "planned, or a few card files on a material.",
        epilog=(
            "examples:\n"
            "  benchtool stack demo\n"
            "  benchtool stack tank.json --piece Tank\n"
            "  benchtool stack --substrate 'bare aluminium' primer.json blue.json clear.json\n"
            "  benchtool stack --substrate pp --flexible --json promoter.json blue.json\n\n"
            "A job's stack is told as it is planned; cards are put in the order offered, the first one on first.\n"
            "Exit status: 0 fine, 1 something spoils the stack and no waiting helps, 2 unusable input."
        ),
    )
    stack.add_argument("files", metavar="FILE", nargs="+", help="a job file or the word demo; with --substrate cards")
    stack.add_argument("--piece", metavar="NAME", help="of a job: only this piece")
    stack.add_argument("--substrate", metavar="WORDS", help="what the cards go on, as benchtool substrate finds it")
    stack.add_argument("--flexible", action="store_true", help="with --substrate: the piece bends in use")
    stack.add_argument("--behind-clear", action="store_true", help="with --substrate: painted behind a clear shell")
    return stack


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Tell the stacks of a job, or the one that the cards make."""
    if args.substrate is None:
        if args.flexible or args.behind_clear:
            raise Unusable("--flexible and --behind-clear tell of a piece: write --substrate WORDS too.")
        stacks = _of_job(args, means)
    else:
        if args.piece is not None:
            raise Unusable("--piece picks one of a job: it does not go with --substrate.")
        stacks = [_of_cards(args, means)]
    status = TROUBLE if any(note["grave"] for stack in stacks for note in stack["notes"]) else FINE
    return Answer(status, {"stacks": stacks}, lambda: "\n".join(map(_text, stacks)))


# --- a job -------------------------------------------------------------------------------------------


def _of_job(args: argparse.Namespace, means: Means) -> list[dict[str, Any]]:
    from benchtool.job.state import fold

    if len(args.files) != 1:
        raise Unusable("One job at a time. To put cards in order, say what they go on with --substrate WORDS.")
    job = _open(args.files[0], means)
    state, tables = fold(job), means.tables()
    pieces = state.painted
    if args.piece is not None:
        wanted = printable(args.piece).casefold()
        pieces = [p for p in pieces if wanted in (printable(p.piece.name).casefold(), p.id.casefold())]
        if not pieces:
            raise Unusable(f"The job has no piece called “{short(args.piece)}”.")
    return [_stack(job, state, piece, tables, means.now()) for piece in pieces]


def _open(name: str, means: Means) -> "Job":
    from benchtool.job.record import Job
    from benchtool.store.jobfile import JobFileFault

    try:
        opened = means.open_job(name)
    except JobFileFault as fault:
        raise Unusable(str(fault)) from None
    except OSError as fault:
        raise Unusable(f"“{short(name)}” can't be read: {fault.strerror or fault}.") from None
    return opened if isinstance(opened, Job) else opened.job


# --- a few cards -------------------------------------------------------------------------------------


def _of_cards(args: argparse.Namespace, means: Means) -> dict[str, Any]:
    from benchtool.session.stackagainst import trial_job

    tables, now = means.tables(), means.now()
    substrate = _substrate(args.substrate, tables)
    job, state, piece = trial_job(
        _cards(args.files), substrate, tables, now, flexible=args.flexible, behind_clear=args.behind_clear
    )
    return _stack(job, state, piece, tables, now)


def _substrate(words: str, tables: "Tables") -> "Substrate":
    from benchtool.cli.substrate import found_by_words

    fitting = found_by_words(tables, words)
    if not fitting:
        raise Unusable(f"No material here is called “{short(words)}”. Try fewer words.")
    if len(fitting) > 1:
        names = ", ".join(s.id for s in fitting[:8])
        raise Unusable(f"--substrate “{short(words)}” fits {len(fitting)} materials: write one of {names}.")
    return fitting[0]


def _cards(files: "Sequence[str]") -> "list[Card]":
    from pathlib import Path

    from benchtool.store.cardfiles import load_any

    cards: list[Card] = []
    for name in files:
        brought = load_any(Path(name))
        if brought.faults:
            raise Unusable(printable(f"{brought.faults[0]}."))
        cards += brought.cards
    other = {c.id for c in cards if any(d.id == c.id and d != c for d in cards)}
    if other:
        raise Unusable(f"Two different cards have the id “{short(min(other))}”: give one of them another.")
    return cards


# --- the answer --------------------------------------------------------------------------------------


def _stack(job: "Job", state: "State", piece: "PieceState", tables: "Tables", now: "datetime") -> dict[str, Any]:
    from benchtool.plan.stackcost import best_order, trouble_of
    from benchtool.session.stackagainst import film_in, judge

    layers = [(x, card) for x in piece.layers if (card := state.card_of(x)) is not None]
    film = film_in([(card, x) for x, card in layers])
    judged = judge(job, state, piece, tables, now)
    ahead = [card for x, card in layers if not x.started]
    on = [card for x, card in layers if x.started]
    best, whole = best_order(ahead, piece.piece, tables.pairings, on)
    lesser, more = (trouble_of(order, piece.piece, tables.pairings, on).lasting for order in (best, ahead))
    names = {x.id: state.layer_name(x) for x, _ in layers}
    known = any(um is not None for um in film.layers)
    return {
        "piece": piece.piece.name,
        "substrate": tables.substrate_of(piece.piece).name,
        "flex": piece.piece.flex.value,
        "face": piece.piece.face.value,
        "order": [_layer(x, card, um, names[x.id]) for (x, card), um in zip(layers, film.layers, strict=True)],
        "offered": [card.id for card in best],
        "better": [card.name for card in best] if lesser < more else [],
        "best_of_all": whole,
        "film_least_um": film.total_um[0] if known else None,
        "film_most_um": film.total_um[1] if known else None,
        "film_whole": film.whole,
        "why": None if film.whole else _WHY,
        "notes": [_note(said, names) for said in judged.said],
        "missing": [{"words": m.words, "under": names.get(under), "cards": list(m.ids)} for m, under in judged.missing],
    }


def _layer(layer: "LayerState", card: "Card", film: "tuple[float, float] | None", name: str) -> dict[str, object]:
    activator = card.activator(layer.plan.activator)
    return {
        "layer": name,
        "card": card.id,
        "duty": card.duty.value,
        "coats": layer.plan.coats,
        "coats_on": layer.coats_done,
        "film_least_um": film[0] if film is not None else None,
        "film_most_um": film[1] if film is not None else None,
        "activator": activator.name if activator is not None else None,
        "additives": [d.name for d in card.additives if d.id in layer.plan.additives],
        "why": "null where the card gives none, or none is chosen",
    }


def _note(said: "Said", names: "dict[str, str]") -> dict[str, object]:
    from benchtool.rules.finding import Severity

    return {
        "severity": said.severity.value,
        "grave": said.severity is Severity.STOP,
        "layer": names.get(said.layer or ""),
        "words": said.words,
        "remedy": said.remedy,
        "reason": said.why,
        "source": said.source,
    }


def _text(stack: "dict[str, Any]") -> str:
    """Write a stack as it lies, what is seen first at the top."""
    behind = stack["face"] == "behind clear"
    lines = [f"{printable(stack['piece'])}: {stack['substrate']}, {stack['flex']}, painted {stack['face']}", ""]
    rows = [f"  {i}  {_layer_text(layer)}" for i, layer in enumerate(stack["order"], 1)]
    ground = f"     {stack['substrate']}"
    lines += [ground, *rows] if behind else [*reversed(rows), ground]
    if not rows:
        lines.append("  Nothing is planned on it.")
    lines += ["", "The numbers are the order in which they go on."] if rows else []
    if stack["film_most_um"] is not None:
        more = "" if stack["film_whole"] else ", and more: not every card gives its film"
        lines.append(f"Dry film in all: {_um(stack['film_least_um'], stack['film_most_um'])}{more}.")
    if not stack["best_of_all"]:
        lines.append("So many products are put in order by their kind alone.")
    if stack["better"]:
        lines.append(f"Another order has less against it: {', '.join(map(printable, stack['better']))}.")
    for missing in stack["missing"]:
        lines.append(f"It would help: {printable(missing['words'])}")
    for note in stack["notes"]:
        lines += ["", f"{note['severity'].capitalize()}: {printable(note['words'])}"]
        lines += [f"    {printable(note['remedy'])}"] if note["remedy"] else []
        lines += [f"    Why: {note['reason']}", f"    Source: {note['source']}"]
    return "\n".join(lines) + "\n"


def _layer_text(layer: "dict[str, Any]") -> str:
    coats = layer["coats"]
    said = [f"{coats} coat{'' if coats == 1 else 's'}"]
    if layer["coats_on"]:
        said[0] += f" ({layer['coats_on']} on)"
    if layer["film_most_um"] is not None:
        said.append(_um(layer["film_least_um"], layer["film_most_um"]))
    said += [printable(layer["activator"])] if layer["activator"] else []
    said += [f"with {printable(a)}" for a in layer["additives"]]
    return f"{printable(layer['layer'])} ({layer['duty']}): {', '.join(said)}"


def _um(low: float, high: float) -> str:
    from benchtool.session.stackagainst import range_words

    return range_words((low, high))
