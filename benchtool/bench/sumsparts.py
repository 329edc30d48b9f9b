"""The five groups of the sums page: their fields, and each with its answer."""

from collections.abc import Callable, Mapping

from benchtool.bench.answer import Answer
from benchtool.bench.controls import Words
from benchtool.bench.look import GRID, Look
from benchtool.bench.planparts import FieldRow, Options, Typed
from benchtool.bench.plansheet import Section
from benchtool.session.sums import FIRST, FORM_FIELDS, SECOND, Form
from benchtool.session.sumswords import Told
from benchtool.trade.numbers import NotANumber, figure, read_number
from benchtool.trade.quantities import Measures, NotAnAmount

FORMS = (
    (Form.RECTANGLE.value, "Rectangle"), (Form.DISC.value, "Disc"), (Form.CAP.value, "Cap"),
    (Form.CYLINDER.value, "Cylinder"), (Form.AREA.value, "Area"),
)  # fmt: skip


class Group(Section):
    """A few fields and the answer that follows them."""

    def __init__(self, look: Look, title: str, label: str, name: str, *, big: bool = False) -> None:
        super().__init__(look, "")
        self.title.say(title)
        self.title.show()  # only now that it stands in this widget: alone it would open a window of its own
        self.look = look
        self.setObjectName(name)
        self.column.setSpacing(GRID)  # five groups are to fit on one screen
        self.fields: dict[str, Typed] = {}
        self.answer = Answer(look, label, f"{name}-answer", big=big)
        self.note = Words(look, "small", "quiet")
        self.note.setObjectName(f"{name}-note")
        self.caution = Words(look, "small", "quiet")
        for part in (self.note, self.caution):
            part.hide()

    def row(self, *fields: tuple[str, str, str, str]) -> FieldRow:
        """Put fields side by side: key, label, hint, and the name it is spoken by."""
        made = []
        for key, label, hint, spoken in fields:
            field = Typed(self.look, label, f"sums-{key.replace('_', '-')}", hint)
            field.edit.setAccessibleName(spoken)
            field.edit.setToolTip(spoken)
            field.edit.setMinimumWidth(0)
            self.fields[key] = field
            made.append(field)
        row = FieldRow(self.look, made)
        self.add(row)
        return row

    def finish(self) -> None:
        """Put the answer below the fields."""
        self.add(self.answer, self.note, self.caution)

    # --- the answer --------------------------------------------------------------------------------

    def show_told(self, told: Told) -> None:
        """Show a good answer."""
        if told.figure:
            self.answer.show_answer(told.figure, told.more, "trouble" if told.wrong else "accent")
            self._say(told.notes)
        else:
            self.answer.clear(told.more)
            self._say(told.notes)

    def need(self, words: str) -> None:
        """Something is still empty: the last good answer is old, and it is said what to type."""
        if self.answer.good is None:
            self.answer.clear(words)
            self._say("")
        else:
            self.answer.keep_old()
            self._say(words)

    def fail(self) -> None:
        """A field is at fault and says so itself: the last good answer is old."""
        self.answer.keep_old()
        self._say("")

    def clear(self) -> None:
        """Forget the last answer: it was about something else."""
        self.answer.clear()
        self._say("")

    def _say(self, words: str) -> None:
        self.note.say(words)
        self.note.setVisible(bool(words))

    def caution_of(self, words: str) -> None:
        """Say what can hurt the painter here."""
        self.caution.say(words)
        self.caution.setVisible(bool(words))


