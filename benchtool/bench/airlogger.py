"""The logger's part of the air page: which file is followed, which of its columns hold what, and how it stands."""

import dataclasses
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, TickingWords, Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Options
from benchtool.bench.plansheet import Section
from benchtool.session.logger import LoggerColumns, NotALogger, TimeFormat, guess
from benchtool.session.loggerkeeper import LoggerKeeper
from benchtool.session.loggerpreview import ColumnShown, Preview, preview, with_role
from benchtool.session.loggerzone import COMPUTER, WINTER, WORLD, computers_zone, zone_key, zone_of
from benchtool.session.session import Session

MOST_COLUMNS = 24
"""So many columns are shown, and besides them those that are used."""

_FILES = "Text files (*.csv *.txt *.tsv *.log *.dat);;All files (*)"
_ROLES = {"time": "Time", "date": "Date", "air": "Air", "humidity": "Humidity", "surface": "Surface"}
_UNUSED = "Not used"
_ORDERS = {TimeFormat.DAY_FIRST: "The day", TimeFormat.MONTH_FIRST: "The month"}
_ZONES = ((COMPUTER, "This computer's time"), (WINTER, "Winter time all year"), (WORLD, "UTC"))


class LoggerPanel(QWidget):
    """Chooses the logger's file and its columns, and tells how the followed file stands. Give it its time each beat."""

    said = Signal(str)

    def __init__(self, look: Look, session: Session, keeper: LoggerKeeper) -> None:
        super().__init__()
        self.look, self.session, self.keeper = look, session, keeper
        self.setObjectName("air-logger")
        self.setAccessibleName("The logger")
        self._dialog: QFileDialog | None = None
        self._followed: tuple[object, ...] | None = None
        self.form = ColumnsForm(look, session)
        self._build(look)
        self.form.follow.clicked.connect(self._follow)
        self.form.another.clicked.connect(self.ask_for_file)
        self.form.leave.clicked.connect(self._leave_form)
        self._show_form(on=False)

    def _build(self, look: Look) -> None:
        self.name = Words(look, "strong", "ink", wrap=False)
        self.name.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.stands = TickingWords(look)
        self.left_out = Words(look, "small", "quiet")
        self.told = Words(look, "small", "quiet")
        self.fault = Words(look, "body", "trouble")
        self.choose = BenchButton(look, "Choose the logger's file", name="logger-choose", primary=True)
        self.fahrenheit = BenchButton(look, "They are °F", name="logger-fahrenheit", primary=True)
        self.columns = BenchButton(look, "Change its columns", name="logger-columns")
        self.stop = BenchButton(look, "Stop following", name="logger-stop")
        self.take_back = BenchButton(look, "Take its readings out", name="logger-take-back")
        self.take_back.setToolTip("For a wrong file: its readings go out of every open job, and it is followed no more")
        self.choose.clicked.connect(self.ask_for_file)
        self.fahrenheit.clicked.connect(self._they_are_fahrenheit)
        self.columns.clicked.connect(self._change_columns)
        self.stop.clicked.connect(self._stop)
        self.take_back.clicked.connect(self._take_back)
        self.status = Section(look, "")
        self.status.column.setSpacing(GRID)
        self.rows = (_row(self.choose, self.columns), _row(self.stop, self.take_back))
        self.status.add(self.name, self.stands, self.left_out, self.told, self.fault, self.fahrenheit, *self.rows)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.status)
        column.addWidget(self.form)

    # --- showing -----------------------------------------------------------------------------------

    def refresh(self, now: datetime) -> None:
        """Show how the followed file stands at `now`; nothing is laid out anew while it stands the same."""
        if self.form.isHidden():
            self._show_status(now)

    def _show_status(self, now: datetime) -> None:
        keeper = self.keeper
        choice = keeper.choice
        words = keeper.words(now)
        if choice is None:
            words = "A logger that writes its readings into a text file (CSV) can give every open job its air."
        self.stands.say(words)
        shown = (choice, keeper.name, keeper.left_out(), keeper.told, keeper.offers_fahrenheit)
        if shown == self._followed:
            return
        self._followed = shown
        follows = choice is not None
        self.name.say(keeper.name if follows else "")
        self.name.setToolTip(str(choice.path) if choice is not None else "")
        self.left_out.say(keeper.left_out())
        self.told.say("\n".join(f"{at.astimezone():%H:%M}  {fault}" for at, fault in reversed(keeper.told)))
        self.choose.say("Choose another file" if follows else "Choose the logger's file", primary=not follows)
        self.fahrenheit.setVisible(follows and keeper.offers_fahrenheit)
        for words_shown in (self.name, self.left_out, self.told):
            words_shown.setVisible(bool(words_shown.text()))
        for button in (self.columns, self.stop, self.take_back):
            button.setVisible(follows)
        self.rows[1].setVisible(follows)

    def _show_form(self, *, on: bool) -> None:
        self.form.setVisible(on)
        self.status.setVisible(not on)
        self._followed = None
        self.refresh(self.session.now())

    def _complain(self, message: str) -> None:
        for words in (self.fault, self.form.fault):
            words.say(message)
            words.setVisible(bool(message))

    # --- choosing ----------------------------------------------------------------------------------

    def ask_for_file(self) -> None:
        """Let the painter pick the file that the logger writes; the bench goes on meanwhile."""
        if self._dialog is not None:
            self._dialog.close()
        choice = self.keeper.choice
        folder = choice.path.parent if choice is not None else Path.home()
        dialog = self._dialog = QFileDialog(self.window(), "Choose the logger's file", str(folder), _FILES)
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.setModal(False)
        dialog.fileSelected.connect(lambda name: self.take_file(Path(name)))
        dialog.finished.connect(self._dialog_done)
        dialog.show()

    def _dialog_done(self) -> None:
        if self._dialog is not None:
            self._dialog.deleteLater()
            self._dialog = None

    def take_file(self, path: Path) -> None:
        """Show what is understood of this file, to be put right and then followed; a fault is said."""
        found = self._guessed(path)
        if found is not None:
            self._open(found)

    def _open(self, columns: LoggerColumns) -> None:
        self._complain("")
        self.form.begin(columns)
        self._show_form(on=True)
        self.form.follow.setFocus(Qt.FocusReason.OtherFocusReason)

    def _guessed(self, path: Path) -> LoggerColumns | None:
        try:
            return guess(path, computers_zone)
        except NotALogger as fault:
            self._complain(str(fault))
            self.said.emit(str(fault))
            return None

    def _change_columns(self) -> None:
        choice = self.keeper.choice
        found = self._guessed(choice.path) if choice is not None else None
        if choice is None or found is None:
            return
        same = set(choice.needed) <= set(found.names) and choice.delimiter == found.delimiter
        self._open(dataclasses.replace(choice, names=found.names) if same else found)

    def _follow(self) -> None:
        columns, asks = self.form.columns, self.form.asks
        if columns is None:
            return
        if asks:
            self.said.emit(asks[0])  # the form shows it already
            return
        self._complain("")
        self.keeper.choose(columns)
        self._show_form(on=False)
        self.choose.setFocus(Qt.FocusReason.OtherFocusReason)
        self.said.emit(f"{self.keeper.name} is followed: its readings go into every open job.")

    def _leave_form(self) -> None:
        self._complain("")
        self._show_form(on=False)
        self.choose.setFocus(Qt.FocusReason.OtherFocusReason)

    # --- the followed file -------------------------------------------------------------------------

    def _they_are_fahrenheit(self) -> None:
        choice = self.keeper.choice
        if choice is not None:
            self.keeper.choose(dataclasses.replace(choice, unit="F"))
            self._settled("The logger's figures are read as °F from now on.")

    def _stop(self) -> None:
        name = self.keeper.name
        self.keeper.leave()
        self._settled(f"{name} is followed no more. What was read from it stays in the jobs.")

    def _take_back(self) -> None:
        name = self.keeper.name
        taken = self.keeper.take_back(self.session.now())
        said = f"{taken} {'reading' if taken == 1 else 'readings'} of {name} taken out of the open jobs."
        self._settled(f"{said} Redo (Ctrl+Y) brings them back." if taken else said)

    def _settled(self, words: str) -> None:
        self._complain("")
        self.refresh(self.session.now())
        self.choose.setFocus(Qt.FocusReason.OtherFocusReason)
        self.said.emit(words)


