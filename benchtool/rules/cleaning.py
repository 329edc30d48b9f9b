"""Cleaning: what must be off the piece before paint goes on."""

from collections.abc import Iterator

from benchtool.job.events import Face, Prep
from benchtool.rules.finding import PRACTICE, Facts, Family, Finding, Severity, key

FAMILY = Family("cleaning")

CLEANED = {Prep.WASH, Prep.RELEASE_WASH, Prep.DEGREASE}
SCRATCHED = {Prep.ABRADE, Prep.SCUFF}


@FAMILY.rule(
    "not-cleaned",
    Severity.CAUTION,
    timed=False,
    reason="Skin grease, polish and silicone make craters and take away adhesion.",
    source=PRACTICE,
)
def not_cleaned(facts: Facts) -> Iterator[Finding]:
    """No cleaning is logged on the bare piece."""
    for piece in facts.state.pieces.values():
        bare = {s.step for s in piece.steps if s.on_layer is None}
        release = facts.tables.substrate_of(piece.piece).moulded
        if not piece.layers or bare & CLEANED:
            continue
        yield Finding(
            rule="cleaning.not-cleaned",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=piece.layers[0].id,
            message=f"No cleaning is logged for {piece.piece.name}.",
            remedy="Wash off the mould release, degrease, and log both."
            if release
            else "Wash and degrease it, and log that.",
            key=key("cleaning.not-cleaned", piece.id),
        )


@FAMILY.rule(
    "mould-release",
    Severity.CAUTION,
    timed=False,
    reason="A moulded part carries release agent that a solvent wipe only spreads; it needs a wash of its own.",
    source=PRACTICE,
)
def mould_release(facts: Facts) -> Iterator[Finding]:
    """A moulded piece was cleaned, and no mould-release wash is logged."""
    for piece in facts.state.pieces.values():
        bare = {s.step for s in piece.steps if s.on_layer is None}
        moulded = facts.tables.substrate_of(piece.piece).moulded
        if not moulded or not piece.layers or Prep.RELEASE_WASH in bare or not bare & CLEANED:
            continue
        yield Finding(
            rule="cleaning.mould-release",
            severity=Severity.CAUTION,
            piece=piece.id,
            layer=piece.layers[0].id,
            message=f"{piece.piece.name} is a moulded part and no mould-release wash is logged.",
            remedy="Wash it with warm water and a mild detergent, rinse until the water runs off in one sheet.",
            key=key("cleaning.mould-release", piece.id),
        )


@FAMILY.rule(
    "viewed-side-scratched",
    Severity.STOP,
    timed=False,
    reason="Paint behind a clear shell shows every scratch of the shell for good.",
    source=PRACTICE,
)
def viewed_side_scratched(facts: Facts) -> Iterator[Finding]:
    """The bare shell of a behind-clear piece was abraded or scuffed; once painted, it can only be looked at."""
    for piece in facts.state.pieces.values():
        if piece.piece.face is not Face.BEHIND_CLEAR or not piece.layers:
            continue
        painted = piece.top is not None
        for step in piece.steps:
            if step.on_layer is None and step.step in SCRATCHED:
                yield Finding(
                    rule="cleaning.viewed-side-scratched",
                    severity=Severity.CAUTION if painted else Severity.STOP,
                    piece=piece.id,
                    layer=piece.layers[0].id,
                    message=f"{piece.piece.name} is painted behind clear, and {step.step.value} is logged on the "
                    "bare shell: the scratches will show.",
                    remedy="Look at it from the front, and show the customer before you go on."
                    if painted
                    else "Polish it out before the first coat; let a promoter do the holding instead.",
                    key=key("cleaning.viewed-side-scratched", piece.id, step.place),
                    forbids_coat=not painted,
                )
                break