class SizeGroup(Group):
    """How much to mix: the form and its sizes, the film, and what is lost."""

    def __init__(self, look: Look, measures: Measures) -> None:
        super().__init__(look, "How much to mix", "Ready to spray", "sums-size", big=True)
        self.form = Options(look, "", "sums-form")
        self.form.setAccessibleName("What is painted")
        self.form.offer(FORMS, Form.RECTANGLE.value)
        self.add(self.form)
        self.shape = self.row(
            ("first", "Length, mm", "300 mm or 12 in", "Length"),
            ("second", "Width, mm", "200 mm or 8 in", "Width"),
            ("ends", "Ends painted", "0, 1 or 2", "Ends painted: 0, 1 or 2"),
            ("area", "Area, m²", "1.5 m2 or 16 sq ft", "Area"),
        )
        self.row(
            ("coats", "Coats", "2", "Coats still to spray"),
            ("dry", "Dry film, µm", "25 or 1 mil", "Dry film of one coat"),
            ("solids", "Solids, vol %", "30", "Volume solids of the activated paint, percent"),
        )
        self.row(
            ("transfer", "Transfer, %", "40", "Transfer efficiency: how much lands on the piece, percent"),
            ("thinned", "Thinned by, %", "0", "Thinned by: reducer for 100 parts of paint"),
            ("loss", "Loss", "5 mL", "Loss in cup and hose"),
        )
        told: Mapping[str, tuple[Callable[[str], float], str]] = {
            "first": (lambda text: measures.length_mm(text, unit="mm"), "mm"),
            "second": (lambda text: measures.length_mm(text, unit="mm"), "mm"),
            "area": (lambda text: measures.area_m2(text, unit="m2"), "m²"),
        }
        for key, (reader, unit) in told.items():
            field = self.fields[key]
            field.edit.textChanged.connect(lambda text, f=field, r=reader, u=unit: f.tell(_understood(text, r, u)))
        self.finish()
        self.reshape()

    def reshape(self) -> None:
        """Ask for the sizes of the form chosen."""
        form = Form(self.form.value or Form.RECTANGLE)
        asked = FORM_FIELDS[form]
        self.form.explain("Part of a ball: across its rim, and from the rim up." if form is Form.CAP else "")
        for key in ("first", "second", "ends", "area"):
            self.fields[key].setVisible(key in asked)
        for key, names in (("first", FIRST), ("second", SECOND)):
            name = names.get(form, "")
            said = "Rim diameter" if form is Form.CAP and key == "first" else name.capitalize()
            self.fields[key].label.say(f"{said}, mm")
            self.fields[key].edit.setAccessibleName(said)
            self.fields[key].edit.setToolTip(said)


def _understood(text: str, reader: Callable[[str], float], unit: str) -> str:
    """Say how an amount in another unit is understood; nothing where the text is a bare number or no amount."""
    try:
        if not read_number(text)[1]:
            return ""
        return f"{figure(reader(text))} {unit}"
    except (NotANumber, NotAnAmount):
        return ""


def life_group(look: Look) -> Group:
    """Pot life: how fast it is sprayed, the times of the card, and the amount."""
    group = Group(look, "Pot life and cups", "Largest batch", "sums-life")
    group.row(
        ("rate", "Rate, mL/min", "10", "How fast it is sprayed, mL a minute"),
        ("pot_life", "Pot life", "2 h", "Pot life"),
        ("amount", "Amount", "as above", "Amount to spray; left empty, what is to be mixed"),
    )
    group.row(
        ("stand", "Stands, min", "0", "How long it stands before it may be sprayed"),
        ("flash", "Flash, min", "15", "Flash time between coats"),
    )
    group.finish()
    return group


def flow_group(look: Look) -> Group:
    """Flow: a cup and its seconds."""
    group = Group(look, "Flow", "Viscosity", "sums-flow")
    group.row(
        ("cup", "Flow cup", "ISO 4 mm", "Flow cup: ISO 3 to 6, Ford 1 to 5, Zahn 1 to 5 or DIN 4"),
        ("seconds", "Seconds", "30", "Seconds of the stopwatch, or a viscosity such as 98 mm2/s"),
    )
    group.row(
        ("to", "In another cup", "DIN 4", "The cup whose seconds are wanted"),
        ("warmth", "Paint is at", "20 °C", "Temperature of the paint"),
    )
    group.finish()
    return group


def voc_group(look: Look) -> Group:
    """Emissions: the limit; all else is on the card."""
    group = Group(look, "Emissions of the mix", "VOC of the mix as it is", "sums-voc")
    group.row(("limit", "Your limit, g/L (less water and exempt)", "420 or 3.5 lb/gal", "Your VOC limit"))
    group.finish()
    return group


def cost_group(look: Look) -> Group:
    """Cost: all of it is known from the cans."""
    group = Group(look, "Cost", "This cup", "sums-cost")
    group.finish()
    return group
