"""The tools a painter measures with: their marks, what they hold and how far a reading may be off."""

import math
from dataclasses import dataclass
from enum import StrEnum

from benchtool.trade.numbers import shorten

CALIBRATED_DROP = 0.15
"""How far a counted dropper may be off, as a fraction of the amount: USP <1101> allows 15 %."""
GUESSED_DROP = 0.5
"""The same for a dropper nobody counted: drops from eye droppers are 20 to 70 microlitres, against 50."""
_MOST_STEPS = 1_000_000


class NotATool(ValueError):
    """The figures describe no measuring tool; the message says what to write instead."""


class ToolKind(StrEnum):
    """What a part can be measured with."""

    SYRINGE = "syringe"
    CUP = "graduated cup"
    PIPETTE = "pipette"
    DROPPER = "dropper"
    SCALE = "scale"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """One measuring tool.

    `step` is what lies between two marks (mL; a scale: g; a dropper: mL of one drop), `capacity` the most it
    measures at once (mL; a scale: g; a dropper: mL of one squeeze), `error` how far one reading may be off
    either way (mL; a scale: g; a dropper: mL in one drop). Without one it is half a step (common practice, no
    source), and for a dropper `CALIBRATED_DROP`. It is the error of reading: a throw-away syringe may itself be
    out by 4 to 5 % of what it gives (ISO 7886-1), which `error` can say where that matters.

    Raises:
        NotATool: a name is missing, or a figure that no tool has.
    """

    name: str
    kind: ToolKind
    step: float
    capacity: float
    error: float | None = None
    calibrated: bool = True

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise NotATool("A measuring tool needs a name, such as 3 mL syringe.")
        name, unit = shorten(self.name), "g" if self.kind is ToolKind.SCALE else "mL"
        what = "one drop" if self.kind is ToolKind.DROPPER else "one step"
        if not (math.isfinite(self.step) and self.step > 0):
            raise NotATool(f"{name}: {what} must be above zero {unit}.")
        if not (math.isfinite(self.capacity) and self.capacity > 0):
            raise NotATool(f"{name}: what it holds must be above zero {unit}.")
        if self.capacity < self.step * (1 - 1e-9):
            raise NotATool(f"{name}: it can't hold less than {what} ({self.step:g} {unit}); check both figures.")
        if self.capacity / self.step > _MOST_STEPS:
            raise NotATool(f"{name}: more than a million steps is no tool a bench has; check the step.")
        if self.error is not None and not (math.isfinite(self.error) and self.error >= 0):
            raise NotATool(f"{name}: the reading error must be zero {unit} or more; leave it empty for half a step.")

    @property
    def reading_error(self) -> float:
        """How far one reading (a dropper: one drop) may be off either way, in mL or g."""
        if self.kind is ToolKind.DROPPER:
            if not self.calibrated:
                return max(self.error or 0.0, GUESSED_DROP * self.step)
            return CALIBRATED_DROP * self.step if self.error is None else self.error
        return self.step / 2 if self.error is None else self.error

    @property
    def marks(self) -> int:
        """How many marks it has; the last may lie below the capacity."""
        return int(self.capacity / self.step * (1 + 1e-9))

    def at(self, mark: int) -> float:
        """Give the amount (mL or g) at a mark, counted from 1, without the noise of a float."""
        return round(mark * self.step, 10)


USUAL_TOOLS = (
    Tool(name="1 mL syringe", kind=ToolKind.SYRINGE, step=0.01, capacity=1),
    Tool(name="3 mL syringe", kind=ToolKind.SYRINGE, step=0.1, capacity=3),
    Tool(name="10 mL syringe", kind=ToolKind.SYRINGE, step=0.2, capacity=10),
    Tool(name="60 mL syringe", kind=ToolKind.SYRINGE, step=1, capacity=60),
    Tool(name="100 mL cup", kind=ToolKind.CUP, step=5, capacity=100),
    Tool(name="dropper", kind=ToolKind.DROPPER, step=0.05, capacity=1, calibrated=False),
)
"""What a bench usually has. Steps as such tools are commonly marked (common practice, no source)."""
