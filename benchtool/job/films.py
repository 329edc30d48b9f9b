"""How thick the dry film of a layer and of a whole piece is, as measured or by the cards."""

from benchtool.job.cards import Card
from benchtool.job.state import LayerState, PieceState, State


def coat_um(layer: LayerState, card: Card | None) -> list[float | None]:
    """Give the dry film of each coat that is on or planned (um), as measured, else by the card."""
    by_card = card.film_um if card is not None else None
    on = [c.film.um if c.film is not None else (c.card.film_um if c.card is not None else None) for c in layer.coats]
    ahead = layer.film.um if layer.film is not None else by_card
    return [*on, *([ahead] * max(0, layer.plan.coats - len(on)))]


def layer_um(state: State, layer: LayerState) -> float | None:
    """Give the dry film of the whole layer when it is finished (um); None where nothing tells."""
    card = state.card_of(layer)
    if layer.film is None and (card is None or card.film_um is None):
        return None
    films = coat_um(layer, card)
    known = [um for um in films if um is not None]
    return sum(known) if known and len(known) == len(films) else None


def least_um(state: State, piece: PieceState) -> float:
    """Give the dry film of a piece when it is finished as far as it is known (um): it is at least so thick."""
    return sum(um for x in piece.layers if (um := layer_um(state, x)) is not None)
