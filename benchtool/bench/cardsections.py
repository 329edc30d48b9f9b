"""The sections of a product card that are asked first: the product, its activators and additives, coats, times."""

from collections.abc import Mapping
from functools import partial

from PySide6.QtWidgets import QWidget

from benchtool.bench.controls import BenchButton, Words
from benchtool.bench.look import Look
from benchtool.bench.planparts import Ask, Buttons, FieldRow, Options, Typed
from benchtool.bench.plansheet import Section
from benchtool.job.cards import Carrier, Chemistry, Duty, Gun, Hazard, Reduction, Trait
from benchtool.session import planning
from benchtool.session.cardreading import TIMES, ActivatorText, AdditiveText, CardText, share_told, time_told
from benchtool.trade.saying import say
from benchtool.trade.substrates import Suits

ROWS = 3
"""Activators and additives asked for: sheets name one or two, seldom three (common practice, no source)."""

ONE, TWO = "one", "two"
UNSAID = "unsaid"
_SUITS = [(Suits.RIGID.value, "Rigid"), (Suits.FLEXIBLE.value, "Flexible"), (Suits.ANY.value, "Any piece")]
_PAIRS = (
    ("stand", "stand_reduced"), ("pot_life",), ("flash", "flash_most"), ("dust_free",),
    ("recoat_opens", "recoat_closes"), ("tape", "cure"),
)  # fmt: skip
_HINTS = {
    "stand": "5", "stand_reduced": "10", "pot_life": "2 h", "flash": "15", "flash_most": "", "dust_free": "20 min",
    "recoat_opens": "30 min", "recoat_closes": "24 h", "tape": "24 h", "cure": "7 d",
}  # fmt: skip


class ProductSection(Section):
    """What it is called, what it does, what it is made of, and where the values come from."""

    def __init__(self, look: Look) -> None:
        super().__init__(look, say("The product"))
        self.name = Typed(look, "Name on the can", "card-name")
        self.maker = Typed(look, say("Maker"), "card-maker")
        self.names = FieldRow(look, (self.name, self.maker), (2, 1))
        self.duty = Options(look, "In the stack it is the", "card-duty")
        self.duty.offer([(d.value, d.value.capitalize()) for d in Duty])
        self.parts = Options(look, "It is", "card-parts")
        self.parts.offer([(ONE, "One-part"), (TWO, "Two-part, with an activator")])
        self.chemistry = Options(look, say("What makes the film"), "card-chemistry")
        self.chemistry.offer([*((c.value, _up(c.value)) for c in Chemistry), (UNSAID, say("Not known"))])
        self.carrier = Options(look, say("What leaves the wet film"), "card-carrier")
        self.carrier.offer([*((c.value, _up(c.value)) for c in Carrier), (UNSAID, say("Not known"))])
        self.over = Typed(look, say("Only straight over these cards, with ; between"), "card-only-over")
        self.origin = Typed(look, "Where the values come from", "card-origin", "Data sheet of March 2025, page 2")
        self.add(self.names, self.duty, self.parts, self.chemistry, self.carrier, self.over, self.origin)
        self.asks: dict[str, Ask] = {
            "name": self.name, "maker": self.maker, "duty": self.duty, "parts": self.parts,
            "chemistry": self.chemistry, "carrier": self.carrier, "only_over": self.over, "origin": self.origin,
        }  # fmt: skip

    def fill(self, text: CardText) -> None:
        """Show this."""
        self.name.fill(text.name)
        self.maker.fill(text.maker)
        self.duty.choose(text.duty.value if text.duty is not None else None)
        self.parts.choose(None if text.two_part is None else TWO if text.two_part else ONE)
        self.chemistry.choose(text.chemistry.value if text.chemistry is not None else UNSAID)
        self.carrier.choose(text.carrier.value if text.carrier is not None else UNSAID)
        self.over.fill(text.only_over)
        self.origin.fill(text.origin)

    def chemistry_of(self) -> Chemistry | None:
        """Give what makes the film; None where that is not known."""
        return Chemistry(self.chemistry.value) if self.chemistry.value not in (None, UNSAID) else None

    def carrier_of(self) -> Carrier | None:
        """Give what leaves the film; None where that is not known."""
        return Carrier(self.carrier.value) if self.carrier.value not in (None, UNSAID) else None

    def filled(self, question: str) -> bool:
        """Whether something is said to this question."""
        ask = self.asks[question]
        if isinstance(ask, Typed):
            return bool(ask.text().strip())
        return isinstance(ask, Options) and bool(ask.values - {UNSAID})


def _up(words: str) -> str:
    return words[:1].upper() + words[1:]


