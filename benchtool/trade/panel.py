"""A test panel to scale: strips side by side, with room to mask between them and to hold it by. All lengths in mm.

The panel is seen from its painted face, its strips upright, place 0 on the left; it is held at the top, where the
labels go. x runs to the right and y down from the top left corner.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from benchtool.trade.saying import say

GAP_MM = 6.0
"""Between two strips: as wide as a narrow masking tape. Common practice, no source."""

MARGIN_MM = 10.0
"""Left, right and below the strips: paint draws back from an edge or builds up there. Common practice, no source."""

HOLD_MM = 35.0
"""Bare above the strips: to hold or hang it by, and for the labels. Common practice, no source."""

USUAL_STRIP_MM = (25.0, 100.0)
"""Width and length of a strip. Test tape is 25 mm wide (ASTM D3359, apparatus), and the length has room for three tests
one below the other. Common practice, no source."""

LATTICE_PLACES = 3
"""ISO 2409:2020, 8.1.5: one place does for a routine test, three at least where more precision is asked for. ASTM D3359
asks for three (from memory)."""

EDGE_MM = 5.0
"""So far are cross-cuts from each other and from the edge at least (ISO 2409, 7.1, from memory)."""


class NotAPanel(ValueError):
    """No panel can be so; the message says what to write instead."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle (mm)."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Where it ends on the right."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Where it ends below."""
        return self.y + self.height

    def overlaps(self, other: "Box") -> bool:
        """Say whether the two share any area."""
        apart = self.right <= other.x or other.right <= self.x or self.bottom <= other.y or other.bottom <= self.y
        return not apart

    def holds(self, other: "Box") -> bool:
        """Say whether the other lies wholly within this one; half a nanometre is rounding."""
        near = 5e-7
        within = other.x >= self.x - near and other.right <= self.right + near
        return within and other.y >= self.y - near and other.bottom <= self.bottom + near


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """A panel: its size, its strips by place, where the label of each goes, and what it is held by."""

    width_mm: float
    height_mm: float
    strips: tuple[Box, ...]
    labels: tuple[Box, ...]
    hold: Box

    @property
    def bounds(self) -> Box:
        """The whole of it."""
        return Box(0.0, 0.0, self.width_mm, self.height_mm)

    def place_at(self, x: float, y: float) -> int | None:
        """Find the strip at this point, its label too; None for none."""
        for place, (strip, label) in enumerate(zip(self.strips, self.labels, strict=True)):
            if strip.x <= x < strip.right and label.y <= y < strip.bottom:
                return place
        return None

    def scale_into(self, width: float, height: float) -> float:
        """Give how long a millimetre is drawn so that the panel fits into this room, in the units of the room."""
        return max(0.0, min(width / self.width_mm, height / self.height_mm))


def lay_out(count: int, strip_width_mm: float, strip_length_mm: float) -> Panel:
    """Lay so many strips side by side.

    Raises:
        NotAPanel: no strip, or a side that is not above zero.
    """
    if count < 1:
        raise NotAPanel(say("A panel has one strip at least."))
    for side in (strip_width_mm, strip_length_mm):
        if not (math.isfinite(side) and side > 0):
            raise NotAPanel(say("The sides of a strip are above zero: write them in mm."))
    lefts = [MARGIN_MM + i * (strip_width_mm + GAP_MM) for i in range(count)]
    strips = tuple(Box(x, HOLD_MM, strip_width_mm, strip_length_mm) for x in lefts)
    width = 2 * MARGIN_MM + count * strip_width_mm + (count - 1) * GAP_MM
    labels = tuple(Box(x, MARGIN_MM, strip_width_mm, HOLD_MM - MARGIN_MM) for x in lefts)
    return Panel(
        width_mm=width,
        height_mm=HOLD_MM + strip_length_mm + MARGIN_MM,
        strips=strips,
        labels=labels,
        hold=Box(0.0, 0.0, width, HOLD_MM),
    )


def panel_sizes(strips: int, most: int) -> tuple[int, ...]:
    """Say how many strips lie on each panel, `most` at most: as few panels as can be, filled evenly.

    Raises:
        NotAPanel: no panel can hold any.
    """
    if most < 1:
        raise NotAPanel(say("A panel has one strip at least."))
    if strips < 1:
        return ()
    panels = -(-strips // most)
    each, more = divmod(strips, panels)
    return tuple(each + (i < more) for i in range(panels))


def deal(kinds: Sequence[int], most: int) -> tuple[tuple[int, ...], ...]:
    """Deal strips out to panels, so that each panel has nearly as many of each kind: they differ by one at most.

    `kinds[i]` says how many of kind i there are; gives for each panel the kinds on it, one replicate after the other.
    """
    rounds = max(kinds, default=0)
    order = [kind for turn in range(rounds) for kind, n in enumerate(kinds) if turn < n]
    found, at = [], 0
    for size in panel_sizes(len(order), most):
        found.append(tuple(order[at : at + size]))
        at += size
    return tuple(found)


def lattices_in(strip_width_mm: float, strip_length_mm: float, cuts: int, spacing_mm: float) -> int:
    """Say how many cross-cuts have room one below the other on a strip, each `EDGE_MM` from the next and the edges."""
    side = (cuts - 1) * spacing_mm
    if side + 2 * EDGE_MM > strip_width_mm:
        return 0
    return max(0, int((strip_length_mm - EDGE_MM) // (side + EDGE_MM)))


SCALES = (1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 50.0, 100.0)
"""A drawing is so many times smaller than the thing: the scales that rulers know (ISO 5455 has all but 2.5)."""


def scale_for(panel: Panel, width_mm: float, height_mm: float) -> float:
    """Give how many times smaller a panel is drawn so that it fits this paper; the last scale where none does."""
    fits = (s for s in SCALES if panel.width_mm / s <= width_mm and panel.height_mm / s <= height_mm)
    return next(fits, max(panel.width_mm / width_mm, panel.height_mm / height_mm))


def label_size(strip_width_mm: float) -> tuple[float, float]:
    """Give the width and height of a label: as wide as its strip where that can be read, as high as there is room."""
    return min(max(strip_width_mm, 22.0), 60.0), HOLD_MM - MARGIN_MM


def label_sheets(
    count: int, label_mm: tuple[float, float], paper_mm: tuple[float, float], *, margin: float = 12.0, gap: float = 6.0
) -> tuple[tuple[Box, ...], ...]:
    """Spread so many labels over sheets of paper, row by row; each sheet as the places of its labels.

    Raises:
        NotAPanel: not one label fits the paper.
    """
    across = int((paper_mm[0] - 2 * margin + gap) // (label_mm[0] + gap))
    down = int((paper_mm[1] - 2 * margin + gap) // (label_mm[1] + gap))
    if across < 1 or down < 1:
        raise NotAPanel(say("The labels are larger than the paper."))
    places = [
        Box(margin + column * (label_mm[0] + gap), margin + row * (label_mm[1] + gap), *label_mm)
        for row in range(down)
        for column in range(across)
    ]
    return tuple(tuple(places[: count - at]) for at in range(0, count, len(places)))
