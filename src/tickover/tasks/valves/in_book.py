"""The valve task and the book: what it reads there, and the entries it writes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tickover.book.bodies import Body, Reading, StockChanged, Work
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.quantities import show
from tickover.tasks.finding import Check, Finding, Wanted
from tickover.tasks.valves.assumptions import USUAL, Assumptions, assumptions_for
from tickover.tasks.valves.blades import owned_blades
from tickover.tasks.valves.drift import Drift, SeatHeight, drift
from tickover.tasks.valves.faults import Circumstances
from tickover.tasks.valves.plan import Change
from tickover.tasks.valves.readings import ClearanceReading, DrawerShim, FittedShim
from tickover.tasks.valves.verdict import verdict

CLEARANCE = "valve clearance"
SHIM = "shim"
SHIM_FITTED = "shim fitted"
VALVE_WORK = "valve or seat work"

_SAME_SHIM_M = 1e-7


@dataclass(frozen=True, slots=True)
class ValveBook:
    """What the book says about the valves."""

    readings: Mapping[str, ClearanceReading]
    shims: Mapping[str, FittedShim]
    drawer: tuple[DrawerShim, ...]
    circumstances: Circumstances


def valve_book(engine: EngineFile, state: State, stale: frozenset[str] = frozenset()) -> ValveBook:
    """Latest readings, shims fitted now, the drawer, and the circumstances.

    `stale` names places whose reading no longer counts when it is asked whether all were cold.
    """
    readings: dict[str, ClearanceReading] = {}
    shims: dict[str, FittedShim] = {}
    worked = set()
    for place in engine.places():
        name = place.name
        entry = state.latest(CLEARANCE, name)
        if entry is not None:
            body = entry.body
            said = body.conditions.get("engine")
            warm = None if said not in ("cold", "warm") else said == "warm"
            unit = str(body.conditions.get("unit", "mm"))
            readings[name] = ClearanceReading(
                name, body.low, body.high, body.typed, unit, warm, entry.id
            )
        shim = _shim_now(state, name)
        if shim is not None:
            shims[name] = shim
        if _worked_since_fitted(state, name):
            worked.add(name)
    drawer = tuple(
        DrawerShim(row.size, max(row.count, 0), row.price, row.known_by)
        for row in state.stock(SHIM)
        if row.size is not None
    )
    counted = [reading.warm for name, reading in readings.items() if name not in stale]
    warm = True if True in counted else (False if counted and set(counted) == {False} else None)
    return ValveBook(readings, shims, drawer, Circumstances(frozenset(worked), warm))


def _shim_now(state: State, place: str) -> FittedShim | None:
    measured = state.latest(SHIM, place)
    fitted = state.works(SHIM_FITTED, place)
    last = fitted[-1] if fitted else None
    if last is not None and (measured is None or last.number > measured.number):
        size = last.body.detail.get("size_m")
        if isinstance(size, (int, float)):
            return FittedShim(place, float(size), str(last.body.detail.get("known_by", "")))
    if measured is not None and measured.body.low is not None:
        return FittedShim(place, measured.body.low, measured.body.instrument)
    return None


def _worked_since_fitted(state: State, place: str) -> bool:
    cylinder = "".join(sign for sign in place if sign.isdigit())
    done = [
        entry.number
        for entry in state.works(VALVE_WORK)
        if place in entry.body.places or f"cyl{cylinder}" in entry.body.places
    ]
    fitted = [entry.number for entry in state.works(SHIM_FITTED, place)]
    return bool(done) and (not fitted or max(fitted) < max(done))


def clearance_entry(reading: ClearanceReading) -> Reading:
    """The book's entry for a clearance reading."""
    conditions: dict[str, str | float] = {"unit": reading.unit}
    if reading.warm is not None:
        conditions["engine"] = "warm" if reading.warm else "cold"
    if reading.distance_m is not None:
        conditions["distance_m"] = reading.distance_m
    return Reading(
        CLEARANCE, reading.place, reading.go_m, reading.no_go_m, "m", reading.typed,
        "feeler blades", conditions,
    )  # fmt: skip


def shim_entry(shim: FittedShim, typed: str) -> Reading:
    """The book's entry for a shim measured, or read off its mark, in place."""
    return Reading(SHIM, shim.place, shim.size_m, shim.size_m, "m", typed, shim.known_by)


def fitted_entries(
    changes: Sequence[Change], done: Iterable[str], known: ValveBook
) -> tuple[Body, ...]:
    """The entries for a plan, or part of one, carried out.

    The shim that goes in and where it came from; the drawer gives and takes accordingly, from
    the lot that holds the shim.

    Raises
    ------
    InputError
        If a place is not in the plan, or a shim would have to be in two valves at once.
    """
    by_place = {change.place: change for change in changes}
    chosen = list(dict.fromkeys(done))
    strange = [place for place in chosen if place not in by_place]
    if strange or not chosen:
        raise InputError(
            "The plan changes nothing there", given=", ".join(strange) or "no valve",
            allowed=", ".join(by_place) or "no valve: the plan leaves all shims where they are",
        )  # fmt: skip
    givers = {}
    for place in chosen:
        source = by_place[place].source
        if source.startswith("fitted at "):
            giver = source.removeprefix("fitted at ")
            givers[giver] = place
            if giver not in chosen:
                raise InputError(
                    f"{place} gets the shim out of {giver}, so both are written together",
                    given=", ".join(chosen), instead=f"{place} and {giver}",
                )  # fmt: skip
    bodies: list[Body] = []
    for place in chosen:
        change = by_place[place]
        giver = change.source.removeprefix("fitted at ")
        lot = _lot(known.drawer, change.to_m) if change.source == "stock" else "mark"
        known_by = known.shims[giver].known_by if giver != change.source else lot
        bodies.append(
            Work(
                SHIM_FITTED, (place,),
                {"size_m": change.to_m, "known_by": known_by, "source": change.source,
                 "from_m": change.from_m},
            )
        )  # fmt: skip
        if change.source == "stock":
            bodies.append(
                StockChanged(SHIM, change.to_m, "m", -1, known_by=lot, note=f"into {place}")
            )
        if place not in givers:
            old = known.shims[place]
            bodies.append(
                StockChanged(
                    SHIM, old.size_m, "m", 1, known_by=old.known_by, note=f"out of {place}"
                )
            )
    return tuple(bodies)


