"""What the records of a job are made of: their base, and the values that a field may hold."""

from typing import Annotated

from msgspec import Meta, Struct

Id = Annotated[str, Meta(min_length=1, max_length=80, pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]*$")]
Name = Annotated[str, Meta(min_length=1, max_length=200)]
Text = Annotated[str, Meta(max_length=4_000)]
Millilitres = Annotated[float, Meta(ge=0, le=1_000_000)]
Density = Annotated[float, Meta(gt=0.1, lt=25)]
Percent = Annotated[float, Meta(gt=0, le=100)]
TolerancePercent = Annotated[float, Meta(gt=0, le=50)]
Concentration = Annotated[float, Meta(ge=0, le=25_000)]
FlowSeconds = Annotated[float, Meta(gt=0, le=10_000)]
DegC = Annotated[float, Meta(ge=-40, le=200)]
AirDegC = Annotated[float, Meta(ge=-40, le=100)]
Humidity = Annotated[float, Meta(ge=0, le=100)]
MetresPerSecond = Annotated[float, Meta(ge=0, le=30)]
Read = Annotated[float, Meta(ge=-1_000_000, le=1_000_000)]
"""What an instrument showed or a hand wrote, however odd. A reading that no air can be is told and passed over; it is
no reason to refuse the job that holds it."""
Microns = Annotated[float, Meta(gt=0, le=10_000)]


class Record(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """The base of everything kept in a job file."""
