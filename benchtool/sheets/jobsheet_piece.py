"""One piece on a job sheet: what it is made of and how that is known, its prep, its stack drawn, its trial, photos."""

from collections.abc import Iterator, Sequence

from benchtool.job import events as ev
from benchtool.job.prepwords import agent_name, step_name
from benchtool.job.state import LayerState, PieceState, Step
from benchtool.job.trialproof import Proof, proof_of
from benchtool.job.trialrest import title_of
from benchtool.job.trials import Grade, TrialState
from benchtool.sheets.blocks import Band, Block, Facts, Grid, Heading, Photos, Shown, Stack, Words
from benchtool.sheets.jobsheet_layers import NONE
from benchtool.sheets.jobsheet_told import Told
from benchtool.sheets.sheetwords import joined, moment, needed, not_logged
from benchtool.trade.markreading import parse
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say, say_n


def about(told: Told, piece: PieceState) -> Facts:
    """Say what a piece is made of, how that is known, and what else decides how it is painted."""
    return Facts(tuple(row for row in _about(told, piece) if row[1]))


def _about(told: Told, piece: PieceState) -> Iterator[tuple[str, str]]:
    it = piece.piece
    yield say("Made of"), material(told, it.substrate)
    yield say("Known"), _known(it.known)
    if it.mark.strip():
        yield say("Its mark"), _mark(told, it.mark)
    yield say("Clues"), "; ".join(_clue(told, clue) for clue in it.clues)
    yield say("Lot of the material"), it.batch.strip()
    face = say("painted behind clear") if it.face is ev.Face.BEHIND_CLEAR else say("painted outside")
    shape = [say(shape.value) for shape in it.shape]
    yield say("The piece"), joined((say(it.flex.value), face, *shape))
    yield say("It touches"), ", ".join(material(told, joined_to) for joined_to in it.joined)
    yield say("Painted area"), say("{n} m²", n=figure(it.area_m2)) if it.area_m2 is not None else ""
    yield say("Heat on it"), "; ".join(
        say("{c} °C from {start} to {end}",
            c=figure(heat.degC), start=moment(heat.started_at, told.zone),
            end=moment(heat.ended_at, told.zone) if heat.ended_at is not None else not_logged())
        for heat in piece.heat.stretches
    )  # fmt: skip


def material(told: Told, substrate: str) -> str:
    """Name a material by the table, else by its id."""
    known = told.tables.substrates.get(substrate)
    return known.name if known is not None else substrate


def _known(known: ev.Known) -> str:
    return {
        ev.Known.MARKED: say("by the mark on it"),
        ev.Known.TOLD: say("we were told so"),
        ev.Known.GUESSED: say("a guess"),
        ev.Known.UNKNOWN: say("not known for sure"),
    }[known]


def _mark(told: Told, mark: str) -> str:
    if told.tables.marks is None:
        return mark
    return say("{mark}: {words}", mark=mark, words=parse(mark, told.tables.marks()).words)


def _clue(told: Told, clue: ev.Clue) -> str:
    """Say a clue and its answer in the words of the table, else by their ids."""
    question = told.clues.questions.get(clue.test) if told.clues is not None else None
    answer = question.answer(clue.answer) if question is not None else None
    if question is None or answer is None:
        return say("{clue}: {answer}", clue=clue.test.replace("-", " "), answer=clue.answer.replace("-", " "))
    return f"{say(question.ask)} {say(answer.words)}"


# --- prep ------------------------------------------------------------------------------------------------


def prep(told: Told, piece: PieceState) -> Iterator[Block]:
    """Write what was done to prepare a piece and its layers, oldest first."""
    yield Heading(say("Prep"), 2)
    if not piece.steps:
        yield Words(say("No prep is logged."))
        return
    head = say("When"), say("Step"), say("On"), say("With"), say("Said of it")
    yield Grid(head, tuple(_step(told, step) for step in piece.steps))


