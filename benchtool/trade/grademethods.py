"""What to do at each adhesion or hardness test, told at the step: cuts, tape, pull, pencils, and the caution.

Read in reprints and notes of the standards: ASTM D3359-02 clauses 7 and 12, D3359-09 clause 1 and D3359-23 clause 5;
ISO 2409:2020 clauses 1 and 8; the spacing of ISO 2409 in the data sheet 20 (1998) of the German painters' committee
(BFS); the pull of ISO 2409 (60 degrees, 0.5 to 1 s) in an encyclopaedia's account of it; ISO 15184:2020 clauses 7 and
8; ASTM D3363-00 clauses 3 and 7 and D3363-22 clauses 1 and 5. What else is said of ISO 2409 (off within 5 min, 16 h of
conditioning, tape 25 mm wide and 6 to 10 N per 25 mm by IEC 60454-2 in the edition of 2013) is from memory, as are
the three places of ASTM D3359 and the wiping off of pencil by ISO 15184. Plain tape, stick and fingernail are common
practice, no source.
"""

import math
from dataclasses import dataclass
from datetime import timedelta

from benchtool.trade.grades import BY_TAPE, Method
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say

MOST_ISO_UM = 250.0
"""um: no thicker film is graded by ISO 2409 (its clause 1)."""
MOST_B_UM = 125.0
"""um: no thicker film is graded by ASTM D3359 B (D3359-09, 1.2)."""
FINE_B_UM = 50.0
"""um: up to it ASTM D3359 B cuts 1 mm apart (D3359-02, 12.2.1)."""
PULL_WITHIN = timedelta(minutes=5)
"""ISO 2409: the tape is off within this of being pressed on (from memory)."""
ASTM_EARLIEST, ASTM_LATEST = timedelta(seconds=60), timedelta(seconds=120)
"""ASTM D3359, 7.6: the tape comes off 90 +- 30 s after it was pressed on."""

_ISO_SPACING = ((60.0, 1.0), (120.0, 2.0), (MOST_ISO_UM, 3.0))
"""um of film up to which the cuts are so many mm apart on a hard substrate (ISO 2409)."""
_SOFT_MM = 2.0
"""mm: no closer on a soft substrate (ISO 2409)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """How a test is done.

    `cuts` is the number of cuts in each direction (of an X both together), `spacing_mm` how far apart they are: None
    where there are none, or where film or substrate has to be known first. `lines` are sentences in the order in which
    they are done. `fits` says whether the method is meant for that film and substrate, `why_not` why not; a painter
    may use it all the same. `caution` is for that step.
    """

    lines: tuple[str, ...]
    caution: str
    sources: tuple[str, ...]
    cuts: int | None = None
    spacing_mm: float | None = None
    fits: bool = True
    why_not: str = ""


def instructions(method: Method, film_um: float | None = None, hard_substrate: bool | None = None) -> Told:
    """Tell how to do a test on a dry film of `film_um` (um) in all, None where nobody measured it.

    `hard_substrate`: metal, glass or stiff plastic is hard; wood, plaster, leather, rubber, foam or plastic that bends
    is soft (ISO 2409 names metal, and wood and plaster; the rest is a judgement). None where it isn't known.
    """
    if film_um is not None and not 0 < film_um < math.inf:
        film_um = None  # nobody measured that
    if method is Method.ISO_2409:
        return _iso_2409(film_um, hard_substrate)
    if method is Method.D3359_B:
        return _d3359_b(film_um, hard_substrate)
    if method is Method.D3359_A:
        return _d3359_a(hard_substrate)
    if method is Method.PENCIL_ISO:
        return _pencil_iso(hard_substrate)
    if method in (Method.PENCIL_GOUGE, Method.PENCIL_SCRATCH):
        return _pencil_us(method, hard_substrate)
    return {Method.PLAIN_TAPE: _plain_tape, Method.STICK: _stick, Method.NAIL: _nail}[method]()


def tape_window(method: Method, stays: timedelta | None = None) -> tuple[timedelta, timedelta | None]:
    """Give the earliest and latest pull, counted from the tape being pressed on; None where there is no latest.

    ASTM D3359: 60 to 120 s. ISO 2409: from at once to 5 min. Plain tape stays as long as the painter decided
    (`stays`), or may come off at once. A method without tape has nothing to wait for: 0 and None.
    """
    if method in (Method.D3359_A, Method.D3359_B):
        return ASTM_EARLIEST, ASTM_LATEST
    if method is Method.ISO_2409:
        return timedelta(0), PULL_WITHIN
    return (stays or timedelta(0)) if method in BY_TAPE else timedelta(0), None


def _iso_spacing_mm(film_um: float | None, hard: bool | None) -> float | None:
    """Give the spacing in mm; None where it can't be told yet, or the film is too thick."""
    if film_um is None or film_um > MOST_ISO_UM:
        return None
    mm = next(mm for most, mm in _ISO_SPACING if film_um <= most)
    if mm >= _SOFT_MM:
        return mm
    return None if hard is None else mm if hard else _SOFT_MM


