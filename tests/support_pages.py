"""What the page tests measure in a browser."""

from __future__ import annotations

from pathlib import Path

TOO_SMALL = (Path(__file__).parent / "edges" / "too_small.js").read_text(encoding="utf-8")
"""Gives what can be pressed and is smaller than 48 by 48 px."""
