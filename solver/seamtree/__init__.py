"""Decide whether a patchwork drawing can be sewn on paper foundations, and on how few."""

__version__ = "0.1.0"
