"""Plate cams of left-handlebar brake-and-clutch control units: computed, compared and chosen."""

__version__ = "0.1.0"
