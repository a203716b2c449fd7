"""Tickover: the build book that does the sums."""

__version__ = "0.1.0"
