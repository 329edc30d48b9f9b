"""Colours by plain names: a drawing only, and what a paint is called is no colour of it."""

import pytest

from benchtool.session.colournames import PALETTE, named_colour
from benchtool.session.planning import read_colour


def test_the_plain_colours_are_known_by_their_names() -> None:
    for colour, name in PALETTE:
        assert read_colour(name) == colour
        assert read_colour(f"  {name.upper()} ") == colour
    assert read_colour("light gray") == read_colour("Light grey")


def test_a_shade_lies_between_the_colour_and_black_or_white() -> None:
    # by hand: 0x1f x 0.65 = 20, 0x4e x 0.65 = 51, 0x9e x 0.65 = 103
    assert read_colour("deep blue") == "#143367" == read_colour("dark-blue")
    assert named_colour("light blue") not in (None, named_colour("blue"))
    assert named_colour("dark grey") == "#5b5d60"


@pytest.mark.parametrize("typed", ["candy apple", "deep", "blue blue", "deep deep blue", "#12", "bluish"])
def test_what_is_no_colour_is_said_with_where_else_it_goes(typed: str) -> None:
    with pytest.raises(ValueError, match="goes into the colour note"):
        read_colour(typed)
