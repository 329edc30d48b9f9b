"""A bench companion for a custom painter."""

__version__ = "0.1.0"