class ColumnsForm(Section):
    """The columns of a file with their first values, and what each is taken for; all of it can be put right."""

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "")
        self.look, self.session = look, session
        self.columns: LoggerColumns | None = None
        self.asks: Sequence[str] = ()
        self._rows: dict[str, _ColumnRow] = {}
        self._names: tuple[str, ...] = ()
        self.name = Words(look, "strong", "ink", wrap=False)
        self.name.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.parted = Words(look, "small", "quiet")
        self.table = QWidget()
        self._table = QVBoxLayout(self.table)
        self._table.setContentsMargins(0, 0, 0, 0)
        self._table.setSpacing(GRID // 2)
        self.more = Words(look, "small", "quiet")
        self.unit = Options(look, "The temperatures are in", "logger-unit")
        self.decimal = Options(look, "Decimals are written", "logger-decimal")
        self.order = Options(look, "A date begins with", "logger-order")
        self.zone = Options(look, "The logger's clock shows", "logger-zone")
        self.unit.offer((("C", "°C"), ("F", "°F")))
        self.decimal.offer(((".", "21.5"), (",", "21,5")))
        self.order.offer(tuple((form.value, words) for form, words in _ORDERS.items()))
        self.first = Words(look, "body", "ink")
        self.wrong = Words(look, "body", "trouble")
        self.fault = Words(look, "body", "trouble")
        self.follow = BenchButton(look, "Follow this file", name="logger-follow", primary=True)
        self.another = BenchButton(look, "Choose another file", name="logger-another")
        self.leave = BenchButton(look, "Leave it", name="logger-leave")
        self.unit.chosen.connect(lambda key: self._change(unit=key))
        self.decimal.chosen.connect(lambda key: self._change(decimal=key))
        self.order.chosen.connect(lambda key: self._change(time_format=TimeFormat(key)))
        self.zone.chosen.connect(lambda key: self._change(zone=zone_of(key)))
        self.add(
            self.name, self.parted, self.table, self.more, _row(self.unit, self.decimal), self.order, self.zone,
            self.first, self.wrong, self.fault, self.follow, _row(self.another, self.leave),
        )  # fmt: skip
        self.fault.hide()

    def begin(self, columns: LoggerColumns) -> None:
        """Show this choice of columns."""
        self.name.say(columns.path.name)
        self.name.setToolTip(str(columns.path))
        self._take(columns)

    def _change(self, **changes: object) -> None:
        if self.columns is not None:
            self._take(dataclasses.replace(self.columns, **changes))  # type: ignore[arg-type]

    def _set_role(self, name: str, role: str) -> None:
        if self.columns is not None:
            self._take(with_role(self.columns, name, role))
            self._rows[name].role.setFocus(Qt.FocusReason.OtherFocusReason)

    def _unfold(self, name: str) -> None:
        for key, row in self._rows.items():
            if key == name or not row.roles.isHidden():
                row.unfold()

    def _take(self, columns: LoggerColumns) -> None:
        self.columns = columns
        seen = preview(columns, self.session.now())
        self.asks = seen.asks
        self.fault.hide()
        self.parted.say(columns.said[0] if columns.said else "")
        self.parted.setVisible(bool(columns.said))
        self._show_columns(seen, columns)
        self.unit.choose(columns.unit)
        self.decimal.choose(columns.decimal)
        self.order.choose(None if columns.time_format is None else columns.time_format.value)
        self.order.setVisible(seen.dated)
        key = zone_key(columns.zone)
        zones = _ZONES if key in dict(_ZONES) else (*_ZONES, (key, key))
        self.zone.offer(zones, key)
        self.zone.setVisible(not seen.zoned)
        self.first.say(f"The first line says: {seen.first}" if seen.first else "")
        self.wrong.say("\n".join((*seen.asks, *seen.faults)))
        for words in (self.first, self.wrong):
            words.setVisible(bool(words.text()))

    def _show_columns(self, seen: Preview, columns: LoggerColumns) -> None:
        shown = [c for i, c in enumerate(seen.columns) if i < MOST_COLUMNS or c.role]
        roles = [role for role in _ROLES if role != "date" or columns.date_column is not None or self._has_date()]
        if self._names != tuple(c.name for c in shown):
            self._names = tuple(c.name for c in shown)
            for row in self._rows.values():
                self._table.removeWidget(row)
                row.hide()
                row.deleteLater()
            self._rows = {}
            for column in shown:
                row = self._rows[column.name] = _ColumnRow(self.look, column, roles, header=columns.header)
                row.role_asked.connect(self._set_role)
                row.opened.connect(self._unfold)
                self._table.addWidget(row)
        for column in shown:
            self._rows[column.name].show_column(column)
        hidden = len(seen.columns) - len(shown)
        self.more.say(f"And {hidden} more columns, which are not used." if hidden else "")
        self.more.setVisible(bool(hidden))

    def _has_date(self) -> bool:
        return any("date" in row.roles.buttons for row in self._rows.values())


class _ColumnRow(QWidget):
    """One column: its name and first values, what it is taken for, and once that is pressed what else it may be."""

    opened = Signal(str)
    role_asked = Signal(str, str)

    def __init__(self, look: Look, column: ColumnShown, roles: Sequence[str], *, header: bool) -> None:
        super().__init__()
        self.key = column.name
        self.title = column.name if header else f"Column {column.name}"
        self.name = Words(look, "strong", "ink", wrap=False)
        self.name.say(self.title)
        self.name.setToolTip(self.title)
        self.values = Words(look, "small", "quiet", wrap=False)
        for words in (self.name, self.values):
            words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.role = BenchButton(look, "", name=f"logger-column-{column.name}")
        self.role.setCheckable(True)
        # Any of them by its own key: moving along them must not change what each is.
        self.roles = Options(look, "", f"logger-roles-{column.name}", several=True)
        self.roles.setAccessibleName(f"{self.title} holds")
        self.roles.offer((*((role, _ROLES[role]) for role in roles), ("", _UNUSED)))
        for role, button in self.roles.buttons.items():
            button.setAccessibleName(f"{self.title}: {_ROLES.get(role, _UNUSED)}")
        self.roles.chosen.connect(lambda role: self.role_asked.emit(self.key, role))
        self.role.clicked.connect(lambda: self.opened.emit(self.key))
        said = QVBoxLayout()
        said.setSpacing(0)
        said.addStretch(1)
        said.addWidget(self.name)
        said.addWidget(self.values)
        said.addStretch(1)
        line = QHBoxLayout()
        line.setSpacing(GRID)
        line.addLayout(said, 3)
        line.addWidget(self.role, 2)
        column_box = QVBoxLayout(self)
        column_box.setContentsMargins(0, 0, 0, 0)
        column_box.setSpacing(GRID // 2)
        column_box.addLayout(line)
        column_box.addWidget(self.roles)
        self.roles.hide()

    def show_column(self, column: ColumnShown) -> None:
        """Show what the column holds and what it is taken for; the choice is folded away."""
        self.values.say("   ".join(column.values) or "nothing in the first lines")
        words = _ROLES.get(column.role, _UNUSED)
        self.role.say(words)
        self.role.setAccessibleName(f"{self.title} is taken for: {words}")
        self.role.setChecked(bool(column.role))
        self.name.say(self.title, "ink" if column.role else "quiet")
        self.roles.choose([column.role])
        self.roles.hide()

    def unfold(self) -> None:
        """Show what the column may be, or fold that away again."""
        self.roles.setVisible(self.roles.isHidden())
        self.role.setChecked("" not in self.roles.values)
        if not self.roles.isHidden():
            next(b for k, b in self.roles.buttons.items() if k in self.roles.values).setFocus()


def _row(*parts: QWidget) -> QWidget:
    row = QWidget()
    line = QHBoxLayout(row)
    line.setContentsMargins(0, 0, 0, 0)
    line.setSpacing(GRID)
    for part in parts:
        line.addWidget(part, 1)
    return row
