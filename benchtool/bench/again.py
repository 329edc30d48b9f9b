"""The page on which a job is done again: the next one like it, or a touch-up of what is on its pieces."""

from pathlib import Path

from PySide6.QtCore import QEvent, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import QFileDialog

from benchtool.bench.againrows import Ticks
from benchtool.bench.beside import Beside
from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.jobform import PromisedDay
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import Buttons, Options, Typed
from benchtool.bench.plansheet import Section, Sheet
from benchtool.bench.trialparagraphs import Paragraphs
from benchtool.bench.typedkeys import LETTERS, keeps
from benchtool.job.events import Again
from benchtool.session import again, againwords, jobtext
from benchtool.session.again import Asked, Earlier
from benchtool.session.againoffers import Offer
from benchtool.session.areas import area_told, read_area, write_area
from benchtool.session.carddiff import differences_words
from benchtool.session.cardfields import Wrong
from benchtool.session.jobtext import JobText
from benchtool.session.session import Session
from benchtool.trade.quantities import NotAnAmount
from benchtool.trade.saying import say


class AgainPage(Sheet):
    """Repeat or touch-up, which pieces, what is offered with it, and what the new job will hold in sentences."""

    letters = LETTERS
    said = Signal(str)
    opened = Signal(object)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__(look, "again", least=58 * GRID, most=90 * GRID)
        self.session = session
        self.earlier: Earlier | None = None
        self._newer: tuple[again.Newer, ...] = ()
        self._offers: tuple[Offer, ...] = ()
        self._path: Path | None = None
        self._titled = ""
        self._how = Again.REPEAT
        self._unticked: frozenset[str] = frozenset()
        self.beside = Beside(self, Path.home())
        self._make_fields()
        self._lay_out()
        self.entered.connect(self.create_job)
        self.how.chosen.connect(lambda _: self._turn())
        self.pieces.changed.connect(self._follow_pieces)
        self.newer.changed.connect(self._follow_cards)
        self.offers.changed.connect(self.tell)
        for field in (self.name, self.customer, self.promised):
            field.edit.textEdited.connect(lambda _: self.tell())

    def _make_fields(self) -> None:
        look = self.look
        self.how = Options(look, say("What is it to be?"), "again-how")
        self.how.offer(
            [(Again.REPEAT.value, say("The next one like it")), (Again.TOUCH_UP.value, say("A touch-up of this one"))],
            Again.REPEAT.value,
        )
        for button in self.how.buttons.values():
            button.setMinimumHeight(9 * GRID)
        self.pieces = Ticks(look, say("Which pieces?"), "again-pieces")
        self.name = Typed(look, say("What do you call the new job?"), "again-title")
        self.customer = Typed(look, say("Whose is it?"), "again-customer")
        self.promised = PromisedDay(look, self.session, "again-promised")
        self.newer = Ticks(look, say("Take from your library, where it is otherwise now"), "again-newer")
        self.offers = Ticks(look, say("Take over from the record, as your own figures"), "again-offers")
        self.notes = Words(look, "small", "trouble")
        self.told = Paragraphs(look, "body", "ink", gap=GRID)
        self.told.setObjectName("again-told")
        self.where = Words(look, "small", "quiet")
        self.where.setObjectName("again-where")
        self.elsewhere = BenchButton(look, say("Keep it elsewhere"), name="again-elsewhere")
        self.elsewhere.clicked.connect(self._ask_where)
        self.place = Buttons((self.elsewhere,), fill=False)

    def _lay_out(self) -> None:
        what, offered = Section(self.look, ""), Section(self.look, "")
        holds = Section(self.look, say("What will be in it"))
        what.add(self.notes, self.how, self.pieces, self.name, self.customer, self.promised)
        offered.add(self.newer, self.offers)
        holds.add(self.told, self.where, self.place)
        self.asks = {
            "how": self.how, "pieces": self.pieces, "title": self.name, "customer": self.customer,
            "promised": self.promised, "newer": self.newer, "offers": self.offers, "place": self.place,
        }  # fmt: skip
        self.offered = offered
        self.lay_out((what, offered, holds), {1: ((0, 1, 2),), 2: ((0,), (1, 2))})

    # --- what is shown -----------------------------------------------------------------------------

    def ask(self, path: Path | None = None, how: Again = Again.REPEAT) -> None:
        """Show what can be done again of the job in hand, or of a job in a file, which need not be open.

        What was typed about the same job and not entered is still there.

        Raises:
            NotNow: no job is open, it has no pieces, or its file can't be read.
        """
        found = again.read_earlier(self.session, path)
        same = self.earlier is not None and self.earlier.path == found.path
        self.earlier = found
        self.head(say("{job}: again", job=found.title), say("Create the job"), "Ctrl+Enter")
        self.notes.say(" ".join(found.notes))
        self.notes.setVisible(bool(found.notes))
        if not same:
            self._path = None
            self._how, self._unticked = Again.REPEAT, frozenset()
            self.how.choose(how.value)
            self.customer.fill(found.state.customer)
            self.promised.fill("")
            self._titled = ""
            self.name.fill("")
        self._list_pieces(keep=same)
        self._turn()

    @property
    def half_typed(self) -> bool:
        """Whether something is typed of a job that is not created yet."""
        earlier = self.earlier
        if earlier is None:
            return False
        areas = {p.id: write_area(p.piece.area_m2) for p in earlier.pieces}
        return (
            self.name.text() != self._titled
            or self.customer.text() != earlier.state.customer
            or bool(self.promised.text())
            or any(field.text() != areas.get(key, "") for key, field in self.pieces.fields.items())
        )

    @property
    def chosen_how(self) -> Again:
        """Whether it is to be a repeat or a touch-up."""
        return Again(self.how.value or Again.REPEAT.value)

    def _turn(self) -> None:
        earlier = self.earlier
        if earlier is None:
            return
        repeat = self.chosen_how is Again.REPEAT
        self.how.explain(
            say("The same stack, ratios and notes on new pieces: nothing of what was done comes along.")
            if repeat
            else say("New layers on what is there: all that was done to these pieces comes along, at its own time.")
        )
        if self.name.text() == self._titled:
            self._titled = again.usual_title(earlier, self.chosen_how)
            self.name.fill(self._titled)
        self._tick_bare(earlier, repeat=repeat)
        for piece in earlier.pieces:
            if piece.id in self.pieces.ticks:
                self.pieces.ticks[piece.id].tell(againwords.piece_words(earlier, piece, self.chosen_how))
        for field in self.pieces.fields.values():
            field.setVisible(repeat)
        self._follow_pieces()

    def _tick_bare(self, earlier: Earlier, *, repeat: bool) -> None:
        """Untick pieces without paint for a touch-up: they have nothing to touch up; for a repeat tick them again."""
        bare = again.bare_pieces(earlier) & frozenset(self.pieces.ticks)
        if repeat:
            turned, self._unticked = self._unticked & bare, frozenset()
        else:
            turned = bare & frozenset(self.pieces.ticked) if self._how is not Again.TOUCH_UP else frozenset()
            self._unticked |= turned
        self._how = Again.REPEAT if repeat else Again.TOUCH_UP
        for key in turned:
            self.pieces.ticks[key].setChecked(repeat)

    def _list_pieces(self, *, keep: bool) -> None:
        earlier = self.earlier
        if earlier is None:
            return
        typed = {key: field.text() for key, field in self.pieces.fields.items()} if keep else {}
        before = frozenset(self.pieces.ticks) if keep else frozenset()
        ticked = frozenset(self.pieces.ticked) if keep else frozenset()
        areas = {p.id: p.piece.area_m2 for p in earlier.pieces}

        def field(key: str) -> Typed:
            was = areas.get(key)
            label = say("Area, was {area}", area=write_area(was)) if was is not None else say("Area, was not known")
            made = Typed(
                self.look,
                label,
                f"again-area-{key}",
                say("0.8 m2"),
                lambda text: area_told(self.session.measures, text),
            )
            made.fill(typed.get(key, write_area(was)))
            made.edit.textEdited.connect(lambda _: self.tell())
            return made

        rows = [(p.id, p.piece.name, "") for p in earlier.pieces]
        new = frozenset(p.id for p in earlier.pieces if p.id not in before)
        self.pieces.offer(rows, ticked | new, field)

    def _follow_pieces(self) -> None:
        """Let the cards and offers follow the pieces that are ticked."""
        earlier, kept = self.earlier, frozenset(self.newer.ticked)
        repeat = earlier is not None and self.chosen_how is Again.REPEAT
        self._newer = again.newer_cards(self.session, earlier, self.pieces.ticked) if earlier and repeat else ()
        self.newer.offer([(n.own.id, n.own.name, differences_words(n.found)) for n in self._newer], kept)
        self._follow_cards()

    def _follow_cards(self) -> None:
        earlier, kept = self.earlier, frozenset(self.offers.ticked)
        self._offers = again.offers_of(earlier, self.asked()) if earlier is not None else ()
        self.offers.offer([(o.key, "", o.words) for o in self._offers], kept)
        self.offered.setVisible(bool(self._newer or self._offers))
        self.tell()

    def tell(self) -> None:
        """Say what will be in the new job by what is chosen and typed now."""
        earlier = self.earlier
        if earlier is None:
            return
        self.told.show_said(againwords.summary(self.session, earlier, self.asked()))
        self.where.say(say("It is kept as {path}", path=str(self._where(earlier))))

    def _where(self, earlier: Earlier) -> Path:
        return self._path or again.free_path(earlier, self.name.text().strip())

    # --- what is asked -----------------------------------------------------------------------------

    def asked(self) -> Asked:
        """Give what is chosen and typed; what can't be read counts for nothing yet."""
        try:
            promised = jobtext.read_promised(self.promised.text(), self.session.now())
        except ValueError:
            promised = None
        newer = frozenset(self.newer.ticked)
        taken = frozenset(self.offers.ticked)
        return Asked(
            how=self.chosen_how,
            title=self.name.text(),
            customer=self.customer.text(),
            promised=promised,
            pieces=self.pieces.ticked,
            areas={key: self._area(field.text()) for key, field in self.pieces.fields.items()},
            newer=tuple(n for n in self._newer if n.own.id in newer),
            taken=tuple(o for o in self._offers if o.key in taken),
        )

    def _area(self, typed: str) -> float | None:
        try:
            return read_area(self.session.measures, typed)
        except NotAnAmount:
            return None

    def _faults(self) -> list[tuple[str, str]]:
        found: list[tuple[str, str]] = []
        text = JobText(title=self.name.text(), customer=self.customer.text(), promised=self.promised.text())
        try:
            jobtext.read_job(text, self.session.now())
        except Wrong as wrong:
            found += wrong.faults
        if not self.pieces.ticked:
            found.append(("pieces", say("Choose at least one piece.")))
        return found

    def _area_faults(self) -> bool:
        """Say at each area what is wrong with it, and go to the first; a touch-up asks for none."""
        wrong = []
        for key in self.pieces.ticked if self.chosen_how is Again.REPEAT else ():
            field = self.pieces.fields[key]
            try:
                read_area(self.session.measures, field.text())
            except NotAnAmount as no:
                field.complain(str(no))
                wrong.append(field)
        if wrong:
            wrong[0].take_focus()
        return bool(wrong)

    # --- doing it ----------------------------------------------------------------------------------

    def create_job(self) -> None:
        """Write the new job and go to it; what can't be taken is said where it stands, and nothing typed is lost."""
        if self.earlier is None:
            return
        if self.complain(self._faults()) or self._area_faults():
            return
        try:
            earlier = again.read_earlier(self.session, self.earlier.path)
            path = again.create(self.session, earlier, self.asked(), self._where(earlier))
            self.session.open(path)
        except Exception as fault:  # noqa: BLE001 - any fault of a file or a disk ends here, in words
            self.said.emit(str(fault))
            return
        title = self.name.text()
        self.earlier = None  # the next time it begins afresh
        self.left.emit()
        self.opened.emit(path)
        self.said.emit(say("{job} is begun.", job=title))

    def _ask_where(self) -> None:
        if self.earlier is None:
            return
        start = self._where(self.earlier)
        self.beside.folder = start.parent
        dialog = self.beside.file_dialog(say("Where shall it be kept?"), say("Jobs (*.json)"))
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix("json")
        dialog.selectFile(start.name)
        dialog.fileSelected.connect(lambda name: self.keep_at(Path(name)))
        self.beside.put(dialog)

    def keep_at(self, path: Path) -> None:
        """Keep the new job in this file; one that is there already is never written over."""
        if path.exists():
            self.said.emit(say("{name} exists already: choose another name.", name=path.name))
            return
        self._path = path
        self.tell()

    # --- keys --------------------------------------------------------------------------------------

    def on_enter(self, event: QKeyEvent) -> None:
        if event.modifiers():
            self.entered.emit()
        else:
            self.focusNextPrevChild(True)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.take_focus()

    def event(self, event: QEvent) -> bool:
        # The bench's letters are acts. Here they are typed, or do nothing.
        return keeps(event) or super().event(event)
