"""The sums behind a number: what went in, by which formula, from where, how sure."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Why:
    """One number asked 'why?'."""

    title: str
    inputs: tuple[str, ...]
    formula: str
    source: str
    uncertainty: str
