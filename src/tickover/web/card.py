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
    def ways(self) -> tuple[tuple[str, tuple[Way, ...]], ...]:
        """The pages of this build, by what the hands are at."""
        return tuple(
            (heading, tuple(Way(f"{self.home}{path}", words) for path, words in pages))
            for heading, pages in PAGES
        )


PAGES: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    (
        "Where it stands",
        (
            ("", "The build"),
            ("/checks", "All checks"),
            ("/loose-ends", "Loose ends"),
            ("/shopping", "Shopping list"),
            ("/sheets", "Sheets to print"),
            ("/book", "The book"),
            ("/guide", "Describe the machine"),
            ("/engine", "Engine file"),
        ),
    ),
    (
        "On the stand",
        (
            ("/valves", "Valve clearances"),
            ("/drawer", "Shims and drawer"),
            ("/fits", "Build measurements"),
            ("/fasteners", "Tightening"),
            ("/controls", "Controls and cables"),
            ("/proving", "Oil, spark, fuel, switches"),
            ("/wiring", "Wiring and loom"),
            ("/compression", "Compression"),
            ("/ratio", "Ratio by burette"),
            ("/cam-timing", "Cam timing"),
        ),
    ),
    (
        "First start",
        (
            ("/fit", "Fit to start"),
            ("/start", "Start card"),
            ("/stopwatch", "Stopwatch"),
            ("/why", "Will not start"),
        ),
    ),
    (
        "Running, and handed over",
        (
            ("/listen", "Listen"),
            ("/charging", "Charging and battery"),
            ("/mixture", "Mixture"),
            ("/balance", "Carburettor balance"),
            ("/strobe", "Timing under the strobe"),
            ("/speed", "Speed and gearing"),
            ("/noise", "Noise"),
            ("/run-in", "Running in"),
            ("/pictures", "Pictures"),
            ("/record", "Build record"),
        ),
    ),
)
"""Heading, and each page below a build's address with its words; a new page gets its line here."""
