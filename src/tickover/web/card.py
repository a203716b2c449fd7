"""The head and foot of a build's pages: its name, its stage, its loose ends, where else to go."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.pages.head import Head


@dataclass(frozen=True, slots=True)
class Way:
    """A place to go: where, and in which words."""

    href: str
    words: str


@dataclass(frozen=True, slots=True)
class Card:
    """What stands round every page of one build: its head, and the ways from here."""

    head: Head
    last: int = 0
    """Number of the latest entry the page was drawn from."""

    @property
    def name(self) -> str:
        """What the build is called."""
        return self.head.name

    @property
    def stage(self) -> str:
        """How far it is."""
        return self.head.stage

    @property
    def loose_ends(self) -> tuple[str, ...]:
        """Each open loose end in words."""
        return tuple(f"{end.words} since {end.since}" for end in self.head.loose_ends)

    @property
    def home(self) -> str:
        """The build's own page."""
        return f"/builds/{self.head.build_id}"

    @property
    def live_href(self) -> str:
        """Where the number of the latest entry is told."""
        return f"{self.home}/last"

    @property
    def loose_href(self) -> str:
        """Where loose ends are listed."""
        return f"{self.home}/loose-ends"

    @property
    def quick_href(self) -> str:
        """Where a short line for the book is read."""
        return f"{self.home}/quick"

    @property
    def ways(self) -> tuple[Way, ...]:
        """The pages of this build."""
        return (
            Way(self.home, "The build"),
            Way(f"{self.home}/checks", "All checks"),
            Way(f"{self.home}/loose-ends", "Loose ends"),
            Way(f"{self.home}/valves", "Valve clearances"),
            Way(f"{self.home}/fits", "Build measurements"),
            Way(f"{self.home}/fasteners", "Tightening"),
            Way(f"{self.home}/controls", "Controls and cables"),
            Way(f"{self.home}/proving", "Oil, spark, fuel, switches"),
            Way(f"{self.home}/compression", "Compression"),
            Way(f"{self.home}/drawer", "Shims and drawer"),
            Way(f"{self.home}/fit", "Fit to start"),
            Way(f"{self.home}/start", "Start card"),
            Way(f"{self.home}/stopwatch", "Stopwatch"),
            Way(f"{self.home}/why", "Will not start"),
            Way(f"{self.home}/shopping", "Shopping list"),
            Way(f"{self.home}/run-in", "Running in"),
            Way(f"{self.home}/pictures", "Pictures"),
            Way(f"{self.home}/record", "Build record"),
            Way(f"{self.home}/book", "The book"),
            Way(f"{self.home}/engine", "Engine file"),
        )
