"""What is asked before a grade is logged: where it let go, and whether it takes the place of one that stands."""

from dataclasses import dataclass

from benchtool.session.gradeentry import Entry, came_off, grade_of, read_percent
from benchtool.session.trialgrading import Cell, Standing
from benchtool.trade.saying import say


@dataclass(slots=True)
class Asking:
    """What was asked of the grade in hand: where it let go (`place`), and for which grade the old one is to go."""

    place: bool = False
    instead: str = ""

    def place_is_open(self, cell: Cell, entry: Entry) -> bool:
        """Whether it has to be asked once where it let go.

        Raises:
            Refused: as `grade_of` and `read_percent`.
        """
        code, off = grade_of(cell.spot.method, entry), read_percent(entry.percent)
        asks = came_off(cell.spot.method, code, off[0] if off is not None else None)
        return asks and not entry.place and not self.place

    def replaces(self, cell: Cell, entry: Entry) -> bool:
        """Whether another grade would take the place of one that stands, and it was not asked for yet.

        Raises:
            Refused: as `grade_of`.
        """
        new = grade_of(cell.spot.method, entry)
        return cell.standing is Standing.GRADED and new not in (_old(cell), self.instead)

    def ask_place(self, cell: Cell, entry: Entry) -> str:
        """Ask where it let go; where a grade would be replaced, that is asked along with it."""
        self.place = True
        if not self.replaces(cell, entry):
            return say("Where did it let go? Pick it, or leave it open: Enter logs the grade.")
        self.instead = grade_of(cell.spot.method, entry)
        return say(
            "Where did it let go? Pick it, or leave it open: Enter replaces {old} by {new}.",
            old=_old(cell), new=self.instead,
        )  # fmt: skip

    def ask_to_replace(self, cell: Cell, entry: Entry, strip: str) -> str:
        """Ask whether this grade is to take the place of the one that stands on `strip`."""
        self.instead = grade_of(cell.spot.method, entry)
        return say(
            "{strip} is graded {old} already: Enter again replaces it by {new}.",
            strip=strip, old=_old(cell), new=self.instead,
        )  # fmt: skip

    def forget_replacing(self) -> None:
        """Ask anew: something else is typed."""
        self.instead = ""


def _old(cell: Cell) -> str:
    return cell.grade.given.grade if cell.grade is not None else ""


def measured_words(off: str, candidates: tuple[str, ...], strip: str) -> str:
    """Say what remains to be done with what was measured on a photo of `strip`; `off` is the percentage in words."""
    if len(candidates) != 1:
        return say("{off} % came off: choose the grade, then Enter logs it for {strip}.", off=off, strip=strip)
    code = candidates[0]
    grade = say("class {n}", n=code) if code.isdigit() else code
    return say("{off} % came off: Enter logs {grade} for {strip}.", off=off, grade=grade, strip=strip)
