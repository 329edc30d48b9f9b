"""The words for each step of an adhesion or hardness grade, best first; what they mean stands in trade/grades.py.

The words of the standards' steps are ours, after ISO 2409 clause 9 and ASTM D3359 (the scales of methods A and B);
those of plain tape, stick and fingernail are common practice, no source.
"""

from benchtool.trade.saying import say

Lines = tuple[str, ...]


def iso_2409() -> Lines:
    """Classes 0 to 5: what has come off of the squares."""
    return (
        say("The edges of the cuts are quite smooth, and no square has come off."),
        say("Small flakes have come off where cuts cross: at most 5 % of the area."),
        say("It has flaked along the edges or where cuts cross: more than 5 %, at most 15 % of the area."),
        say("It has flaked in broad ribbons, or parts of squares are gone: more than 15 %, at most 35 % of the area."),
        say("Broad ribbons along the edges and some whole squares are gone: more than 35 %, at most 65 % of the area."),
        say("More has come off than class 4 allows: more than 65 % of the area."),
    )


def d3359_b() -> Lines:
    """Grades 5B to 0B: what has come off of the squares."""
    return (
        say("The edges of the cuts are quite smooth, and no square has come off."),
        say("Small flakes have come off where cuts cross: less than 5 % of the area."),
        say("Small flakes have come off along the edges and where cuts cross: 5 to 15 % of the area."),
        say("It has flaked along the edges and on parts of the squares: 15 to 35 % of the area."),
        say("It has flaked along the edges in broad ribbons, and whole squares are gone: 35 to 65 % of the area."),
        say("More has come off than grade 1B allows: more than 65 % of the area."),
    )


def d3359_a() -> Lines:
    """Grades 5A to 0A: what has come off beside the X."""
    return (
        say("Nothing has peeled or come off."),
        say("A trace has peeled or come off along the cuts or where they cross."),
        say("Ragged edges along the cuts, up to 1.6 mm (1/16 in) to either side."),
        say("Ragged edges along most of the cuts, up to 3.2 mm (1/8 in) to either side."),
        say("It has come off most of the X under the tape."),
        say("It has come off beyond the X."),
    )


def plain_tape() -> Lines:
    """Steps 5 to 0: what lies on the tape after a pull without cuts."""
    return (
        say("Nothing is on the tape, held against the light."),
        say("A few specks are on the tape, none larger than a pinhead."),
        say("Flakes are on the tape, only from an edge of the paint or of the tape."),
        say("Flakes or patches from the middle are on the tape, less than a quarter of what it covered."),
        say("Patches are on the tape, a quarter to three quarters of what it covered."),
        say("The paint came off in a sheet: nearly all that the tape covered, or more."),
    )


def stick() -> Lines:
    """Steps 5 to 0: what a wooden stick does."""
    return (
        say("Ten hard strokes leave no mark."),
        say("Ten hard strokes leave a shiny mark, and nothing comes off."),
        say("Hard strokes dent or scratch the paint, and what is under it is not seen."),
        say("It comes off only after several hard strokes in one place."),
        say("It comes off at the first hard stroke."),
        say("It comes off at the first light stroke."),
    )


def nail() -> Lines:
    """Steps 5 to 0: what a fingernail does."""
    return (
        say("A nail pressed and drawn as hard as you can leaves no mark."),
        say("The nail leaves a mark that wipes or heals away."),
        say("The nail leaves a mark that stays, and nothing comes off."),
        say("The nail gets crumbs off only at an edge or at a scratch."),
        say("The nail scrapes it off in the middle of the face, with effort."),
        say("The nail pushes it off with ease, or lifts it in a film."),
    )


def no_damage(pencils: Lines) -> Lines:
    """What each pencil, hardest first, and a film below the softest mean: no damage of any kind (ISO 15184)."""
    return (
        say("{pencil}, the hardest of the set, does no damage.", pencil=pencils[0]),
        *(say("{pencil} does no damage; the next harder one does.", pencil=p) for p in pencils[1:]),
        say("Even {pencil}, the softest of the set, does damage.", pencil=pencils[-1]),
    )


def no_gouge(pencils: Lines) -> Lines:
    """As `no_damage`, for a cut through the film (ASTM D3363)."""
    return (
        say("{pencil}, the hardest of the set, does not cut through.", pencil=pencils[0]),
        *(say("{pencil} does not cut through; the next harder one does.", pencil=p) for p in pencils[1:]),
        say("Even {pencil}, the softest of the set, cuts through.", pencil=pencils[-1]),
    )


def no_scratch(pencils: Lines) -> Lines:
    """As `no_damage`, for a scratch (ASTM D3363)."""
    return (
        say("{pencil}, the hardest of the set, leaves no scratch.", pencil=pencils[0]),
        *(say("{pencil} leaves no scratch; the next harder one does.", pencil=p) for p in pencils[1:]),
        say("Even {pencil}, the softest of the set, scratches it.", pencil=pencils[-1]),
    )