def _step(told: Told, step: Step) -> tuple[str, ...]:
    on = told.layer_name(step.on_layer) if step.on_layer is not None else say("the bare piece")
    agent = agent_name(step.agent, told.tables.cleaners) if step.agent is not None else ""
    grit = f"P{step.grit}" if step.grit is not None else ""
    passed = ""
    if step.step is ev.Prep.WATER_BREAK:
        passed = {
            True: say("passed: the water ran off in one sheet"),
            False: say("failed: the water broke"),
            None: say("how it went is not logged"),
        }[step.passed]
    return (
        moment(step.at, told.zone),
        step_name(step.step),
        on,
        joined((agent, grit)) or NONE,
        joined((passed, told.note_of(step.place))) or NONE,
    )


# --- the stack drawn -----------------------------------------------------------------------------------------


def stack(told: Told, piece: PieceState) -> Stack:
    """Draw a piece in cross-section, the face that the viewer sees on top."""
    ground = Band(material(told, piece.piece.substrate), say("the piece itself"), substrate=True)
    layers = [
        Band(f"{i}. {told.state.layer_name(x)}", _beside(x), x.plan.colour) for i, x in enumerate(piece.layers, 1)
    ]
    behind = piece.piece.face is ev.Face.BEHIND_CLEAR
    bands = [ground, *layers] if behind else [*reversed(layers), ground]
    names = ", ".join(say("{name} ({what})", name=b.name, what=b.beside) for b in bands)
    seen = say("As the viewer sees it, through the clear piece: {names}.", names=names)
    return Stack(tuple(bands), seen if behind else say("From the outside in: {names}.", names=names))


def _beside(layer: LayerState) -> str:
    if not layer.started:
        return say_n("planned: {n} coat", "planned: {n} coats", layer.plan.coats)
    on = say_n("{n} coat on", "{n} coats on", layer.coats_done)
    if layer.coats_done != layer.plan.coats:
        on = say("{n} of {total} coats on", n=layer.coats_done, total=layer.plan.coats)
    return joined((on, say("{um} µm a coat", um=figure(layer.film.um)) if layer.film is not None else ""))


# --- trials --------------------------------------------------------------------------------------------------


def trial(told: Told, piece: PieceState) -> Iterator[Block]:
    """Write what was tried for a piece: the quick log of strips, and the system chosen of a trial with its grades."""
    proof = proof_of(told.state, piece, told.tables.cleaners)
    if not piece.trials and proof is None:
        return
    yield Heading(say("Trial"), 2)
    for strip in piece.trials:
        yield Words(_quick(told, strip))
    if proof is not None:
        yield from _proof(told, proof)


def _quick(told: Told, strip: ev.TrialRecorded) -> str:
    when = moment(strip.at, told.zone)
    said = (
        say("Test strip, {when}: it held.", when=when)
        if strip.held
        else say("Test strip, {when}: it did not hold.", when=when)
    )
    names = [card.name for i in strip.cards if (card := told.state.cards.get(i)) is not None]
    on_it = say("On it: {names}.", names=", ".join(names)) if names else ""
    return " ".join(x for x in (said, on_it, " ".join(strip.note.split())) if x)


def _proof(told: Told, proof: Proof) -> Iterator[Block]:
    trial = proof.trial
    yield Words(
        say("Chosen from the trial “{trial}” on {when}: {system}.",
            trial=trial.plan.name, when=moment(proof.chosen.at, told.zone), system=proof.system.name)
    )  # fmt: skip
    if proof.holds:
        yield Words(say("It proves that this stack holds here: its strips held the tape test after their rest."))
    else:
        yield Words(say("It does not prove it for this piece: {why}", why=" ".join(proof.against)))
    if proof.to_do:
        yield Words(" ".join(proof.to_do))
    systems = [proof.system, *(s for s in trial.plan.systems if s.control and s.id != proof.system.id)]
    yield from _grades(told, trial, systems)


