"""Surface, more of it: colour and clear that were never meant to go straight on a bare, smooth, hard face."""

from collections.abc import Iterator

from benchtool.job.cards import Chemistry, Duty
from benchtool.rules.finding import PRACTICE, Cause, Facts, Family, Finding, Severity
from benchtool.rules.ground import Ground, go_and_test, grounds
from benchtool.trade.saying import say
from benchtool.trade.substrates import Material

FAMILY = Family("surface")

_UNDERCOATS = frozenset({Duty.PROMOTER, Duty.PRIMER, Duty.FILLER, Duty.SEALER})


@FAMILY.rule(
    "no-primer",
    Severity.CAUTION,
    timed=False,
    title="No primer on bare metal or glass",
    reason="Colour holds on what is under it: straight on glass it lets go in the wet, and on bare metal it neither "
    "holds nor keeps rust away.",
    source=f"the material's table of routes; {PRACTICE}",
    remedy="Put a primer or a promoter made for it under the first colour. Where paint is on already, test it for "
    "adhesion before anything goes over it.",
)
def no_primer(facts: Facts) -> Iterator[Finding]:
    """The first layer is a colour on bare metal, or a colour or clear on glass, and no strip has held."""
    for ground in grounds(facts):
        if ground.proved or ground.behind_clear or not _bare(ground):
            continue
        yield ground.finding(
            "surface.no-primer",
            Severity.CAUTION,
            say(
                "{layer} is planned straight on {material}.",
                layer=facts.state.layer_name(ground.first), material=ground.substrate.name,
            ),
            go_and_test() if ground.begun else say("Put a primer or a promoter made for it under the first colour."),
            Cause.HOLD,
        )  # fmt: skip


def _bare(ground: Ground) -> bool:
    card = ground.card
    # A card that does not say what its film is may be of the kind that holds by itself.
    if card is None or card.duty in _UNDERCOATS or card.chemistry is None:
        return False
    if ground.substrate.material is Material.GLASS:
        return True
    return (
        ground.substrate.material is Material.METAL
        and card.duty is Duty.BASE
        and card.chemistry not in (Chemistry.ENAMEL, Chemistry.ETCH)
    )
