"""The bench sheet of charging, switches and senders: as plain data for the typesetter."""

from __future__ import annotations

from typing import Any

from tickover.engine import EngineFile
from tickover.pages.charging import ChargingPage
from tickover.pages.sheets_proving import check_blocks, sheet_head
from tickover.tasks.charging import names
from tickover.tasks.charging.contacts import CONTACTS
from tickover.tasks.charging.senders import RESISTANCE
from tickover.tasks.starting import AT_REST, CRANKING

_ORDER = (
    "Cold and still first: rest, drain, leads, windings, diodes. Then running: voltage over speed, "
    "drops. AC with the plug apart last."
)


def charging_bench_sheet(engine: EngineFile, page: ChargingPage) -> dict[str, Any]:
    """Battery, alternator, regulator, then switches and senders, in working order."""
    running = (CRANKING, names.CHARGE, names.FEED, names.RETURN, names.VOLTS)
    still = tuple(name for name in names.NAMES if name not in running)
    blocks = check_blocks(page.checks, (AT_REST, *still, *running))
    for switch in page.switches:
        rows = [{"where": row.tried, "must": row.must, "tick": True} for row in switch.rows]
        blocks.append(
            {"headline": f"{switch.name.capitalize()}: {CONTACTS}", "how": "Plug apart, battery "
             "minus off, meter on its lowest ohm range or buzzer. Yes: as it must be.",
             "beside": "", "rows": rows}
        )  # fmt: skip
    for sender in page.senders:
        made = check_blocks(sender.rows, (RESISTANCE,))
        blocks += [{**block, "headline": f"{sender.name.capitalize()}"} for block in made]
    return {
        **sheet_head(engine, page.head, "Charging, bench sheet"),
        "facts": [{"name": name, "words": words} for name, words in page.facts],
        "blocks": blocks,
        "note": _ORDER,
        "cautions": list(page.cautions),
    }