def _iso_2409(film_um: float | None, hard: bool | None) -> Told:
    spacing = _iso_spacing_mm(film_um, hard)
    why_not = ""
    if film_um is not None and film_um > MOST_ISO_UM:
        why_not = say(
            "ISO 2409 is for films up to 250 µm, and this one is thicker: make an X-cut (ISO 16276-2, or ASTM D3359 A)."
        )
    lines = [
        say("Let the strip lie at 23 °C and 50 % humidity for at least 16 h, on a hard flat base for the test."),
        *([say("On wood make all cuts at 45° to the grain.")] if hard is not True else []),
        say("Cut six lines with a sharp blade, down to the substrate and no deeper, {apart}.", apart=_apart(spacing))
        if spacing is not None
        else say(
            "Cut six lines with a sharp blade, down to the substrate and no deeper: up to 60 µm of film 1 mm apart on "
            "a hard substrate and 2 mm on a soft one, up to 120 µm 2 mm, up to 250 µm 3 mm."
        ),
        say(
            "Cut six more across them at a right angle. Cuts that don't reach the substrate don't count: start afresh."
        ),
        say("Brush loose flakes off with a soft brush, along both diagonals."),
        _take_tape(),
        say("Lay its middle over the squares, along one set of cuts, and rub it down with a fingertip past them."),
        say("Within 5 min pull it off steadily in 0.5 to 1 s, at about 60° to the face."),
        say("Look with a lens in good light, and count flakes along the cuts too. Keep the tape."),
        say("Do it at three places. If they differ by more than one class, do three more and keep all results."),
    ]
    return Told(
        lines=tuple(lines),
        caution=_blade(),
        sources=(
            "ISO 2409:2020, clauses 1 and 8",
            "ISO 2409:2007 for the tape, its width and time (from memory); by the edition of 2020 tape is agreed on",
        ),
        cuts=6,
        spacing_mm=spacing,
        fits=not why_not,
        why_not=why_not,
    )


def _d3359_b(film_um: float | None, hard: bool | None) -> Told:
    why_not, cuts, spacing = _not_on_soft(hard), None, None
    if film_um is not None:
        cuts, spacing = (11, 1.0) if film_um <= FINE_B_UM else (6, 2.0)
        if film_um > MOST_B_UM:
            cuts = spacing = None
            why_not = say(
                "ASTM D3359 B is for films up to 125 µm, and this one is thicker: use the X-cut of ASTM D3359 A."
            )
    lines = [
        say("Test a clean and dry face without blemish, at room temperature, on a firm base."),
        say(
            "Cut {cuts} lines 20 mm long with a sharp blade, down to the substrate in one steady motion, {apart}.",
            cuts=cuts, apart=_apart(spacing),
        )
        if cuts is not None and spacing is not None
        else say(
            "Cut lines 20 mm long with a sharp blade, down to the substrate in one steady motion: up to 50 µm of "
            "film eleven of them 1 mm apart, up to 125 µm six of them 2 mm apart."
        ),
        say("Brush the flakes off, and look whether the substrate shows in each cut."),
        say("Cut as many across them at a right angle, and brush again. Never cut a line a second time."),
        _take_tape(),
        say("Lay its middle over the squares, smooth it with a finger, and rub it down firmly with a pencil's eraser."),
        _astm_pull(),
        say("Look at the squares with a lens in good light, and keep the tape."),
        say("Do it at three places. Write whole grades only: the standard allows none in between."),
    ]  # fmt: skip
    return Told(
        lines=tuple(lines),
        caution=_blade(),
        sources=("ASTM D3359-02, clause 12 (three places from memory)", "ASTM D3359-09, 1.2", "ASTM D3359-23, 5.2"),
        cuts=cuts,
        spacing_mm=spacing,
        fits=not why_not,
        why_not=why_not,
    )


def _d3359_a(hard: bool | None) -> Told:
    why_not = _not_on_soft(hard)
    lines = (
        say("Test a clean and dry face without blemish, at room temperature, on a firm base."),
        say("Cut an X along a steel rule: two lines 40 mm long that cross near their middle at 30 to 45°."),
        say("Cut down to the substrate in one steady motion. If it doesn't show, make another X: never cut twice."),
        _take_tape(),
        say("Lay its middle on the crossing, along the narrow angles, and smooth it with a finger."),
        say("Rub it down firmly with a pencil's eraser: where it lies well the colour shows evenly through it."),
        _astm_pull(),
        say("Look along the cuts in good light, and keep the tape."),
        say("Do it at three places. Write whole grades only: the standard allows none in between."),
    )
    return Told(
        lines=lines,
        caution=_blade(),
        sources=("ASTM D3359-02, clause 7 (three places from memory)", "ASTM D3359-23, 5.2"),
        cuts=2,
        fits=not why_not,
        why_not=why_not,
    )


