"""The printed sheets of the loom, as plain data for the typesetter."""

from __future__ import annotations

from typing import Any

from tickover.engine import EngineFile
from tickover.pages.drawing.loom_board import board_svg, tiles
from tickover.pages.drawing.one_line import one_line
from tickover.pages.head import Head
from tickover.pages.loom import LoomPage, LoomTestPage
from tickover.pages.wiring import WiringPage
from tickover.pages.wording import count_words

_DIAGRAM = 300.0


def loom_schedule_sheet(engine: EngineFile, page: WiringPage, loom: LoomPage) -> dict[str, Any]:
    """Fuses, diagrams, every wire, branches, cutting list and terminals."""
    return {
        **_head(engine, page.head),
        "title": "Loom schedule",
        "verdict": f"{loom.verdict} {page.verdict}",
        "problems": [str(problem) for problem in page.problems],
        "fuses": [
            [c.name, c.current, c.fuse + (" as fitted" if c.given else ""), c.weakest]
            for c in page.circuits
        ],
        "diagrams": [
            {"name": "To the fuses", "svg": _diagram(page.main_nodes), "rows": len(page.main_nodes)}
        ]
        + [
            {"name": c.name[:1].upper() + c.name[1:], "svg": _diagram(c.nodes),
             "rows": len(c.nodes)}
            for c in page.circuits
        ],
        "wires": [
            [w.number, w.start, w.end, w.size, w.colour, w.tracer, w.length, w.start_terminal,
             w.end_terminal, w.connectors]
            for w in loom.wires
        ],
        "branches": [[b.name, b.length, str(b.wires), b.diameter, b.connector]
                     for b in loom.branches],
        "cutting": [[c.size, c.colour, str(c.count), c.longest, c.total, c.buy]
                    for c in loom.cutting],
        "totals": list(loom.totals),
        "terminals": [[name, size, str(n)] for name, size, n in loom.terminals],
        "again": list(loom.again),
        "alike": list(loom.alike),
        "balance": list(page.balance),
        "assumed": list(page.assumed),
        "cautions": list(page.cautions),
    }  # fmt: skip


def _diagram(nodes: Any) -> str:
    return one_line(nodes, "", width=_DIAGRAM, embedded=True)


def loom_test_sheet(engine: EngineFile, page: LoomTestPage) -> dict[str, Any]:
    """The test wire by wire, to fill in with a pencil."""
    return {
        **_head(engine, page.head),
        "title": "Loom, wire by wire",
        "intro": "Fill in with a pencil: ohms, or 'open'. " + page.verdict,
        "steps": list(page.steps),
        "rows": [
            [line.number, line.start, line.end, line.colour_words, line.expect,
             "no path" if line.asks_earth else "leads there"]
            for line in page.lines
        ],
        "cautions": list(page.cautions),
    }  # fmt: skip


def loom_board_sheet(engine: EngineFile, page: LoomPage) -> dict[str, Any]:
    """The board at true size on sheets of both paper sizes; the typesetter takes the one asked."""
    made: dict[str, Any] = {}
    for paper, name in (("a4", "a4"), ("letter", "us-letter")):
        sheets, flipped, (columns, rows) = tiles(page.board, paper)
        made[name] = {
            "flipped": flipped,
            "grid": f"{columns} across, {rows} down; {count_words(len(sheets))} show something",
            "names": [tile.name for tile in sheets],
            "columns": columns,
            "rows": rows,
            "tiles": [
                {"name": tile.name, "svg": tile.svg, "width": tile.width, "height": tile.height}
                for tile in sheets
            ],
        }
    return {
        **_head(engine, page.head),
        "title": "Loom board at full size",
        "size": f"{page.board.width:.0f} x {page.board.height:.0f} mm",
        "overview": board_svg(page.board, embedded=True, full_size=False),
        "papers": made,
        "cautions": list(page.cautions[:2]),
    }


def _head(engine: EngineFile, head: Head | None) -> dict[str, Any]:
    return {
        "machine": head.name if head else engine.engine.name,
        "stage": head.stage if head else "",
        "loose_ends": [f"{end.words} (since {end.since})" for end in head.loose_ends]
        if head
        else [],
    }
