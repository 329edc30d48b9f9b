"""`benchtool prep`: how a piece is prepared before paint goes on it, step by step, with the reasons."""

import argparse
from typing import TYPE_CHECKING, Any

from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, printable, short

if TYPE_CHECKING:
    from datetime import datetime

    from benchtool.job.prepplan import PlannedStep
    from benchtool.job.state import PieceState, State
    from benchtool.rules.finding import Tables
    from benchtool.trade.substrates import Substrate

MOST_NAMED = 6
"""So many materials are named where the words may mean several."""


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    prep: Parser = commands.add_parser(
        "prep",
        help="say how a piece is prepared, step by step, and why",
        description="Say how a piece is prepared before paint goes on it, step by step, and why.",
        epilog=(
            "examples:\n"
            "  benchtool prep tank.json\n"
            '  benchtool prep tank.json --piece "Fuel tank"\n'
            "  benchtool prep --substrate polycarbonate --behind-clear --nooks\n\n"
            "Exit status: 0 fine, 1 a cleaner that harms the material, a scratched clear face or a broken water\n"
            "test is in the record, 2 the input can't be used."
        ),
    )
    prep.add_argument("job", nargs="?", metavar="JOB", help="a job file, or the word demo")
    prep.add_argument("--piece", metavar="NAME", help="only this piece of the job")
    prep.add_argument("--substrate", metavar="WORDS", help="instead of JOB: a material, such as ABS or >PP+EPDM<")
    prep.add_argument("--behind-clear", action="store_true", help="with --substrate: it is painted from behind")
    prep.add_argument("--textured", action="store_true", help="with --substrate: its face is textured")
    prep.add_argument("--nooks", action="store_true", help="with --substrate: it has deep nooks")
    return prep


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Say how it is prepared."""
    if (args.job is None) == (args.substrate is None):
        few = "Say of what: a job file, or --substrate with a material, is missing."
        raise Unusable(few if args.job is None else "Give a job or --substrate, not both.")
    if args.job is not None and (args.behind_clear or args.textured or args.nooks):
        raise Unusable("--behind-clear, --textured and --nooks go with --substrate: a job knows its own pieces.")
    if args.substrate is not None and args.piece is not None:
        raise Unusable("--piece goes with a job.")
    tables = means.tables()
    state, pieces, notes = _of_job(args, means) if args.job is not None else _of_material(args, tables)
    told = [_piece(state, piece, tables, means.now()) for piece in pieces]
    status = TROUBLE if any(p["troubles"] for p in told) else FINE
    from benchtool.job.prepwords import defers

    return Answer(status, {"pieces": told, "caution": defers(), "notes": notes}, lambda: _text(told, defers(), notes))


def _of_job(args: argparse.Namespace, means: Means) -> "tuple[State, list[PieceState], list[str]]":
    from benchtool.job.record import Job
    from benchtool.job.state import fold
    from benchtool.store.jobfile import JobFileFault

    try:
        opened = means.open_job(args.job)
    except JobFileFault as fault:
        raise Unusable(str(fault)) from None
    except OSError as fault:
        raise Unusable(f"“{short(args.job)}” can't be read: {fault.strerror or fault}.") from None
    job, notes = (opened, []) if isinstance(opened, Job) else (opened.job, list(opened.notes))
    state = fold(job)
    pieces = state.painted
    if not pieces:
        raise Unusable(f"“{short(args.job)}” has no piece yet.")
    if args.piece is None:
        return state, pieces, notes
    wanted = " ".join(args.piece.casefold().split())
    mine = [p for p in pieces if wanted in (p.piece.name.casefold(), p.id.casefold())]
    if not mine:
        names = ", ".join(short(p.piece.name) for p in pieces[:MOST_NAMED])
        raise Unusable(f"--piece “{short(args.piece)}” is not in this job. It has {names}.")
    return state, mine, notes


def _of_material(args: argparse.Namespace, tables: "Tables") -> "tuple[State, list[PieceState], list[str]]":
    from benchtool.job.events import Face, Known, Piece, Shape
    from benchtool.job.state import PieceState, State
    from benchtool.trade.substrates import Flex

    material = _material(args.substrate, tables)
    shape = tuple(s for s, given in ((Shape.TEXTURED, args.textured), (Shape.NOOKS, args.nooks)) if given)
    piece = Piece(
        id="piece",
        name=material.name,
        substrate=material.id,
        known=Known.TOLD if material.known else Known.UNKNOWN,
        flex=material.flex or Flex.RIGID,
        face=Face.BEHIND_CLEAR if args.behind_clear else Face.OUTSIDE,
        shape=shape,
    )
    return State(), [PieceState(piece)], []


def _material(words: str, tables: "Tables") -> "Substrate":
    from benchtool.session.materials import find_substrates

    plain = " ".join(words.casefold().split()).strip("<> ")
    every = tables.substrates.values()
    exact = [s for s in every if plain in (s.id.casefold(), s.name.casefold())]
    exact = exact or [s for s in every if plain in (symbol.casefold() for symbol in s.symbols)]
    if len(exact) == 1:
        return exact[0]
    found = exact or [s for s in find_substrates(tables, words) if s.known and any(c.isalnum() for c in words)]
    if len(found) == 1:
        return found[0]
    if not found:
        raise Unusable(
            f"--substrate “{short(words)}” is no material that is known here. Write unknown where nobody knows."
        )
    named = ", ".join(f"{s.name} ({s.id})" for s in found[:MOST_NAMED])
    more = " and others" if len(found) > MOST_NAMED else ""
    raise Unusable(f"--substrate “{short(words)}” may be {named}{more}. Write one of them.")


def _piece(state: "State", piece: "PieceState", tables: "Tables", now: "datetime") -> dict[str, Any]:
    from benchtool.job.prepplan import next_of
    from benchtool.rules.preparing import plan_of
    from benchtool.session.prepping import troubles

    plan = plan_of(state, piece, tables, now)
    following = next_of(plan)
    return {
        "piece": piece.piece.name,
        "id": piece.id,
        "material": tables.substrate_of(piece.piece).name,
        "next": following.brief if following is not None else "",
        "steps": [_step(step, tables) for step in plan],
        "troubles": list(troubles(piece, tables)),
    }


def _step(step: "PlannedStep", tables: "Tables") -> dict[str, Any]:
    """Give a step; what it does not have (cleaner, grades, an end) is left out."""
    from benchtool.job.prepwords import agent_name

    told: dict[str, Any] = {
        "part": step.part.value,
        "name": step.name,
        "state": step.state.value,
        "words": step.words,
        "reason": step.reason,
        "source": step.source,
        "cautions": list(step.cautions),
    }
    if step.step is not None:
        told["step"] = step.step.value
    if step.agent is not None:
        told |= {"agent": step.agent, "cleaner": agent_name(step.agent, tables.cleaners)}
    if step.grit is not None:
        told["grit"] = list(step.grit)
    if step.done_at is not None:
        told["done_at"] = step.done_at.isoformat()
    return told


def _text(pieces: list[dict[str, Any]], defers: str, notes: list[str]) -> str:
    lines = [printable(note) for note in notes]
    for piece in pieces:
        name, material = printable(piece["piece"]), piece["material"]
        lines += ["", f"Prep plan: {name}, {material}" if name != material else f"Prep plan: {material}"]
        lines += [f"  Mind: {printable(trouble)}" for trouble in piece["troubles"]]
        for step in piece["steps"]:
            lines.append(f"  {step['state']}: {step['name']}. {printable(step['words'])}")
            lines.append(f"      Why: {printable(step['reason'])}")
            lines += [f"      Caution: {caution}" for caution in step["cautions"]]
            lines.append(f"      Source: {printable(step['source'])}")
    if any(step["cautions"] for piece in pieces for step in piece["steps"]):
        lines += ["", defers]
    return "\n".join(lines).strip() + "\n"
