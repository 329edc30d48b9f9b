"""Rules of the painter's own, as data: a few conditions, what is required, how grave, and their own words."""

from enum import StrEnum
from typing import Annotated

from msgspec import Meta

from benchtool.job.fields import Id, Name, Record, Text

Said = Annotated[str, Meta(min_length=1, max_length=1_000)]
Value = str | int | float | tuple[str, ...]


class Weight(StrEnum):
    """How grave it is where a rule of the painter's is not kept."""

    STOP = "stop"
    CAUTION = "caution"
    NOTE = "note"


class Compare(StrEnum):
    """How a condition compares what is there with what it names."""

    IS = "is"
    IS_NOT = "is not"
    ONE_OF = "one of"
    CONTAINS = "contains"
    AT_LEAST = "at least"
    AT_MOST = "at most"


class Condition(Record, frozen=True, kw_only=True, rename={"is_": "is"}):
    """One condition: what it looks at, how it compares, and with what (`4 h`, `15 °C`). Nothing in it is ever run.

    What may stand in `of`, `is` and `value` is not told by their shape: a rule that names what this tool does not know
    is skipped and told, and the others work.
    """

    of: Name
    is_: Name = Compare.IS.value
    value: Value = ""


class ShopRule(Record, frozen=True, kw_only=True):
    """Where all of `when` hold, all of `require` must hold too; else `words` are told, and `remedy`.

    Where nothing is required, that all of `when` hold is what must not be.
    """

    id: Id
    name: Name
    weight: Weight
    when: Annotated[tuple[Condition, ...], Meta(max_length=20)] = ()
    require: Annotated[tuple[Condition, ...], Meta(max_length=20)] = ()
    words: Said
    remedy: Text = ""
    source: Text = ""


class SkippedRule(Record, frozen=True, kw_only=True):
    """A rule of the painter's that can't be used: its name, why not, and the place in its file.

    Without a name it is the whole file that can't be used.
    """

    name: Text
    why: Text
    place: Text = ""
