"""What the painter owns and how they like to work, kept in one file for all jobs."""

from collections.abc import Iterator
from pathlib import Path

from msgspec import field

from benchtool.job.cards import Record
from benchtool.job.shop import Shop, shop_faults
from benchtool.store.shopfile import NotWritten, ShopFile

NAME = "shop.json"
FORMAT = "bench shop"
SCHEMA = 2


class Kept(Record, frozen=True, kw_only=True, omit_defaults=False):
    """What the file holds; a missing one holds the usual tools and cups."""

    shop: Shop = field(default_factory=Shop)


def shop_file(folder: Path) -> ShopFile[Kept]:
    """Give the file of the shop in `folder`."""
    return ShopFile(folder / NAME, what="Your tools and cups", head=(FORMAT, SCHEMA), kind=Kept, check=_faults)


def _faults(kept: Kept) -> Iterator[tuple[str, str]]:
    for path, message in shop_faults(kept.shop):
        yield f"shop{path}", message


__all__ = ["FORMAT", "NAME", "Kept", "NotWritten", "shop_file"]
