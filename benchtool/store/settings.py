"""What the painter chose about the program itself. Losing it costs a few clicks, so it is never worth a crash."""

from contextlib import suppress
from pathlib import Path
from typing import Annotated, Literal

import msgspec
from msgspec import Meta, Struct
from msgspec.structs import replace

from benchtool.job.cards import Gun
from benchtool.store import atomic
from benchtool.store.files import read_file

NAME = "settings.json"
BROKEN = "settings.broken.json"
MOST_RECENT = 10
_LARGEST = 1_000_000


class LoggerChoice(Struct, frozen=True, kw_only=True):
    """The data logger's file that is followed, and where in it the readings stand."""

    path: str
    delimiter: str
    decimal: str
    time_column: str
    air_column: str
    humidity_column: str
    date_column: str | None = None
    surface_column: str | None = None
    time_format: str | None = None
    unit: str = "C"
    zone: str = ""
    header: bool = True


class Settings(Struct, frozen=True, kw_only=True):
    """The settings. `window` is the window's geometry as text, `recent` the job files last open, newest first.

    `open` are the files that were open when this was last written down, the one in hand last.
    `next_key` is the hands-free key or pedal, as portable text. `paper` is what sheets are printed on, "" for what is
    usual here.
    """

    theme: Literal["system", "light", "dark"] = "system"
    units: Literal["mL", "fl oz"] = "mL"
    sound_volume: Annotated[float, Meta(ge=0, le=1)] = 0.8
    speak: bool = True
    window: str = ""
    recent: tuple[str, ...] = ()
    open: tuple[str, ...] = ()
    last_gun: Gun = Gun.AIRBRUSH
    logger: LoggerChoice | None = None
    next_key: str = "PgDown"
    paper: str = ""


def with_recent(settings: Settings, path: Path) -> Settings:
    """Give the settings with `path` as the job file opened last."""
    others = tuple(p for p in settings.recent if p != str(path))
    return replace(settings, recent=(str(path), *others)[:MOST_RECENT])


def load(folder: Path) -> Settings:
    """Read the settings kept in `folder`; the usual ones where there are none.

    A file that can't be understood is renamed to `settings.broken.json` and the usual settings are used;
    fields that this version does not know are passed over.
    """
    file = folder / NAME
    try:
        data = read_file(file, _LARGEST)
    except (FileNotFoundError, PermissionError, ValueError):
        return Settings()
    except OSError:
        return _set_aside(file)
    try:
        settings = msgspec.json.decode(data, type=Settings)
    except (ValueError, RecursionError):
        return _set_aside(file)
    return replace(settings, recent=settings.recent[:MOST_RECENT])


def _set_aside(file: Path) -> Settings:
    with suppress(OSError):
        file.replace(file.with_name(BROKEN))
    return Settings()


def save(folder: Path, settings: Settings) -> bool:
    """Keep the settings in `folder`, which is made where it is missing; False where that can't be done."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        atomic.write(folder / NAME, msgspec.json.format(msgspec.json.encode(settings), indent=2) + b"\n", keep=0)
    except (OSError, ValueError):
        return False
    return True
