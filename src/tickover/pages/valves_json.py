"""The valve page as JSON, for programs."""

from __future__ import annotations

from typing import Any

from tickover.pages.valves import ValvesPage


def valves_json(page: ValvesPage) -> dict[str, Any]:
    """The page as JSON: lengths in mm, angles in crank degrees, 0 = cylinder 1 at firing TDC."""

    def mm(value: float | None) -> float | None:
        return None if value is None else round(value * 1e3, 6)

    def chance(value: float | None) -> float | None:
        return None if value is None else round(value, 4)

    assessment = page.assessment
    plan = assessment.plan
    check = assessment.next_check
    order = assessment.order
    return {
        "stops": [
            {
                "crank_deg": round(stop.crank_deg, 3),
                "cylinder": stop.cylinder,
                "places": list(stop.places),
            }
            for stop in (order.stops if order else ())
        ],
        "valves": [
            {
                "place": line.place,
                "limits_mm": [mm(end) for end in line.finding.limits_m]
                if line.finding.limits_m
                else None,
                "go_mm": mm(line.finding.reading.go_m) if line.finding.reading else None,
                "no_go_mm": mm(line.finding.reading.no_go_m) if line.finding.reading else None,
                "verdict": line.state,
                "probability_in": chance(line.finding.verdict.probability_in),
            }
            for line in page.valves
        ],
        "explanations": [
            {
                "what": item.what,
                "places": list(item.places),
                "probability": chance(item.probability),
                "probability_in_after": chance(item.probability_in_after),
            }
            for item in assessment.explanations
        ],
        "next_check": None
        if check is None
        else {
            "what": check.what,
            "places": list(check.places),
            "bits": round(check.bits, 4),
            "minutes": check.minutes,
        },
        "plan": None
        if plan is None
        else {
            "changes": [
                {
                    "place": item.place,
                    "from_mm": mm(item.from_m),
                    "to_mm": mm(item.to_m),
                    "source": item.source,
                    "predicted_mm": [mm(end) for end in item.predicted_m],
                    "probability_in": chance(item.probability_in),
                    "rests_on": item.rests_on,
                    "read_again": item.read_again_first,
                }
                for item in plan.changes
            ],
            "buy": [
                {"size_mm": mm(item.size_m), "count": item.count, "price": item.price}
                for item in plan.buy
            ],
            "price": plan.price,
            "valves_disturbed": plan.valves_disturbed,
            "camshafts_opened": list(plan.camshafts_opened),
            "probability_all_in": chance(plan.probability_all_in),
            "optimal": plan.optimal,
            "unplanned": list(plan.unplanned),
            "notes": list(plan.notes),
        },
    }
