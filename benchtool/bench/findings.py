"""The findings: what the rules say, worst first, each with what to do about it."""

from collections.abc import Iterator
from datetime import datetime

from PySide6.QtCore import QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QFrame, QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, Pane, TickingWords, Words, hatch, scrolled
from benchtool.bench.look import GRID, TARGET, Look
from benchtool.rules.engine import every, grouped, rule_of
from benchtool.rules.finding import Finding, Severity
from benchtool.rules.onstrips import told_of
from benchtool.session.session import Session
from benchtool.trade.saying import say


class Mark(QWidget):
    """The shape of a severity: a hatched octagon, a triangle, a ring."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.severity = Severity.NOTE
        self.waived = False
        self.setFixedWidth(3 * GRID)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        t = self.look.theme
        quiet = self.waived or self.severity is Severity.NOTE
        color = t.color("quiet" if quiet else "trouble")
        painter.setPen(QPen(color, 2))
        x, y, r = 1.5 * GRID - 2, 1.5 * GRID - 1, 9.0
        if self.severity is Severity.STOP:
            k = r * 0.42
            corners = [(-k, -r), (k, -r), (r, -k), (r, k), (k, r), (-k, r), (-r, k), (-r, -k)]
            shape = QPolygonF([QPointF(x + a, y + b) for a, b in corners])
            painter.drawPolygon(shape)
            if not self.waived:
                painter.setClipping(True)
                hatch(painter, QRectF(x - r + 3, y - r + 3, 2 * r - 6, 2 * r - 6), color, gap=4, width=2)
        elif self.severity is Severity.CAUTION:
            painter.drawPolygon(QPolygonF([QPointF(x, y - r), QPointF(x + r, y + r - 1), QPointF(x - r, y + r - 1)]))
            painter.drawLine(QPointF(x, y - 2), QPointF(x, y + 3))
        else:
            painter.drawEllipse(QPointF(x, y), r - 2, r - 2)
        painter.end()


class FindingRow(QFrame):
    """One finding, and how many more have its cause. A press shows why, with those, and takes its piece in hand."""

    pressed = Signal()
    why_asked = Signal(str)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.finding: Finding | None = None
        self.open = False
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self.setMinimumHeight(TARGET)
        self.mark = Mark(look)
        self.where = Words(look, "small", "quiet", wrap=False)
        self.where.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.message = TickingWords(look, "strong", "ink")
        self.remedy = Words(look, "small", "quiet")
        self.also = Words(look, "small", "quiet")
        self.why = Words(look, "small", "quiet")
        self.rule_page = BenchButton(look, say("The rule in full"), name="finding-rule-page")
        self.rule_page.clicked.connect(self._ask_why)
        words = QVBoxLayout()
        words.setSpacing(2)
        for part in (self.where, self.message, self.remedy, self.also, self.why):
            words.addWidget(part)
        words.addWidget(self.rule_page, 0, Qt.AlignmentFlag.AlignLeft)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, GRID // 2, 0, GRID // 2)
        row.setSpacing(GRID)
        row.addWidget(self.mark)
        row.addLayout(words, 1)

    def show_finding(self, finding: Finding, where: str) -> None:
        """Show this finding; `where` names its piece and layer."""
        self.where.say(", ".join(x for x in (finding.severity.value.capitalize(), where) if x))
        if finding == self.finding and self.why.isHidden() is not self.open:
            return
        if self.finding is None or finding.key != self.finding.key:
            self.open = False
        self.finding = finding
        if (self.mark.severity, self.mark.waived) != (finding.severity, finding.waived):
            self.mark.severity, self.mark.waived = finding.severity, finding.waived
            self.mark.update()
        self.message.say(told(finding), "quiet" if finding.waived else "ink")
        self.remedy.say(finding.remedy)
        self._unfold()
        more = f" {self.also.text()}" if finding.others and not self.open else ""
        self.setAccessibleName(f"{finding.severity.value}: {finding.message} {finding.remedy}{more}")
        self.setObjectName(f"finding-{finding.rule}")

    def _unfold(self) -> None:
        """Show why the rule exists and what else its cause has, or only how much that is."""
        finding = self.finding
        if finding is None:
            return
        count = len(finding.others)
        one, many = say("And one more of the same cause."), say("And {n} more of the same cause.", n=count)
        self.also.say("" if self.open or not count else one if count == 1 else many)
        self.also.setVisible(bool(self.also.text()))
        self.why.say("\n".join(explained(finding)) if self.open else "")
        self.why.setVisible(self.open)
        self.rule_page.setVisible(self.open)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._toggle()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
            self._toggle()
        else:
            super().keyPressEvent(event)

    def _toggle(self) -> None:
        self.open = not self.open
        self._unfold()
        self.pressed.emit()

    def _ask_why(self) -> None:
        if self.finding is not None:
            self.why_asked.emit(self.finding.rule)

    def paintEvent(self, event: QPaintEvent) -> None:
        if event.rect().bottom() < self.height() - 1 and not self.hasFocus():
            return
        painter, t = QPainter(self), self.look.theme
        box = QRectF(self.rect())
        painter.setPen(QPen(t.color("line"), 1))
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        if self.hasFocus():
            painter.setPen(QPen(t.color("accent"), 2))
            painter.drawRect(box.adjusted(1, 1, -1, -1))
        painter.end()


def told(finding: Finding) -> str:
    """Say what a finding is about."""
    return say("Waived: {message}", message=finding.message) if finding.waived else finding.message


def explained(finding: Finding) -> Iterator[str]:
    """Say why the rule exists and where that comes from, and each of the others of one cause with its own reason."""
    rule = rule_of(finding)
    yield say("Why: {reason} ({source})", reason=rule.reason, source=rule.source)
    for echo in finding.others:
        rule = rule_of(echo)
        yield say(
            "Also, {severity}: {message} {remedy}", severity=echo.severity.value, message=told(echo), remedy=echo.remedy
        )
        yield say("Why: {reason} ({source})", reason=rule.reason, source=rule.source)


class FindingsPane(Pane):
    """All findings of the job in hand, each cause once; those that only time settles, for the layer in hand alone."""

    why_asked = Signal(str)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "Findings", "findings")
        self.session = session
        self._rows: list[FindingRow] = []
        self.head = Words(look, "small", "quiet", wrap=False)
        body = QWidget()
        self.rows = QVBoxLayout(body)
        self.rows.setContentsMargins(0, 0, GRID // 2, 0)
        self.rows.setSpacing(0)
        self.rows.addStretch(1)
        area = scrolled(body)
        self.column.setSpacing(GRID // 2)
        self.column.addWidget(self.head)
        self.column.addWidget(area, 1)

    def refresh(self, now: datetime) -> None:
        """Show what the rules say at `now`."""
        # What is not shown here hides nothing of the same cause that is.
        found, here = every(self.session.findings(now)), self.session.layer_id
        shown = grouped(f for f in found if not f.routine and (f.clears_at is None or f.layer == here))
        stops = sum(1 for f in shown if f.severity is Severity.STOP and not f.waived)
        cautions = sum(1 for f in shown if f.severity is Severity.CAUTION and not f.waived)
        counted = [f"{n} {word}{'' if n == 1 else 's'}" for n, word in ((stops, "stop"), (cautions, "caution")) if n]
        piece = self.session.piece
        clear = "nothing in the way" if piece is None or piece.layers else say("they come with the layers")
        self.head.say("Findings: " + (", ".join(counted) or ("to note" if shown else clear)))
        while len(self._rows) < len(shown):
            row = FindingRow(self.look)
            row.pressed.connect(lambda r=row: self._pick(r))
            row.why_asked.connect(self.why_asked)
            self._rows.append(row)
            self.rows.insertWidget(len(self._rows) - 1, row)
        for row, finding in zip(self._rows, shown, strict=False):
            row.show_finding(finding, self._where(finding))
            row.setVisible(True)
        for row in self._rows[len(shown) :]:
            row.setVisible(False)

    def _where(self, finding: Finding) -> str:
        document = self.session.current
        if document is None or finding.piece not in document.state.pieces:
            return ""
        layer = document.state.layers.get(finding.layer or "")
        piece = told_of(document.state, finding)
        return f"{piece}: {document.state.layer_name(layer)}" if layer is not None else piece

    def _pick(self, row: FindingRow) -> None:
        finding = row.finding
        if finding is not None and finding.piece is not None:
            self.session.pick(finding.piece, finding.layer)
