"""Promoter, more of it: what only a test strip can prove."""

from collections.abc import Iterator

from benchtool.job.cards import Duty
from benchtool.job.events import Known
from benchtool.rules.finding import PRACTICE, Cause, Facts, Family, Finding, Severity, cause, key
from benchtool.rules.ground import grounds
from benchtool.trade.saying import say
from benchtool.trade.substrates import Substrate

FAMILY = Family("promoter")

POLYETHYLENE = ("PE", "PE-")
"""How the ISO 1043 symbols of polyethylene begin."""


@FAMILY.rule(
    "untested",
    Severity.NOTE,
    timed=False,
    title="Promoter on polyethylene, not proved",
    reason="Promoters are made for PP and TPO; on polyethylene most of them let go, whatever the label says.",
    source=f"{PRACTICE}; PE is flame or corona treated in works",
    remedy="Pull tape on a strip of this system beside a bare control first, and log the trial.",
)
def untested(facts: Facts) -> Iterator[Finding]:
    """A promoter is planned on polyethylene, and no test strip has held."""
    for ground in grounds(facts):
        card = ground.card
        if card is None or card.duty is not Duty.PROMOTER or ground.proved or not ground.open:
            continue
        if not _polyethylene(ground.substrate):
            continue
        yield ground.finding(
            "promoter.untested",
            Severity.NOTE,
            say("{piece} is {material}, and many promoters let go of it.", **_named(ground.name, ground.substrate)),
            say("Pull tape on a strip of this system beside a bare control first, and log the trial."),
            Cause.HOLD,
        )


def _polyethylene(substrate: Substrate) -> bool:
    return any(s == POLYETHYLENE[0] or s.startswith(POLYETHYLENE[1]) for s in substrate.symbols)


def _named(piece: str, substrate: Substrate) -> dict[str, str]:
    return {"piece": piece, "material": substrate.name}


@FAMILY.rule(
    "unknown-untried",
    Severity.STOP,
    timed=False,
    title="Unknown material, and no strip that held",
    reason="Nobody can tell from looking whether paint will hold on a material that nobody has named.",
    source=PRACTICE,
    remedy="Spray this system on an offcut beside a bare control, pull tape, and log the trial.",
)
def unknown_untried(facts: Facts) -> Iterator[Finding]:
    """A coat is due on an unknown substrate, and neither a strip nor a trial of its system proves that it holds."""
    for ground in grounds(facts):
        piece = ground.piece
        known = ground.substrate.known and piece.piece.known is not Known.UNKNOWN
        if known or ground.proved:
            continue
        last, trial = piece.newest_trial, ground.tried_in
        if trial is not None:
            tried = say(
                "Nobody knows what {piece} is made of, and the trial of {system} does not speak for it.",
                piece=ground.name, system=trial.system.name,
            )  # fmt: skip
            tried += " " + trial.against[0]
        elif last is not None and last.held and not piece.tried(last):
            tried = say(
                "Nobody knows what {piece} is made of, and the test strip that held was not of {layer}.",
                piece=ground.name, layer=facts.state.layer_name(ground.first),
            )  # fmt: skip
        elif any(t.held for t in piece.trials):
            tried = say(
                "Nobody knows what {piece} is made of, and the last test strip did not hold.", piece=ground.name
            )
        else:
            tried = say("Nobody knows what {piece} is made of, and no test strip has held yet.", piece=ground.name)
            if piece.trials:
                tried += " " + say("The trial on record did not hold.")
        yield Finding(
            rule="promoter.unknown-untried",
            severity=Severity.STOP if piece.current is not None else Severity.CAUTION,
            piece=piece.id,
            layer=(piece.current or piece.layers[0]).id,
            message=tried,
            remedy=say("Spray this system on an offcut beside a bare control, pull tape, and log the trial."),
            key=key("promoter.unknown-untried", piece.id),
            cause=cause(Cause.MATERIAL, piece.id),
            forbids_coat=True,
        )


@FAMILY.rule(
    "strip-came-off",
    Severity.STOP,
    timed=False,
    title="The last test strip came off",
    reason="What comes off a test strip comes off the piece, whatever its material is called.",
    source=PRACTICE,
    remedy="Clean and abrade another strip, try another system on it, and log that trial.",
)
def strip_came_off(facts: Facts) -> Iterator[Finding]:
    """The last test strip did not hold, and the product that was on it still goes on first; a known material."""
    for ground in grounds(facts):
        last, trial = ground.piece.newest_trial, ground.tried_in
        if trial is not None and trial.failed and ground.named:
            yield ground.finding(
                "promoter.strip-came-off",
                Severity.STOP,
                say("{system} was chosen for {piece}.", system=trial.system.name, piece=ground.name)
                + f" {trial.against[0]}",
                say("Try another system on a strip and log it, before this one goes on the piece."),
                Cause.HOLD,
            )
            continue
        if ground.proved:
            continue
        if last is None or last.held or not ground.named or not ground.piece.tried(last):
            continue
        yield ground.finding(
            "promoter.strip-came-off",
            Severity.STOP,
            say("The last test strip of {piece} came off.", piece=ground.name),
            say("Try another system on a strip and log it, before this one goes on the piece."),
            Cause.HOLD,
        )