def _pencil_iso(hard: bool | None) -> Told:
    lines = (
        say("Let the strip lie at 23 °C and 50 % humidity for at least 16 h. The face must be smooth and level."),
        _grind_lead(),
        say("Set the pencil at 45° in a carriage that bears on its point with 7.5 N (750 g)."),
        say("Push it slowly and evenly away from you, point first, for at least 7 mm."),
        say("After 30 s wipe the pencil off and look for a mark, a dent or a scratch."),
        say("Begin with a pencil that does no harm, and take a harder one each time until one marks the paint."),
        say(
            "The grade is the hardest pencil that does no damage. Do it twice; if they differ by more than one, again."
        ),
        _same_pencils(),
    )
    why_not = _dents(hard)
    return Told(
        lines=lines,
        caution=_only_strip(),
        sources=("ISO 15184:2020, clauses 7 and 8", "ISO 15184:2012 for the 7 mm and the repeat (from memory)"),
        fits=not why_not,
        why_not=why_not,
    )


def _pencil_us(method: Method, hard: bool | None) -> Told:
    end = (
        say("Go on to softer ones until one does not cut through to what is under it over at least 3 mm.")
        if method is Method.PENCIL_GOUGE
        else say("Go on to softer ones until one neither cuts nor scratches: any blemish but a cut is a scratch.")
    )
    lines = (
        say("Lay the strip level on a firm base."),
        _grind_lead(),
        say("Begin with the hardest pencil. Hold it at 45°, its point away from you."),
        say("Push it away from you for 6.5 mm, hard enough to cut the paint or to crumble the lead."),
        end,
        say("The grade is that pencil. Do it at least twice with each pencil that decides."),
        _same_pencils(),
    )
    why_not = _dents(hard)
    return Told(
        lines=lines,
        caution=_only_strip(),
        sources=("ASTM D3363-00, clauses 3 and 7", "ASTM D3363-22, 5.2 and 5.4"),
        fits=not why_not,
        why_not=why_not,
    )


def _plain_tape() -> Told:
    lines = (
        say("Test a clean and dry face, with the same roll of tape on all strips. Make no cuts."),
        _take_tape(),
        say("Press it down with a finger, and rub it with a pencil's eraser until the colour shows evenly through it."),
        say("Leave it on as long as the trial says, the same on every strip."),
        say("Pull it off in one go, back over itself close to the face."),
        say("Hold the tape against the light, and stick it beside the strip's number."),
    )
    return Told(lines=lines, caution=_only_strip(), sources=(say("common practice, no source"),))


def _stick() -> Told:
    lines = (
        say("Take a flat stick of soft wood, its end cut square, and a fresh end for each strip."),
        say("Hold it at about 45°. One light stroke is the weight of your hand, a hard one all that your arm gives."),
        say("Draw one light stroke of 30 mm. If nothing comes off, draw hard ones in the same place, ten at most."),
        say("Let one person do all strips, without knowing which system is on which."),
    )
    return Told(lines=lines, caution=_flakes(), sources=(say("common practice, no source"),))


def _nail() -> Told:
    lines = (
        say("Press a clean thumbnail into the middle of the face, and draw it 20 mm as hard as you can."),
        say("Then try to get under the paint at an edge or at a scratch, and then in the middle."),
        say("Let one person do all strips with the same nail, without knowing which system is on which."),
    )
    caution = say(
        "Test cured paint only: what has not cured goes through the skin. Stop before a splinter of paint gets under "
        "the nail."
    )
    return Told(lines=lines, caution=caution, sources=(say("common practice, no source"),))


def _apart(mm: float) -> str:
    return say("{mm} mm apart", mm=figure(mm))


def _take_tape() -> str:
    return say("Throw away two turns of a clear tape 25 mm wide, and cut a piece about 75 mm long.")


def _astm_pull() -> str:
    return say("60 to 120 s after pressing it on, pull it off fast without a jerk, back over itself at nearly 180°.")


def _grind_lead() -> str:
    return say("Bare 5 to 6 mm of lead, and grind its end flat, upright on 400 paper; grind it anew for each stroke.")


def _same_pencils() -> str:
    return say("Use pencils of one maker and one batch on all strips: others give other grades.")


def _not_on_soft(hard: bool | None) -> str:
    if hard is not False:
        return ""
    return say(
        "ASTM D3359 was made for metal, and how well it repeats on a soft substrate is not known: take ISO 2409, or "
        "use its grades only to compare these strips."
    )


def _dents(hard: bool | None) -> str:
    if hard is not False:
        return ""
    return say("On a soft substrate the pencil tells how far that gives way, and not how hard the paint is.")


def _blade() -> str:
    return say(
        "Cut away from yourself, the other hand behind the blade and in a glove that resists cuts. Test the strip and "
        "never the finished piece."
    )


def _only_strip() -> str:
    return say("Test the strip and never the finished piece: what comes off does not go back on.")


def _flakes() -> str:
    return say("Flakes fly: wear eye protection. Test the strip and never the finished piece.")
