"""The printed sheets of fits, fasteners and cables, as plain data for the typesetter."""

from __future__ import annotations

from typing import Any

from tickover.engine import EngineFile
from tickover.pages.controls import ControlsPage
from tickover.pages.fasteners import FastenersPage, pattern_of
from tickover.pages.fits import FitsPage
from tickover.pages.head import Head
from tickover.pages.wording import place_words


def fits_bench_sheet(engine: EngineFile, page: FitsPage) -> dict[str, Any]:
    """Boxes for every reading of every fit, part by part; worked-out clearances at the end."""
    groups: dict[str, dict[str, Any]] = {}
    worked_out = []
    for line in page.lines:
        fit = line.result.fit
        if fit.between:
            worked_out.append(
                {"name": line.title, "limits": line.limits,
                 "sum": f"{fit.between[0]} less {fit.between[1]}"}
            )  # fmt: skip
            continue
        group = groups.setdefault(
            line.name,
            {
                "headline": fit.name[:1].upper() + fit.name[1:]
                + ("" if fit.kind in fit.name.lower() else f", {fit.kind}"),
                "limits": line.limits,
                "how": line.how,
                "columns": list(line.to_read) if line.to_read != ("",) else ["reading"],
                "rows": [],
            },
        )  # fmt: skip
        group["rows"].append(place_words(line.place))
    return {
        **_head(engine, page.head),
        "title": "Build measurements, bench sheet",
        "intro": "Fill in with a pencil. Every box is one reading, with its unit; write what the "
        "gauge shows, not what it should show.",
        "groups": list(groups.values()),
        "worked_out": worked_out,
        "cautions": list(page.cautions),
    }


def torque_bench_sheet(engine: EngineFile, page: FastenersPage) -> dict[str, Any]:
    """Each fastener with its order drawn and a box to tick for every round."""
    return {
        **_head(engine, page.head),
        "title": "Tightening, bench sheet",
        "intro": "Oiled or dry as it says. One box for each round over all screws, in the order "
        "drawn; the first is ringed. Loosen in the reverse order.",
        "fasteners": [
            {
                "name": line.name[:1].upper() + line.name[1:],
                "torque": line.torque,
                "others": line.other_units,
                "thread": line.thread,
                "count": line.count,
                "stages": list(line.stages),
                "order_words": line.order_words,
                "picture": pattern_of(line.fastener, embedded=True),
                "preload": line.preload,
                "of_proof": line.of_proof,
                "warnings": list(line.warnings),
                "note": line.note,
                "again": line.fastener.retorque,
                "done": line.state_text if line.state == "good" else "",
            }
            for line in page.lines
        ],
        "cautions": list(page.cautions),
    }


def cable_bench_sheet(engine: EngineFile, page: ControlsPage) -> dict[str, Any]:
    """Each cable with what to cut, how much solder, and the proof pull to sign for."""
    return {
        **_head(engine, page.head),
        "title": "Cables to make",
        "intro": "Lay the route with a cord, bars straight, twice. Cut the outer first, square, "
        "and dress its ends; cut the inner long and shorten it at the second nipple.",
        "cables": [
            {
                "name": line.name[:1].upper() + line.name[1:],
                "refused": line.refused,
                "rows": [
                    {"what": what, "value": value}
                    for what, value in (
                        ("outer", line.outer), ("inner", line.inner),
                        ("spare travel", line.spare), ("solder in the nipple", line.solder),
                        ("proof pull", line.proof),
                    )
                    if value
                ],
                "missing": list(line.missing),
            }
            for line in page.cables
        ],
        "steps": [
            "Inner through the outer before the second nipple goes on.",
            "Strands spread into the cone of the nipple, cleaned, fluxed, soldered right through.",
            "Held under running water until cold; flux washed off; oiled.",
            "Proof-pulled; both nipples looked at with a glass: nothing has moved.",
            "Fitted, free play set, tried on both locks. Free play set again after the first ride.",
        ],
        "cautions": list(page.cautions),
    }  # fmt: skip


def _head(engine: EngineFile, head: Head | None) -> dict[str, Any]:
    return {
        "machine": head.name if head else engine.engine.name,
        "stage": head.stage if head else "",
        "loose_ends": [f"{end.words} (since {end.since})" for end in head.loose_ends]
        if head
        else [],
    }
