"""Readings from a spreadsheet, and the advice as plain values."""

from __future__ import annotations

from tickover.book.csvfile import Source, read_table
from tickover.tasks.mixture.adjusters import RULE_OF_THUMB
from tickover.tasks.mixture.advice import Advice, MapCell, Step
from tickover.tasks.mixture.readings import Reading, reading_from_row

COLUMNS = ("opening", "speed", "lambda", "afr", "word", "note")


def readings_from_csv(
    source: Source, name: str, stoichiometric_ratio: float = 14.58
) -> tuple[Reading, ...]:
    """Mixture readings from the columns opening, speed, lambda, word, note.

    Parameters
    ----------
    source : bytes, text, path or open file
    name : str
        How messages call it.
    stoichiometric_ratio : float
        Of the meter's air/fuel scale, for an `afr` column [kg/kg]

    Returns
    -------
    tuple of Reading

    Raises
    ------
    FileError, InputError
        Names file and line.

    Examples
    --------
    >>> text = "opening;speed;lambda;word\\n1/4;5200;0,93;\\nfull;;;rich\\n"
    >>> found = readings_from_csv(text, "r")
    >>> [(r.opening, r.lam, r.sign.word if r.sign else "") for r in found]
    [(0.25, 0.93, ''), (1.0, None, 'rich')]
    """
    rows = read_table(source, name, COLUMNS, required=("opening",))
    return tuple(
        reading_from_row(
            {column: row[column] for column in COLUMNS},
            f"{name} line {row.line}",
            stoichiometric_ratio,
        )
        for row in rows
    )


def advice_json(advice: Advice) -> dict[str, object]:
    """The advice as plain values, a stop first.

    Parameters
    ----------
    advice : Advice

    Returns
    -------
    dict
        `stop`, `advice` [{what, from, to}], `influence` by adjuster over opening, `map`,
        `lambda_before`, `lambda_after`, `probability_lean`, `next_reading` and what goes with
        them.
    """
    stop = None
    if advice.stop is not None:
        stop = {
            "why": advice.stop.why,
            "look_first": list(advice.stop.look_first),
            "then_start_rich_with": [_step(s) for s in advice.richer],
        }
    reading = advice.next_reading
    return {
        "stop": stop,
        "advice": [_step(s) for s in advice.steps],
        "rich_first": advice.rich_first,
        "notes": list(advice.notes),
        "minutes": round(advice.minutes, 1),
        "money": round(advice.money, 2),
        "influence": {
            i.adjuster: {
                "step": i.step,
                "opening": list(i.openings),
                "lift": [round(x, 4) for x in i.lift_shares],
                "percent": [round(x, 2) for x in i.percent],
            }
            for i in advice.influence
        },
        "rule_of_thumb": {
            "source": "common practice, no source",
            "rule": [{"what": w, "from": a, "to": b} for w, a, b in RULE_OF_THUMB],
        },
        "map": [_cell(c) for c in advice.after],
        "map_before": [_cell(c) for c in advice.before],
        "lambda_before": [_cell(c) for c in advice.road_before],
        "lambda_after": [_cell(c) for c in advice.road_after],
        "probability_lean": {
            "before": round(advice.lean_before, 4),
            "after": round(advice.lean_after, 4),
            "of": "any point above half throttle more than 5 % leaner than the target",
        },
        "error": {"before": round(advice.error_before, 4), "after": round(advice.error_after, 4)},
        "next_reading": None
        if reading is None
        else {
            "opening": reading.opening,
            "speed": round(reading.speed_rpm),
            "narrows": round(reading.narrows, 3),
        },
        "settings_looked_at": advice.looked_at,
    }


def _step(step: Step) -> dict[str, str]:
    return {"what": step.what, "from": step.was, "to": step.to}


def _cell(cell: MapCell) -> dict[str, object]:
    return {
        "opening": round(cell.opening, 4),
        "speed": round(cell.speed_rpm),
        "lambda": round(cell.lam, 4) if cell.means_something else None,
        "low": round(cell.low, 4) if cell.means_something else None,
        "high": round(cell.high, 4) if cell.means_something else None,
        "target": round(cell.target, 4),
        "probability_lean": round(cell.probability_lean, 4) if cell.means_something else None,
        "means_something": cell.means_something,
    }
