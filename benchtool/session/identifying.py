"""Finding out what a piece is made of: the mark typed, the clues answered, and what comes of it. No window."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import partial

from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.state import PieceState
from benchtool.rules.finding import Tables
from benchtool.session.cardfields import clean
from benchtool.session.materials import substrate_name
from benchtool.session.planning import PieceText
from benchtool.session.session import Document, Draft, NotNow, Session
from benchtool.session.substratewords import facts
from benchtool.session.tables_identify import load_clues, load_marks
from benchtool.trade.identify import (
    CANT_SAY,
    CLEAR_LEAD,
    Candidate,
    Candidates,
    ClueTable,
    Question,
    Tell,
    narrow,
    next_question,
    told_beside,
)
from benchtool.trade.markreading import LONGEST, number_alone, parse
from benchtool.trade.marks import Mark, ranks
from benchtool.trade.saying import say, say_n
from benchtool.trade.substrates import Flex, Substrate

UNKNOWN = "unknown"
_NEW = ":"
"""What is said of a piece still to be added is kept by this; of a piece in a form by this and its id."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A material in the list: its name, how it stands, and the sentences for and against it."""

    id: str
    name: str
    detail: str
    pro: tuple[str, ...] = ()
    con: tuple[str, ...] = ()
    out: bool = False


@dataclass
class Search:
    """What was typed and answered about one piece; `asked` are the clues in the order in which they were gone through.

    `at` is the clue gone back to, empty where the next one is asked.
    """

    mark: str = ""
    answers: dict[str, str] = field(default_factory=dict)
    asked: list[str] = field(default_factory=list)
    at: str = ""

    @property
    def begun(self) -> bool:
        """Whether anything was typed or answered."""
        return bool(self.mark or self.asked)