def _grades(told: Told, trial: TrialState, systems: Sequence[ev.System]) -> Iterator[Block]:
    rows = [
        (s.name, strip.piece.name, *_grade(grade), moment(grade.given.at, told.zone))
        for s in systems
        for of in trial.strips_of(s.id)
        if (strip := told.state.pieces.get(of.piece)) is not None
        for grade in trial.newest(strip.id)
    ]
    head = say("System"), say("Strip"), say("Test"), say("Grade"), say("Said of it"), say("When")
    if rows and all(row[4] == NONE for row in rows):
        yield Grid((*head[:4], head[5]), tuple((*row[:4], row[5]) for row in rows))
    elif rows:
        yield Grid(head, tuple(rows))
    strips = [of.piece for s in systems for of in trial.strips_of(s.id)]
    shown = [_of_grade(told, grade) for strip in strips for grade in trial.newest(strip)]
    if any(shown):
        yield Photos(tuple(one for one in shown if one is not None))


def _of_grade(told: Told, grade: Grade) -> Shown | None:
    """Show the photo that a grade was judged by."""
    given = grade.given
    if given.photo is None:
        return None
    strip = told.state.pieces.get(given.strip)
    name = strip.piece.name if strip is not None else given.strip
    caption = joined((name, title_of(grade.test), given.grade, moment(given.at, told.zone)))
    return Shown(given.photo.name, given.photo.sha256, caption)


def _grade(grade: Grade) -> tuple[str, str, str]:
    given = grade.given
    removed = ""
    if given.removed_percent is not None:
        off = f" ± {figure(given.plus_minus)}" if given.plus_minus else ""
        removed = say("{n} % off", n=f"{figure(given.removed_percent)}{off}")
    return title_of(grade.test), given.grade, joined((removed, " ".join(given.note.split()))) or NONE


def trial_at_large(told: Told, trial: TrialState) -> Iterator[Block]:
    """Write a whole trial: its systems, how its strips were tested, and every grade that counts."""
    plan = trial.plan
    yield Heading(say("Trial: {trial}", trial=plan.name))
    rows = [
        (say("Systems"), ", ".join(say("{system} (control)", system=s.name) if s.control else s.name
                                   for s in plan.systems)),
        (say("Rest"), say("{wait} before the first test", wait=needed(plan.rest))),
        (say("Put away"), moment(trial.ended_at, told.zone) if trial.ended_at is not None else ""),
        (say("Note"), " ".join(plan.note.split())),
    ]  # fmt: skip
    yield Facts(tuple(row for row in rows if row[1]))
    if trial.grades:
        yield from _grades(told, trial, plan.systems)
    else:
        yield Words(say("No grade is logged."))


# --- photos --------------------------------------------------------------------------------------------------


def photos(told: Told, piece: PieceState) -> Iterator[Block]:
    """Show the photos of a piece, each with the step it shows and when it was taken in."""
    if not piece.photos:
        return
    yield Heading(say("Photos"), 2)
    yield Photos(
        tuple(Shown(p.picture.name, p.picture.sha256, _caption(told, p), p.picture.called) for p in piece.photos)
    )


def _caption(told: Told, photo: ev.PhotoAdded) -> str:
    of = told.by_id.get(photo.of or "")
    what = _shown(told, of) if of is not None else ""
    if not what and photo.layer is not None:
        what = say("On top: {layer}", layer=told.layer_name(photo.layer))
    when = moment(of.at if of is not None else photo.at, told.zone)
    return joined((what, when, " ".join(photo.note.split())))


def _shown(told: Told, of: ev.Event) -> str:
    match of:
        case ev.PrepDone(step=step):
            return step_name(step)
        case ev.CoatStarted(layer=layer) | ev.CoatDone(layer=layer) | ev.FilmMeasured(layer=layer):
            return say("{layer}: {what}", layer=told.layer_name(layer), what=ev.event_words(of))
        case _:
            words = ev.event_words(of)
            return words[:1].upper() + words[1:]
