"""The record: cards, pieces, layers, events, and the state folded from them."""
