"""Where the project's own data lies: in the wheel beside the code, in a checkout beside the package."""

from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1]


def resource(name: str) -> Path:
    """Find the data file or folder `name`.

    Raises:
        FileNotFoundError: it is in neither place; the message names both.
    """
    # The wheel's own folder comes first: beside an installed package, `resources` would be somebody else's.
    places = (PACKAGE / "_resources" / name, PACKAGE.parent / "resources" / name)
    for place in places:
        if place.exists():
            return place
    raise FileNotFoundError(f"“{name}” is missing: it is neither {places[0]} nor {places[1]}.")