class _PartRow(QWidget):
    """One part that may go in: its name, its share, perhaps more, and what it suits."""

    def __init__(self, look: Look, kind: str, number: int, column: Section, hints: tuple[str, str]) -> None:
        super().__init__()
        base, n = f"{kind}-{number}", number + 1
        called = say("Additive {n}", n=n) if kind == "additive" else say("Activator {n}", n=n)
        self.id = ""
        self.name = Typed(look, called, f"card-{base}-name", hints[0] if not number else "")
        self.share = Typed(look, "Share", f"card-{base}-share", hints[1] if not number else "", share_told)
        for part, words in ((self.name, "name"), (self.share, "share")):
            part.edit.setAccessibleName(f"{called}: {words}")
        self.suits = Options(look, "", f"card-{base}-suits")
        self.suits.setAccessibleName(f"{called} suits")
        self.suits.offer(_SUITS)
        for button in self.suits.buttons.values():
            button.setAccessibleName(f"{called} suits: {button.text()}")
        self.fields = FieldRow(look, (self.name, self.share, *self._more(look, base, called)))
        self.asks: dict[str, Ask] = {f"{base}-name": self.name, f"{base}-share": self.share}
        self._ask_more(base)
        self.asks[f"{base}-suits"] = self.suits
        column.add(self.fields, self.suits)

    def _more(self, look: Look, base: str, called: str) -> tuple[Typed, ...]:
        return ()

    def _ask_more(self, base: str) -> None:
        pass

    def suits_of(self) -> Suits | None:
        """Give what it suits; None where nothing is chosen."""
        return Suits(self.suits.value) if self.suits.value is not None else None

    def show_row(self, *, on: bool) -> None:
        """Show or hide the row."""
        self.fields.setVisible(on)
        self.suits.setVisible(on)


class ActivatorRow(_PartRow):
    """One activator: its name, its share, and what it suits."""

    def __init__(self, look: Look, number: int, column: Section) -> None:
        super().__init__(look, "activator", number, column, ("Rigid activator", "2 % of base"))

    def text(self) -> ActivatorText:
        """Give what is typed."""
        return ActivatorText(name=self.name.text(), share=self.share.text(), suits=self.suits_of(), id=self.id)

    def fill(self, text: ActivatorText) -> None:
        """Show this activator."""
        self.id = text.id
        self.name.fill(text.name)
        self.share.fill(text.share)
        self.suits.choose(text.suits.value if text.suits is not None else None)


class AdditiveRow(_PartRow):
    """One additive: its name, its share, its density, and what it suits."""

    def __init__(self, look: Look, number: int, column: Section) -> None:
        super().__init__(look, "additive", number, column, ("Flex additive", "10 % of base"))

    def _more(self, look: Look, base: str, called: str) -> tuple[Typed, ...]:
        self.density = Typed(look, say("Density, g/mL"), f"card-{base}-density")
        self.density.edit.setAccessibleName(say("{part}: density in g/mL", part=called))
        return (self.density,)

    def _ask_more(self, base: str) -> None:
        self.asks[f"{base}-density"] = self.density

    def text(self) -> AdditiveText:
        """Give what is typed."""
        return AdditiveText(
            name=self.name.text(),
            share=self.share.text(),
            suits=self.suits_of(),
            density=self.density.text(),
            id=self.id,
        )

    def fill(self, text: AdditiveText) -> None:
        """Show this additive."""
        self.id = text.id
        self.name.fill(text.name)
        self.share.fill(text.share)
        self.density.fill(text.density)
        self.suits.choose(text.suits.value if text.suits is not None else None)


class ActivatorSection(Section):
    """A few activators, one row each; one more row when asked for."""

    def __init__(self, look: Look) -> None:
        super().__init__(look, "Activators")
        self.rows = [ActivatorRow(look, i, self) for i in range(ROWS)]
        self.more = BenchButton(look, "Another activator", name="card-more-activators")
        self.more_row = Buttons((self.more,), fill=False)
        self.add(self.more_row)


class AdditiveSection(Section):
    """A few additives, one row each; one more row when asked for."""

    def __init__(self, look: Look) -> None:
        super().__init__(look, say("Additives"))
        self.rows = [AdditiveRow(look, i, self) for i in range(ROWS)]
        self.more = BenchButton(look, say("Another additive"), name="card-more-additives")
        self.more_row = Buttons((self.more,), fill=False)
        self.add(self.more_row)

    @property
    def filled(self) -> bool:
        """Whether anything is typed here."""
        return any(not row.text().empty for row in self.rows)