class Identifying:
    """Goes through the clues of a piece; what was begun on another piece waits."""

    def __init__(self, session: Session, clues: ClueTable | None = None) -> None:
        self.session = session
        self.clues = clues if clues is not None else load_clues()
        self.piece_id: str | None = None
        self.search = Search()
        self._kept: dict[str, Search] = {}
        self._about = _NEW
        self._document: Document | None = None
        self._seen: tuple[object, ...] | None = None
        self._candidates = Candidates(left=(), excluded=())

    @property
    def _substrates(self) -> Mapping[str, Substrate]:
        return self.session.tables.substrates

    # --- which piece -------------------------------------------------------------------------------

    def begin(self, piece: PieceState | None, form: PieceText | None = None, of: str | None = None) -> None:
        """Turn to a piece, or to what a `form` says `of` one that may still have to be added (None).

        What was half done about it is there again; a mark typed in the form since then is taken up.
        """
        if self.session.current is not self._document:
            if self._about == _NEW and self._document is not None:
                self._kept[_NEW] = self.search
            self._kept = {_NEW: self._kept[_NEW]} if _NEW in self._kept else {}
            self._document = self.session.current
        else:
            self._kept[self._about] = self.search
        self.piece_id = piece.id if piece is not None else None
        self._about = piece.id if piece is not None else f"{_NEW}{of or ''}"
        kept = self._kept.pop(self._about, Search())
        fresh = _from(piece.piece if piece is not None else form)
        self.search = kept if kept.begun else fresh
        if form is not None and fresh.mark and not self.search.mark:
            self.search.mark = fresh.mark

    @property
    def astray(self) -> bool:
        """Whether the piece that a form is about is in another job than the one in hand."""
        return self._about.startswith(_NEW) and self._about != _NEW and self.session.current is not self._document

    def start_anew(self) -> None:
        """Forget what was answered about this piece; the mark stays."""
        self.search = Search(mark=self.search.mark)

    # --- the mark ----------------------------------------------------------------------------------

    @property
    def mark(self) -> Mark | None:
        """The mark as read, None where nothing is typed."""
        return parse(self.search.mark, load_marks()) if self.search.mark.strip() else None

    def type_mark(self, text: str) -> None:
        """Take what is typed as the mark."""
        self.search.mark = text[:LONGEST]

    @property
    def number_alone(self) -> int | None:
        """The number typed that is a mark only where it stands in a triangle; None for all else."""
        return number_alone(self.search.mark)

    def put_in_triangle(self) -> None:
        """Take the number typed for one that stands in a triangle."""
        if self.number_alone is not None:
            self.search.mark = f"triangle {self.number_alone}"

    @property
    def mark_settles(self) -> bool:
        """Whether the mark alone says what it is, and nothing seen outweighs it."""
        return self.likeliest is not None and self.marked.get(self.likeliest) == 0

    def mark_words(self) -> tuple[str, str]:
        """Say what the mark tells, and what about it is not by the standard."""
        mark = self.mark
        if mark is None:
            return "", ""
        if self.number_alone is not None:
            return say("Is the {n} in a triangle? A number alone is no mark.", n=self.number_alone), ""
        if not mark.understood:
            return "", mark.problems[-1]
        return mark.words, " ".join(mark.problems)

    @property
    def marked(self) -> dict[str, int]:
        """The ids that the mark may mean, with how well each fits."""
        mark = self.mark
        return ranks(mark, self._substrates.values()) if mark is not None else {}

    # --- the questions -----------------------------------------------------------------------------

    @property
    def question(self) -> Question | None:
        """The question that is asked now; None when none is left that tells more."""
        if self.search.at in self.clues.questions:
            return self.clues.questions[self.search.at]
        return next_question(self.search.answers, self._substrates.values(), self.clues, marked=self.marked)

    @property
    def number(self) -> int:
        """Which question it is, from 1."""
        asked = self.search.asked
        return asked.index(self.search.at) + 1 if self.search.at in asked else len(asked) + 1

    def answer(self, answer_id: str) -> None:
        """Answer the question that is asked (`CANT_SAY` goes on without); one gone back to is answered anew."""
        question = self.question
        if question is None or (answer_id != CANT_SAY and question.answer(answer_id) is None):
            return
        self.search.answers[question.id] = answer_id
        if question.id not in self.search.asked:
            self.search.asked.append(question.id)
        later = self.search.asked[self.search.asked.index(question.id) + 1 :]
        self.search.at = later[0] if self.search.at and later else ""

    def go_back(self) -> bool:
        """Go back to the question before; False where there is none."""
        asked = self.search.asked
        place = asked.index(self.search.at) if self.search.at in asked else len(asked)
        if place == 0:
            return False
        self.search.at = asked[place - 1]
        return True

    def chosen(self, question: Question) -> str:
        """Give the answer that stands for a question, empty for none."""
        return self.search.answers.get(question.id, "")

    # --- what comes of it --------------------------------------------------------------------------

    @property
    def candidates(self) -> Candidates:
        """What it may be, by the mark and the answers."""
        seen = (tuple(self.marked.items()), tuple(sorted(self.search.answers.items())))
        if seen != self._seen:
            self._candidates = narrow(self.search.answers, self._substrates.values(), self.clues, marked=self.marked)
            self._seen = seen
        return self._candidates

    def rows(self) -> tuple[Row, ...]:
        """Give the list: what is left, likeliest first, then what is ruled out."""
        told = self.candidates
        best = told.left[0].score if told.left else 0
        left = [self._row(c, _standing(c, best) if self._asked else "") for c in told.left]
        out = [self._row(c, say("ruled out"), out=True) for c in told.excluded]
        return (*left, *out)

    def _row(self, candidate: Candidate, standing: str, *, out: bool = False) -> Row:
        substrate = self._substrates[candidate.id]
        parts = [standing] if standing else []
        if candidate.pro:
            parts.append(say("{n} for it", n=len(candidate.pro)))
        if candidate.con:
            parts.append(say("{n} against", n=len(candidate.con)))
        return Row(
            id=candidate.id,
            name=substrate_name(substrate),
            detail=", ".join(parts),
            pro=candidate.pro,
            con=candidate.con,
            out=out,
        )

    @property
    def likeliest(self) -> str | None:
        """The material that stands out, None where none does."""
        told = self.candidates
        return told.left[0].id if told.left and not told.unknown else None

    def told(self) -> str:
        """Say how far it is known."""
        told = self.candidates
        if told.unknown or not told.left:
            return told.unknown
        best, mark = told.left[0], self.mark
        name = self._substrates[best.id].name
        if mark is None or self.marked.get(best.id) != 0 or mark.resin is not None:
            other = next((self._substrates[i].name for i, rank in self.marked.items() if rank == 0), "")
            if other and best.id not in self.marked:
                return say(
                    "Most speaks for {name}, but the mark names {other}: look at both again.", name=name, other=other
                )
            return say("Most speaks for {name}. It is a good guess, not a proof.", name=name)
        if best.con:
            return say("The maker's own mark says {name}, but not all you saw goes with it: look again.", name=name)
        if mark.valid:
            return say("The maker's own mark says so: it is {name}.", name=name)
        return say("The mark on it names {name}, though it is not written as the standard has it.", name=name)

    def count_words(self) -> str:
        """Say how many materials fit, and how many hardly do."""
        told = self.candidates
        if not self._asked:
            return say_n("{n} material to choose from.", "{n} materials to choose from.", len(told.left))
        best = told.left[0].score if told.left else 0
        likely = [c for c in told.left if c.score > 0]
        fits = sum(best - c.score < CLEAR_LEAD for c in likely)
        parts = [say_n("{n} fits", "{n} fit", fits)] if fits else []
        for n, words in (
            (len(likely) - fits, say("{n} may be", n=len(likely) - fits)),
            (len(told.left) - len(likely), say("{n} hardly", n=len(told.left) - len(likely))),
            (len(told.excluded), say("{n} ruled out", n=len(told.excluded))),
        ):
            if n:
                parts.append(words)
        return f"{', '.join(parts)}."

    @property
    def _asked(self) -> bool:
        return bool(self.marked) or any(a != CANT_SAY for a in self.search.answers.values())

    # --- keeping it --------------------------------------------------------------------------------

    def known(self, substrate_id: str) -> ev.Known:
        """Say how it is known that the piece is of this material."""
        substrate = self._substrates.get(substrate_id)
        if substrate is None or not substrate.known:
            return ev.Known.UNKNOWN
        mark = self.mark  # a resin code sorts waste and tells no filler and no blend: it marks no part
        named = mark is not None and mark.resin is None and self.marked.get(substrate_id) == 0
        return ev.Known.MARKED if named else ev.Known.GUESSED

    def found(self, substrate_id: str) -> PieceText:
        """Give what was found, to begin the description of a piece with."""
        substrate = self._substrates[substrate_id]
        return PieceText(
            substrate=substrate_id,
            known=self.known(substrate_id),
            flex=substrate.flex if substrate.flex is not None else self._told_flex(),
            mark=clean(self.search.mark),
            clues=self._clues(),
            found_face=ev.Face.BEHIND_CLEAR if Tell.BEHIND_CLEAR in self._beside() else None,
        )

    def _beside(self) -> frozenset[Tell]:
        return told_beside(self.search.answers, self.clues)

    def _told_flex(self) -> Flex | None:
        told = self._beside()
        return Flex.FLEXIBLE if Tell.FLEXIBLE in told else Flex.RIGID if Tell.RIGID in told else None

    def otherwise(self, piece: ev.Piece) -> str:
        """Say what was answered that the description of a piece has otherwise; it stays as the painter wrote it."""
        said = []
        if Tell.BEHIND_CLEAR in self._beside() and piece.face is not ev.Face.BEHIND_CLEAR:
            said.append(say("You said that it is painted from behind: its description says from outside."))
        told = self._told_flex()
        if told is Flex.FLEXIBLE and piece.flex is Flex.RIGID:
            said.append(say("You saw that it bends: its description says rigid."))
        elif told is Flex.RIGID and piece.flex is Flex.FLEXIBLE:
            said.append(say("What you saw is rigid: its description says flexible."))
        return " ".join(said)

    def _clues(self) -> tuple[ev.Clue, ...]:
        return tuple(ev.Clue(test=test, answer=self.search.answers[test]) for test in self.search.asked)

    def keep(self, substrate_id: str) -> tuple[Draft, ...]:
        """Write what was found into the description of the piece; gives no event where nothing is different.

        Raises:
            NotNow: the job can't be changed, or the piece is gone.
        """
        document = self.session.writable()
        standing = document.state.pieces.get(self.piece_id or "")
        if standing is None:
            raise NotNow(say("This piece is gone from the job."))
        found, flex = self.found(substrate_id), self._substrates[substrate_id].flex
        changed = replace(
            standing.piece,
            substrate=substrate_id,
            known=self.known(substrate_id),
            flex=flex if flex is not None else standing.piece.flex,
            mark=found.mark,
            clues=found.clues,
        )
        return () if changed == standing.piece else (partial(ev.PieceChanged, piece=changed),)

    def done(self) -> None:
        """What was found is kept: the next piece begins anew, and this one with what its record then says."""
        self._kept.pop(self._about, None)
        self.search = Search()


def _from(told: ev.Piece | PieceText | None) -> Search:
    """Begin with what is said of the piece already."""
    if told is None:
        return Search()
    clues = {c.test: c.answer for c in told.clues}
    return Search(mark=told.mark, answers=clues, asked=list(clues))


def _standing(candidate: Candidate, best: int) -> str:
    if candidate.score <= 0:
        return say("hardly")
    if candidate.score == best:
        return say("fits best")
    return say("fits too") if best - candidate.score < CLEAR_LEAD else say("may be")


def fact_line(substrate: Substrate, tables: Tables) -> str:
    """Say in a paragraph what a painter does with this material: what holds, how it wets, what harms it."""
    return " ".join(_facts(substrate, tables))


def _facts(substrate: Substrate, tables: Tables) -> Iterator[str]:
    told = {fact.label: fact.words for fact in facts(substrate, tables)}
    for label in (say("What holds"), say("Its surface"), say("Keep away")):
        if label in told:
            yield f"{label}: {told[label]}"
