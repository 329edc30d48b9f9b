"""Promoter and activator: whether this system can hold on this material at all."""

from collections.abc import Iterator

from benchtool.job.cards import Duty
from benchtool.job.events import Known
from benchtool.rules.finding import PRACTICE, Facts, Family, Finding, Severity, key
from benchtool.trade.substrates import Suits

FAMILY = Family("promoter")


@FAMILY.rule(
    "activator-type",
    Severity.STOP,
    timed=False,
    reason="An activator for rigid panels makes a film that cracks when the part bends; one for flexible "
    "parts leaves a film too soft on metal and wood.",
    source=PRACTICE,
)
def activator_type(facts: Facts) -> Iterator[Finding]:
    """The activator chosen, in the cup, or sprayed is made for the other kind of piece."""
    for piece, layer in facts.layers():
        card = facts.state.card_of(layer)
        flex = piece.piece.flex
        if card is None:
            continue
        mix = facts.state.mix_for(layer)
        chosen = layer.plan.activator if mix is None else mix.made.activator
        sprayed = {m.made.activator for _, _, _, m in facts.sprayed(layer)}
        if any(c.mix is None for c in layer.coats):
            sprayed.add(layer.plan.activator)
        for activator in card.activators:
            next_up = activator.id == chosen and not layer.finished
            if activator.suits.suits(flex) or not (next_up or activator.id in sprayed):
                continue
            fit = [a.name for a in card.activators if a.suits.suits(flex)]
            remedy = f"Take {' or '.join(fit)}." if fit else "This card has none that suits: choose another product."
            if mix is not None:
                remedy += " The wrong one is in the cup: empty it and mix fresh."
            if not next_up:
                remedy = "Test this layer for adhesion and for cracks when it bends, before anything goes over it."
            made_for = "rigid parts" if activator.suits is Suits.RIGID else "parts that bend"
            went_on = "" if next_up else f" {facts.state.layer_name(layer)} went on with it."
            yield Finding(
                rule="promoter.activator-type",
                severity=Severity.STOP if next_up else Severity.CAUTION,
                piece=piece.id,
                layer=layer.id,
                message=f"{activator.name} is for {made_for}; {piece.piece.name} is {flex.value}.{went_on}",
                remedy=remedy,
                key=key("promoter.activator-type", layer.id, activator.id),
                forbids_coat=next_up and layer is facts.next_layers()[piece.id],
            )


@FAMILY.rule(
    "paint-refused",
    Severity.STOP,
    timed=False,
    reason="PE, PP, TPO and other materials of low surface energy are hardly wetted: paint lies on them and peels "
    "off in sheets.",
    source="published critical surface tensions, PE about 31 and PP about 29-30 mN/m against 38 and more "
    "for what wets; common practice for the remedy",
)
def paint_refused(facts: Facts) -> Iterator[Finding]:
    """The substrate refuses paint and the first layer is no promoter."""
    for piece in facts.state.pieces.values():
        substrate = facts.tables.substrate_of(piece.piece)
        if not substrate.refuses_paint or not piece.layers:
            continue
        # A promoter that is planned and was passed over holds nothing.
        first = next((x for x in piece.layers if x.started), piece.layers[0])
        card = facts.state.card_of(first)
        if card is None or card.duty is Duty.PROMOTER:
            continue
        yield Finding(
            rule="promoter.paint-refused",
            severity=Severity.CAUTION if first.finished else Severity.STOP,
            piece=piece.id,
            layer=(piece.current or first).id,
            message=f"{piece.piece.name} is {substrate.name}: paint does not hold on it without a promoter.",
            remedy="Put an adhesion promoter under the first layer, and prove it on a test strip.",
            key=key("promoter.paint-refused", piece.id),
            forbids_coat=True,
        )


@FAMILY.rule(
    "unknown-untried",
    Severity.STOP,
    timed=False,
    reason="Nobody can tell from looking whether paint will hold on a material that nobody has named.",
    source=PRACTICE,
)
def unknown_untried(facts: Facts) -> Iterator[Finding]:
    """A coat is due on an unknown substrate, and no test strip has held, or the last one did not."""
    for piece in facts.state.pieces.values():
        known = facts.tables.substrate_of(piece.piece).known and piece.piece.known is not Known.UNKNOWN
        trials = sorted(piece.trials, key=lambda t: t.at)  # the record's order within an instant stays
        if known or not piece.layers or (trials and trials[-1].held):
            continue
        message = f"Nobody knows what {piece.piece.name} is made of, and "
        if any(t.held for t in trials):
            message += "the last test strip did not hold."
        else:
            message += f"no test strip has held yet.{' The trial on record did not hold.' if trials else ''}"
        yield Finding(
            rule="promoter.unknown-untried",
            severity=Severity.STOP if piece.current is not None else Severity.CAUTION,
            piece=piece.id,
            layer=(piece.current or piece.layers[0]).id,
            message=message,
            remedy="Spray this system on an offcut beside a bare control, pull tape, and log the trial.",
            key=key("promoter.unknown-untried", piece.id),
            forbids_coat=True,
        )
