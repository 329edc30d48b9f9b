"""What the plan page does: pieces and layers as typed, read and written as events still to be stamped."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import partial

from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import Activator, Card, Gun, Reduction
from benchtool.job.state import LayerState, PieceState
from benchtool.rules.engine import every
from benchtool.rules.finding import RANK, Severity
from benchtool.session.acts import free_id
from benchtool.session.areas import read_area, write_area
from benchtool.session.cardfields import as_it_was
from benchtool.session.cardorigins import all_guessed, guessed
from benchtool.session.cardreading import LONGEST_NAME, Wrong, clean, free_slug, unmixable
from benchtool.session.colournames import named_colour
from benchtool.session.materials import name_in_list, read_joined
from benchtool.session.session import Draft, NotNow, Session
from benchtool.trade.durations import write_span
from benchtool.trade.mixing import NotAShare, Of, parse_share
from benchtool.trade.numbers import shorten
from benchtool.trade.quantities import NotAnAmount
from benchtool.trade.saying import say
from benchtool.trade.substrates import Flex

UNKNOWN = "unknown"
MOST_ADDITIVES = 10
"""So many additives the plan of a layer holds."""


# --- pieces ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceText:
    """What is typed and chosen of a piece; None where nothing is chosen yet.

    `mark` and `clues` are what told what it is made of; `joined` are the other materials on it, as words.
    `found_face` is the face that answers to the clues told, None where none did. `batch` is the lot of the material.
    `area` is the face that is painted, in any unit.
    """

    name: str = ""
    substrate: str | None = None
    known: ev.Known | None = None
    flex: Flex | None = None
    face: ev.Face = ev.Face.OUTSIDE
    mark: str = ""
    clues: tuple[ev.Clue, ...] = ()
    shape: frozenset[ev.Shape] = frozenset()
    joined: str = ""
    found_face: ev.Face | None = None
    batch: str = ""
    area: str = ""


def write_piece(session: Session, piece: ev.Piece) -> PieceText:
    """Write a piece as it would be typed."""
    names = [name_in_list(session.tables, x) for x in piece.joined]
    return PieceText(
        name=piece.name,
        substrate=piece.substrate,
        known=piece.known,
        flex=piece.flex,
        face=piece.face,
        mark=piece.mark,
        clues=piece.clues,
        shape=frozenset(piece.shape),
        joined=", ".join(names),
        batch=piece.batch,
        area=write_area(piece.area_m2),
    )


def _read_piece(session: Session, text: PieceText, piece_id: str, before: ev.Piece | None = None) -> ev.Piece:
    faults = []
    name = clean(text.name)
    if not name:
        faults.append(("name", "Give the piece a name, such as Left side panel."))
    elif len(name) > LONGEST_NAME:
        faults.append(("name", f"This name is too long: {LONGEST_NAME} characters at most."))
    substrate = session.tables.substrates.get(text.substrate or "")
    if substrate is None:
        faults.append(("substrate", "Say what it is made of; “Nobody knows” is an answer too."))
    elif text.known is None:
        faults.append(("known", "Say how you know what it is made of."))
    if text.flex is None:
        faults.append(("flex", "Say whether it bends in use: the activator depends on it."))
    joined: tuple[str, ...] = ()
    try:
        joined = read_joined(session.tables, text.joined, before.joined if before is not None else ())
    except ValueError as wrong:
        faults.append(("joined", str(wrong)))
    batch = clean(text.batch)
    if len(batch) > LONGEST_NAME:
        faults.append(("batch", say("This lot is too long: {n} characters at most.", n=LONGEST_NAME)))
    area_m2 = before.area_m2 if before is not None else None
    if text.area != write_area(area_m2):  # else it stays to the last figure
        try:
            area_m2 = read_area(session.measures, text.area)
        except NotAnAmount as wrong:
            faults.append(("area", str(wrong)))
    if faults or substrate is None or text.known is None or text.flex is None:
        raise Wrong(faults)
    known = text.known if substrate.known else ev.Known.UNKNOWN
    return ev.Piece(
        id=piece_id,
        name=name,
        substrate=substrate.id,
        known=known,
        flex=text.flex,
        face=text.face,
        mark=clean(text.mark)[:LONGEST_NAME],
        clues=text.clues,
        shape=tuple(s for s in ev.Shape if s in text.shape),
        joined=joined,
        batch=batch,
        strip_of=before.strip_of if before is not None else None,
        area_m2=area_m2,
    )


def add_piece(session: Session, text: PieceText) -> tuple[str, Draft]:
    """Bring in a piece; gives its id and the event.

    Raises:
        Wrong: a field that can't be taken so.
        NotNow: no job is open, or it is read-only.
    """
    piece = _read_piece(session, text, free_id(session, "p"))
    return piece.id, partial(ev.PieceAdded, piece=piece)


def change_piece(session: Session, piece: PieceState, text: PieceText) -> tuple[Draft, ...]:
    """Describe a piece anew; gives no event where nothing is different.

    Raises:
        Wrong: a field that can't be taken so.
    """
    changed = _read_piece(session, text, piece.id, piece.piece)
    return () if changed == piece.piece else (partial(ev.PieceChanged, piece=changed),)


# --- cards -------------------------------------------------------------------------------------------


class Where(StrEnum):
    """Where a card that can be chosen lies."""

    JOB = "in this job"
    LIBRARY = "in your library"
    CHANGED = "in your library, changed since"
    NEW = "new"


@dataclass(frozen=True, slots=True)
class CardChoice:
    """A card that a layer can be of."""

    card: Card
    where: Where

    @property
    def key(self) -> str:
        """What tells this choice from the others."""
        return f"{self.card.id}|{self.where.name}"


def card_choices(session: Session, made: Sequence[Card] = ()) -> tuple[CardChoice, ...]:
    """Give the cards of the job, then those just `made`, then those of the library.

    A card of the library that the job has too is given once; twice where the two differ, for the job's own
    copy is never changed silently.
    """
    own = session.current.state.cards if session.current is not None else {}
    choices = [CardChoice(card, Where.JOB) for card in sorted(own.values(), key=_by_name)]
    shelf = session.library.look().cards if session.library is not None else ()
    in_library = {card.id: card for card in shelf}
    for card in made:
        if card.id not in own and in_library.get(card.id) != card:
            choices.append(CardChoice(card, Where.NEW))
            in_library.pop(card.id, None)
    choices += [
        CardChoice(card, Where.CHANGED if card.id in own else Where.LIBRARY)
        for card in shelf
        if card.id in in_library and own.get(card.id) != card
    ]
    return tuple(choices)


def _by_name(card: Card) -> tuple[str, str]:
    return card.name.casefold(), card.id


def library_faults(session: Session) -> tuple[str, ...]:
    """Say which files of the library hold no card, and why."""
    return tuple(str(f) for f in session.library.look().faults) if session.library is not None else ()


def free_card_id(session: Session, name: str, made: Sequence[Card] = ()) -> str:
    """Give an id for a new card that neither the job nor the library ever used."""
    taken = {card.id for card in made}
    if session.current is not None:
        taken.update(e.card.id for e in session.current.job.events if isinstance(e, ev.CardCopied))
    if session.library is not None:
        taken.update(card.id for card in session.library.look().cards)
    return free_slug(name, taken)


def card_words(card: Card) -> str:
    """Say in a line what a painter wants to know of a card before choosing it; what is a guess is said to be one."""

    def told(words: str, *names: str) -> str:
        return say("{words} (a guess)", words=words) if any(guessed(card, name) for name in names) else words

    least, most = card.coats_least, card.coats_most
    coats = f"{least} coat{'' if least == 1 else 's'}" if least == most else f"{least} to {most} coats"
    words = [f"{'Two' if card.two_part else 'One'}-part {card.duty.value}", told(coats, "coats_least", "coats_most")]
    if card.flash is not None:
        most_flash = f" to {write_span(card.flash_most)}" if card.flash_most is not None else ""
        words.append(told(f"flash {write_span(card.flash)}{most_flash}", "flash", "flash_most"))
    if card.pot_life is not None:
        words.append(told(f"pot life {write_span(card.pot_life)}", "pot_life"))
    if card.recoat_opens is not None:
        closes = f" to {write_span(card.recoat_closes)}" if card.recoat_closes is not None else ""
        next_layer = f"next layer after {write_span(card.recoat_opens)}{closes}"
        words.append(told(next_layer, "recoat_opens", "recoat_closes"))
    return ", ".join(words) + (say(". All of it is a guess.") if all_guessed(card) else ".")


def gun_words(card: Card, gun: Gun) -> str:
    """Say how a card reduces for a gun."""
    reduction = card.reduction(gun)
    if reduction is None:
        return f"The card gives no reduction for the {gun.value}: it goes on unreduced."
    return reduction_words(reduction)


def reduction_words(reduction: Reduction) -> str:
    """Say how a reduction is understood."""
    try:
        least, usual, most = (parse_share(s) for s in (reduction.least, reduction.usual, reduction.most))
    except NotAShare:
        return f"Reduced {reduction.usual}."
    said = f"Reduced {usual.words()}"
    if least == most:
        return f"{said}."
    if least.of is most.of is not Of.PARTS and least.named == most.named:
        return f"{said}; {least.value * 100:.4g} to {most.value * 100:.4g} % by the card."
    return f"{said}; {least.words()} to {most.words()} by the card."


def suiting_activator(card: Card, flex: Flex) -> Activator | None:
    """Pick the activator for a piece that is `flex`: the one made for it, else one made for any; None if none."""
    suiting = [a for a in card.activators if a.suits.suits(flex)]
    return next((a for a in suiting if a.suits.value == flex.value), suiting[0] if suiting else None)


def suiting_additives(card: Card, flex: Flex) -> frozenset[str]:
    """Give the additives, by id, that a piece needs: on a flexible one those made for flexible parts."""
    needs = flex is Flex.FLEXIBLE
    return frozenset(a.id for a in card.additives if needs and a.suits.value == flex.value)


def usual_gun(session: Session, piece: PieceState) -> Gun:
    """Give the gun planned last, on this piece or else in this job."""
    layers = piece.layers or (list(session.current.state.layers.values()) if session.current is not None else [])
    return layers[-1].plan.gun if layers else Gun.AIRBRUSH


# --- layers ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerText:
    """What is typed and chosen of a layer. `before` is the layer it goes under, None for the last one on.

    `note` is what there is to say of its colour.
    """

    card: Card | None = None
    coats: str = ""
    name: str = ""
    colour: str = ""
    gun: Gun = Gun.AIRBRUSH
    activator: str | None = None
    additives: frozenset[str] = frozenset()
    before: str | None = None
    note: str = ""


def layer_text(session: Session, layer: LayerState) -> LayerText:
    """Write the plan of a layer as it would be typed."""
    document, plan = session.current, layer.plan
    return LayerText(
        card=document.state.card_of(layer) if document is not None else None,
        coats=str(plan.coats),
        name=plan.name or "",
        colour=plan.colour or "",
        gun=plan.gun,
        activator=plan.activator,
        additives=frozenset(plan.additives),
        note=plan.note,
    )


def read_colour(typed: str) -> str | None:
    """Read `#rrggbb`, with or without its `#`, `#rgb`, or a plain name (`deep blue`); None where nothing is typed.

    Raises:
        ValueError: it is none of these; the message says what to write.
    """
    text = typed.strip().removeprefix("#")
    if not text:
        return None
    named = named_colour(typed)
    if named is not None:
        return named
    if re.fullmatch(r"[0-9a-fA-F]{3}", text):
        text = "".join(2 * c for c in text)
    if not re.fullmatch(r"[0-9a-fA-F]{6}", text):
        raise ValueError(
            say(
                "“{typed}” is no colour: write a plain one such as deep blue, # and six digits such as #1f4e79, or "
                "nothing. What the paint is called goes into the colour note.",
                typed=shorten(typed),
            )
        )
    return f"#{text.lower()}"


def places(session: Session, piece: PieceState) -> tuple[tuple[str | None, str], ...]:
    """Give where a new layer can go: last, or before one that has no paint on yet."""
    behind = piece.piece.face is ev.Face.BEHIND_CLEAR
    last = "Last, behind all the others" if behind else "On top of all the others"
    found: list[tuple[str | None, str]] = [(None, last)]
    if session.current is not None:
        for layer in reversed(piece.layers):
            if layer.started:
                break
            name = session.current.state.layer_name(layer)
            found.append((layer.id, f"Before {name}, nearer the shell" if behind else f"Under {name}"))
    return tuple(found)


def _read_layer(text: LayerText, layer_id: str, done: int = 0, before: ev.Layer | None = None) -> ev.Layer:
    faults: list[tuple[str, str]] = []
    if text.card is None:
        faults.append(("card", "Choose the product of this layer, or make a new card of it."))
    typed = text.coats.strip()
    coats = int(typed) if typed.isdecimal() and len(typed) < 4 else 0
    if not 1 <= coats <= 50:
        said = f"“{shorten(typed)}” is no number of coats: write" if typed else "Say how many coats:"
        faults.append(("coats", f"{said} 1 to 50."))
    elif coats < done:
        faults.append(("coats", f"{done} coats are on already: plan {done} or more."))
    name = clean(text.name)
    if len(name) > LONGEST_NAME:
        faults.append(("name", f"This name is too long: {LONGEST_NAME} characters at most."))
    colour = None
    try:
        colour = read_colour(text.colour)
    except ValueError as wrong:
        faults.append(("colour", str(wrong)))
    if len(text.additives) > MOST_ADDITIVES:
        faults.append(("additives", say("These are too many: {n} at most.", n=MOST_ADDITIVES)))
    if text.card is not None:
        unmixed = next(unmixable(text.card), None)
        if unmixed is not None:
            faults.append(("card", f"The shares of this card make no mix, so edit it first. {unmixed[1]}"))
    if faults or text.card is None:
        raise Wrong(faults)
    activator = text.activator if text.card.activator(text.activator) is not None else None
    return ev.Layer(
        id=layer_id,
        card=text.card.id,
        coats=coats,
        name=name or None,
        colour=colour,
        gun=text.gun,
        activator=activator,
        additives=_additives(text.card, text.additives),
        note=as_it_was(text.note, before.note if before is not None else ""),
        make_mL=before.make_mL if before is not None else None,
    )


def _additives(card: Card, chosen: frozenset[str]) -> tuple[str, ...]:
    """Put them in the order of the card; one that the card has no more stays in the plan, and is not mixed."""
    known = [a.id for a in card.additives]
    return (*(x for x in known if x in chosen), *sorted(chosen.difference(known)))


def add_layer(session: Session, piece: PieceState, text: LayerText) -> tuple[str, tuple[Draft, ...]]:
    """Plan a layer, with the card copied into the job where it has not this one; gives its id and the events.

    Raises:
        Wrong: a field that can't be taken so.
        NotNow: no job is open, it is read-only, or the piece is gone.
    """
    document = session.writable()
    layer = _read_layer(text, free_id(session, "l"))
    drafts: list[Draft] = []
    if text.card is not None and document.state.cards.get(text.card.id) != text.card:
        drafts.append(copy_card(text.card))
    standing = document.state.pieces.get(piece.id)
    if standing is None:
        raise NotNow("This piece is gone from the job.")
    before = text.before if text.before in {x.id for x in standing.layers} else None
    drafts.append(partial(ev.LayerAdded, piece=piece.id, layer=layer, before=before))
    return layer.id, tuple(drafts)


def change_layer(layer: LayerState, text: LayerText) -> tuple[Draft, ...]:
    """Change the plan of a layer; its product stays. Gives no event where nothing is different.

    Raises:
        Wrong: a field that can't be taken so.
    """
    read = _read_layer(text, layer.id, len(layer.coats), layer.plan)
    changed = replace(read, card=layer.plan.card)
    return () if changed == layer.plan else (partial(ev.LayerChanged, layer=changed),)


def remove_layer(session: Session, layer: LayerState) -> Draft:
    """Take a layer out of the plan.

    Raises:
        NotNow: it has paint on.
    """
    if layer.started:
        name = session.writable().state.layer_name(layer)
        raise NotNow(f"{name} has paint on: it stays in the record.")
    return partial(ev.LayerRemoved, layer=layer.id)


def copy_card(card: Card) -> Draft:
    """Copy a card into the job, in place of the one of its id from now on."""
    return partial(ev.CardCopied, card=card)


OF_A_STACK = frozenset({"promoter", "chemistry", "layering", "film", "shop"})
"""The families of rules that say how layers go together; `shop` are the painter's own."""


def raised(session: Session, drafts: Sequence[Draft]) -> str:
    """Say the worst that these drafts would raise about how the layers go together; empty for nothing."""
    found = [
        f
        for f in every(session.preview(*drafts))
        if f.rule.partition(".")[0] in OF_A_STACK and f.severity is not Severity.NOTE
    ]
    worst = sorted(found, key=lambda f: RANK[f.severity])[:1]
    return " ".join(f"{f.severity.value.capitalize()}: {f.message} {f.remedy}" for f in worst)