def _lot(drawer: Iterable[DrawerShim], size_m: float) -> str:
    """How the size is known of the lot a shim of this size comes out of."""
    lots = [shim for shim in drawer if abs(shim.size_m - size_m) < _SAME_SHIM_M]
    held = [shim for shim in lots if shim.count > 0]
    if not held:
        raise InputError(
            f"No shim of {show(size_m, 'mm', 'shim')} lies in the drawer any more",
            instead="what is there on the drawer page, and look at the plan again",
        )
    return held[0].known_by


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """One check for each valve with limits."""
    found = []
    for place in engine.places():
        limits = engine.limits_m(place)
        if limits is None:
            continue
        found.append(
            Check(
                CLEARANCE, place.name, f"Clearance {place.name}",
                "that the valve closes on its seat hot, and opens when it should",
                "Cold engine, lobe pointing away from its follower; thickest blade that goes and "
                "thinnest that does not.",
                frozenset({"first start", "riding", "hand-over"}),
                cautions=("Turn the crank by hand, plugs out, in its running direction.",),
                minutes=2.0, risk=3, group="valves",
                wanted=Wanted("page", "clearance", limits[0], limits[1], page="valves"),
            )
        )  # fmt: skip
    return tuple(found)


def findings(engine: EngineFile, state: State, assume: Assumptions = USUAL) -> tuple[Finding, ...]:
    """What the latest reading says of each valve, whether or not it still holds."""
    assume = assumptions_for(engine, assume)
    blades = owned_blades(engine)
    unit = engine.show.unit("clearance")
    found = []
    for place in engine.places():
        limits = engine.limits_m(place)
        entry = state.latest(CLEARANCE, place.name)
        if limits is None or entry is None:
            continue
        reading = ClearanceReading(place.name, entry.body.low, entry.body.high)
        judged = verdict(reading, limits, blades, assume)
        found.append(
            Finding(
                CLEARANCE, place.name, judged.state, clearance_words(reading, unit),  # type: ignore[arg-type]
                entry.number, judged.probability_in,
            )
        )  # fmt: skip
    return tuple(found)


def clearance_words(reading: ClearanceReading, unit: str) -> str:
    """A reading in words: '0.14 to 0.15 mm', 'no gap'."""
    if reading.go_m is None and reading.no_go_m is not None:
        return f"no gap (not even {show(reading.no_go_m, unit, 'clearance')})"
    if reading.no_go_m is None and reading.go_m is not None:
        return f"over {show(reading.go_m, unit, 'clearance')}"
    assert reading.go_m is not None
    assert reading.no_go_m is not None
    low = show(reading.go_m, unit, "clearance", with_unit=False)
    return f"{low} to {show(reading.no_go_m, unit, 'clearance')}"


def valve_drifts(engine: EngineFile, state: State, assume: Assumptions = USUAL) -> dict[str, Drift]:
    """Drift of each valve read at two or more known distances since it was last worked on.

    A reading counts when its conditions carry 'distance_m' and a shim size was known at the time.
    """
    found = {}
    for place in engine.places():
        limits = engine.limits_m(place)
        shim = _shim_now(state, place.name)
        if limits is None or shim is None:
            continue
        occasions = _occasions(state, place.name)
        if len(occasions) >= 2:
            found[place.name] = drift(occasions, shim.size_m, limits, assume)
    return found


def _occasions(state: State, place: str) -> list[SeatHeight]:
    worked = [e.number for e in state.works(VALVE_WORK, place)]
    since = max(worked, default=0)
    sizes = sorted(
        [
            *((e.number, e.body.low) for e in state.readings(SHIM, place) if e.body.low),
            *(
                (e.number, float(e.body.detail["size_m"]))
                for e in state.works(SHIM_FITTED, place)
                if "size_m" in e.body.detail
            ),
        ]
    )
    occasions = []
    for entry in state.readings(CLEARANCE, place):
        body = entry.body
        distance = body.conditions.get("distance_m")
        before = [size for number, size in sizes if number < entry.number]
        # A shim first measured after the reading was already in when the reading was taken.
        size = before[-1] if before else (sizes[0][1] if sizes else None)
        if (
            entry.number > since
            and isinstance(distance, (int, float))
            and size is not None
            and body.low is not None
            and body.high is not None
        ):
            middle = (body.low + body.high) / 2 + size
            occasions.append(SeatHeight(float(distance), middle, body.high - body.low))
    return occasions
