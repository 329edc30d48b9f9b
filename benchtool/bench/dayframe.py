"""Where things lie in the drawn plan, and what its drawing asks of a look: the same on the screen and on paper."""

from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from PySide6.QtGui import QFont, QFontMetricsF

from benchtool.bench.look import GRID, Theme


class Type(Protocol):
    """What is asked of the look: its colours and three of its sizes."""

    theme: Theme

    @property
    def small(self) -> QFont:
        """For labels."""
        ...

    @property
    def body(self) -> QFont:
        """For sentences."""
        ...

    @property
    def strong(self) -> QFont:
        """For names."""
        ...


@dataclass(frozen=True, slots=True)
class Frame:
    """Where things lie: rows below the head and right of the names; `left_s` is the time at the edge of the names."""

    names: float
    head: float
    row: float
    begins_at: datetime
    px_h: float
    rolled: float = 0.0
    down: float = 0.0

    def x(self, at: datetime) -> float:
        """Give where a moment lies."""
        return self.names + (at - self.begins_at).total_seconds() / 3_600 * self.px_h - self.rolled

    def top(self, row: int) -> float:
        """Give where a row begins."""
        return self.head + row * self.row - self.down


def row_height(look: Type) -> float:
    """Give how high a row is: the names of the layers, the work, and below it what closes when."""
    return 2 * line_height(look) + work_height(look) + 1.5 * GRID


def head_height(look: Type) -> float:
    """Give how high the days and hours are."""
    return QFontMetricsF(look.strong).height() + line_height(look) + GRID


def line_height(look: Type) -> float:
    """Give how high a line of labels is."""
    return QFontMetricsF(look.small).height() + 1


def work_height(look: Type) -> float:
    """Give how high the work in a row is."""
    return max(3.0 * GRID, line_height(look) + GRID)
