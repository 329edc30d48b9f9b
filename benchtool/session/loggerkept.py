"""The choice of a logger's file as it is kept in the settings, and back."""

from pathlib import Path

from benchtool.session.loggerguess import DELIMITERS, LoggerColumns
from benchtool.session.loggertimes import TimeFormat
from benchtool.session.loggerzone import zone_key, zone_of
from benchtool.store.settings import LoggerChoice

_LONGEST = 10_000
"""More characters than any name of a file or of its columns has; more would break the settings for all the rest."""


def kept_choice(columns: LoggerColumns) -> LoggerChoice | None:
    """Write a choice for the settings; None where no settings file can hold it."""
    texts = [str(columns.path), *columns.needed, columns.surface_column or ""]
    try:
        if len("".join(texts).encode()) > _LONGEST:
            return None
    except UnicodeEncodeError:  # the name of the file is no text
        return None
    return LoggerChoice(
        path=str(columns.path),
        delimiter=columns.delimiter,
        decimal=columns.decimal,
        time_column=columns.time_column,
        air_column=columns.air_column,
        humidity_column=columns.humidity_column,
        date_column=columns.date_column,
        surface_column=columns.surface_column,
        time_format=None if columns.time_format is None else columns.time_format.value,
        unit=columns.unit,
        zone=zone_key(columns.zone),
        header=columns.header,
    )


def chosen_columns(kept: LoggerChoice) -> LoggerColumns | None:
    """Read a choice from the settings; None where it makes no sense, so that the painter chooses anew."""
    form = None
    if kept.time_format is not None:
        form = next((f for f in TimeFormat if f.value == kept.time_format), None)
        if form is None:
            return None
    known = kept.delimiter in DELIMITERS and kept.decimal in (",", ".") and kept.unit in ("C", "F")
    if not (known and kept.path and kept.time_column and kept.air_column and kept.humidity_column):
        return None
    return LoggerColumns(
        path=Path(kept.path),
        delimiter=kept.delimiter,
        decimal=kept.decimal,
        time_column=kept.time_column,
        date_column=kept.date_column,
        air_column=kept.air_column,
        humidity_column=kept.humidity_column,
        surface_column=kept.surface_column,
        time_format=form,
        unit=kept.unit,
        zone=zone_of(kept.zone),
        header=kept.header,
    )