class CoatsSection(Section):
    """How many coats, and how thick."""

    def __init__(self, look: Look) -> None:
        super().__init__(look, "Coats and film")
        labels = {
            "coats_least": "Coats, least", "coats_most": "Coats, most", "film": "Film per coat, µm",
            "film_most": say("All coats at most, µm"),
        }  # fmt: skip
        self.numbers = {k: Typed(look, words, f"card-{k.replace('_', '-')}") for k, words in labels.items()}
        coats, film = list(self.numbers.values())[:2], list(self.numbers.values())[2:]
        self.rows = (FieldRow(look, coats), FieldRow(look, film))
        self.add(*self.rows)
        self.asks: dict[str, Ask] = dict(self.numbers)


class ReducingSection(Section):
    """How far it is reduced for each gun."""

    def __init__(self, look: Look) -> None:
        super().__init__(look, "Reducing")
        how = Words(look, "small", "quiet")
        how.say("Write 90 % of activated, 1:1 of activated, 10 % of base. Leave a gun empty where nothing is reduced.")
        self.reducer = Typed(look, "Reducer", "card-reducer", "Medium reducer")
        self.add(how, self.reducer)
        self.fields: dict[Gun, Mapping[str, Typed]] = {}
        self.rows: dict[Gun, FieldRow] = {}
        self.asks: dict[str, Ask] = {"reducer": self.reducer}
        for gun in Gun:
            name = gun.value.capitalize()
            labels = {"least": f"{name}: least", "usual": "usual", "most": "most"}
            slug = gun.value.replace(" ", "-")
            fields = {k: Typed(look, words, f"card-{slug}-{k}") for k, words in labels.items()}
            for key, field in fields.items():
                field.edit.setAccessibleName(f"{name}, {key} reduction")
                field.edit.textChanged.connect(partial(self._explain, gun))
            self.fields[gun] = fields
            self.rows[gun] = FieldRow(look, tuple(fields.values()))
            self.add(self.rows[gun])
            self.asks.update({f"reduction-{gun.value}-{k}": f for k, f in fields.items()})

    def _explain(self, gun: Gun, _: str = "") -> None:
        least, usual, most = (f.text() for f in self.fields[gun].values())
        readable = all(share_told(s) for s in (least or usual, usual, most or usual))
        reduction = Reduction(gun=gun, least=least or usual, usual=usual, most=most or usual)
        self.rows[gun].explain(planning.reduction_words(reduction) if readable else "")

    def fill(self, text: CardText) -> None:
        """Show this."""
        self.reducer.fill(text.reducer)
        for gun, fields in self.fields.items():
            typed = text.reductions.get(gun, ("", "", ""))
            for field, share in zip(fields.values(), typed, strict=True):
                field.fill(share)

    def shares(self) -> dict[Gun, tuple[str, str, str]]:
        """Give what is typed for each gun: least, usual, most."""
        return {g: (f["least"].text(), f["usual"].text(), f["most"].text()) for g, f in self.fields.items()}

    @property
    def filled(self) -> bool:
        """Whether anything is typed here beside the reducer's name."""
        return any(share.strip() for shares in self.shares().values() for share in shares)


class TimesSection(Section):
    """The times of the sheet."""

    def __init__(self, look: Look) -> None:
        super().__init__(look, "Times")
        how = Words(look, "small", "quiet")
        how.say(
            "Write 15 min, 1 h 30, 48 h or 2 d; where a label says min, a number alone is minutes. "
            "Leave empty what the sheet does not say."
        )
        self.add(how)
        self.fields = {
            key: Typed(look, field.label, f"card-{key.replace('_', '-')}", _HINTS[key], partial(time_told, key))
            for key, field in TIMES.items()
        }
        self.rows = [FieldRow(look, tuple(self.fields[key] for key in pair)) for pair in _PAIRS]
        self.add(*self.rows)
        self.asks: dict[str, Ask] = dict(self.fields)


class HazardSection(Section):
    """What on the card can hurt the painter."""

    def __init__(self, look: Look) -> None:
        super().__init__(look, "What can hurt you")
        self.hazards = Options(look, "Named on its safety data sheet", "card-hazards", several=True)
        self.hazards.offer([(h.value, _up(h.value)) for h in Hazard])
        self.add(self.hazards)
        self.asks: dict[str, Ask] = {"hazards": self.hazards}


class TraitSection(Section):
    """What else decides how it may be used."""

    def __init__(self, look: Look) -> None:
        super().__init__(look, say("It is also"))
        self.traits = Options(look, "", "card-traits", several=True)
        self.traits.setAccessibleName(say("It is also"))
        self.traits.offer([(t.value, _up(t.value)) for t in Trait])
        self.add(self.traits)
        self.asks: dict[str, Ask] = {"traits": self.traits}
