"""Asks how hot a piece is held, and how thick a film was measured; what is typed goes into the record."""

from PySide6.QtCore import QObject, Signal

from benchtool.bench.controls import Words
from benchtool.bench.look import Look
from benchtool.bench.strips import FormStrip
from benchtool.job.state import LayerState
from benchtool.session.cardfields import Wrong
from benchtool.session.drying import HEAT_CAUTION, Taken, read_film, read_heat
from benchtool.session.session import NotNow, Session
from benchtool.trade.numbers import shorten


class Drying(QObject):
    """The two strips, and what their answers do to the job in hand."""

    said = Signal(str)

    def __init__(self, look: Look, session: Session) -> None:
        super().__init__()
        self.session = session
        self.heat = FormStrip(look, "heat", "Log it", (("heat", "How warm the surface is held, °C", "60, or off"),))
        self.film = FormStrip(look, "film", "Log it", (("film", "Film of one coat, µm", "40, or 100 wet"),))
        caution = Words(look, "small", "quiet")
        caution.say(HEAT_CAUTION)
        about = Words(look, "small", "quiet")
        about.say("Dry, or with the word wet as a comb shows it: its solids then make it a dry film. mil will do.")
        for strip, words in ((self.heat, caution), (self.film, about)):
            strip.row.insertWidget(1, words, 2)
        self.heat.entered.connect(self._enter_heat)
        self.film.entered.connect(self._enter_film)

    def ask_heat(self) -> None:
        """Ask how warm the piece in hand is held; while heat is on, Enter alone turns it off.

        Raises:
            NotNow: there is no piece in hand, or its job is read-only.
        """
        self.session.writable()
        piece = self.session.piece
        if piece is None:
            raise NotNow("Add a piece first: press A.")
        self.heat.fields["heat"].label.say(f"{shorten(piece.piece.name, 30)}: held at its surface, °C")
        self.heat.ask(heat="off" if piece.heat.on is not None else "")

    def ask_film(self) -> None:
        """Ask for the film measured on the layer in hand.

        Raises:
            NotNow: there is no layer in hand, or its job is read-only.
        """
        self.session.writable()
        layer = self._measured()
        if layer is None or self.session.current is None:
            raise NotNow("Plan a layer first: press L.")
        name = shorten(self.session.current.state.layer_name(layer), 30)
        self.film.fields["film"].label.say(f"{name}: film of one coat, µm")
        self.film.ask()

    def _measured(self) -> LayerState | None:
        """Give the layer that a film is measured on: the one in hand, or where nothing of it is on, what is on top."""
        layer, piece = self.session.layer, self.session.piece
        if layer is not None and not layer.started and piece is not None:
            return piece.top or layer
        return layer

    def _enter_heat(self) -> None:
        piece = self.session.piece
        if piece is None:
            return
        typed = {"heat": self.heat.fields["heat"].text()}
        try:
            self._take(self.heat, read_heat(self.session.measures, typed, piece))
        except Wrong as wrong:
            self.heat.complain(wrong.faults)

    def _enter_film(self) -> None:
        document, layer = self.session.current, self._measured()
        if document is None or layer is None:
            return
        typed = {"film": self.film.fields["film"].text()}
        try:
            self._take(self.film, read_film(self.session.measures, typed, document.state, layer))
        except Wrong as wrong:
            self.film.complain(wrong.faults)

    def _take(self, strip: FormStrip, taken: Taken) -> None:
        try:
            self.session.apply(*taken.drafts)
        except NotNow as no:
            self.said.emit(str(no))
            return
        self.said.emit(taken.words)
        strip.done()
