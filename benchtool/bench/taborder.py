"""Tab goes through a page as it lies on it, also through what was made later than the rest."""

from collections.abc import Iterator
from itertools import pairwise

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLayout, QScrollArea, QWidget


class TabOrder:
    """The order of the stops under a widget; it is set anew only where they have changed."""

    def __init__(self, root: QWidget) -> None:
        self.root = root
        self._set: list[QWidget] = []

    def follow(self) -> None:
        """Let Tab go from stop to stop as they are laid out now."""
        stops = list(_stops(self.root))
        if stops != self._set:
            self._set = stops
            for before, after in pairwise(stops):
                QWidget.setTabOrder(before, after)


def _stops(widget: QWidget) -> Iterator[QWidget]:
    """Give what can have the focus: what is hidden, or is no stop just now, has its place among the others."""
    if widget.focusPolicy() != Qt.FocusPolicy.NoFocus and widget.focusProxy() is None:
        yield widget
    if isinstance(widget, QScrollArea):
        held = widget.widget()
        yield from _stops(held) if held is not None else ()
    elif (layout := widget.layout()) is not None:
        yield from _laid_out(layout)


def _laid_out(layout: QLayout) -> Iterator[QWidget]:
    for i in range(layout.count()):
        item = layout.itemAt(i)
        if item is None:
            continue
        inner, widget = item.layout(), item.widget()
        if inner is not None:
            yield from _laid_out(inner)
        elif widget is not None:
            yield from _stops(widget)
