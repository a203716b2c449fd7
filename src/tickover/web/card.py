"""The head and foot of a build's pages: its name, its stage, its loose ends, where else to go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Way:
    """A place to go: where, and in which words."""

    href: str
    words: str


@dataclass(frozen=True, slots=True)
class Card:
    """What stands round every page of one build.

    Parameters
    ----------
    build_id, name, stage : str
    loose_ends : sequence of str
        Each in words, as the strip at the top shows them.
    """

    build_id: str
    name: str
    stage: str = ""
    loose_ends: Sequence[str] = ()

    @property
    def home(self) -> str:
        """The build's own page."""
        return f"/builds/{self.build_id}"

    @property
    def loose_href(self) -> str:
        """Where loose ends are listed."""
        return f"{self.home}#loose-ends"

    @property
    def ways(self) -> tuple[Way, ...]:
        """The pages of this build."""
        return (
            Way(self.home, "The build"),
            Way(f"{self.home}/valves", "Valve clearances"),
            Way(f"{self.home}/drawer", "Shims and drawer"),
            Way(f"{self.home}/book", "The book"),
            Way(f"{self.home}/engine", "Engine file"),
        )
