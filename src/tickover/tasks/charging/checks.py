"""The checks of charging, and how each is done without hurting anybody or anything."""

from __future__ import annotations

from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.charging import Charging
from tickover.tasks import proving, starting
from tickover.tasks.charging import names
from tickover.tasks.charging.contacts import switch_checks
from tickover.tasks.charging.senders import sender_checks
from tickover.tasks.finding import Check, Wanted

ACID = "Battery acid burns skin and eyes: glasses on, water at hand, nothing leaned on the battery."
SHORT = "Rings and watch off, no spanner across the posts: a battery welds whatever bridges it."
RUNNING = "The engine runs: outdoors, in neutral, hands and leads clear of chain, belt and fan."
OPEN_AC = "An alternator with its plug apart can give 100 V: probes pushed in before it starts."
ON = "Never take the battery off a running engine: what is left of the regulator goes with it."
MAINS = "Mains chargers and high voltage belong to licensed people."
CAUTIONS = (proving.GAS, ACID, SHORT, RUNNING, proving.MONOXIDE, OPEN_AC, ON, MAINS)
GROUP = "charging"


def checks(engine: EngineFile, state: State) -> tuple[Check, ...]:
    """Everything of charging, switches and senders this engine file asks for."""
    table = engine.charging
    made: list[Check] = []
    if table is not None:
        made += [_drain(engine), _leads()]
        made += [_winding(table, place) for place in names.winding_pairs(table)]
        made += [_to_earth(table), _diodes(table)]
        if table.rotor == "wound":
            made.append(_field(table))
        made += [_charge(engine, place) for place in _speeds(table, state)]
        made += [_volts(table, place) for place in names.winding_pairs(table)]
        made += [
            _drop(table, names.FEED, "from the rectifier's output to the battery's plus post"),
            _drop(table, names.RETURN, "from the battery's minus post to the regulator's body"),
        ]
    return (*made, *switch_checks(engine), *sender_checks(engine))


def _speeds(table: Charging, state: State) -> tuple[str, ...]:
    """The speeds of the engine file, and others at which somebody read."""
    known = {names.speed_place(hertz): hertz for hertz in table.speeds_hz}
    for entry in state.readings(names.CHARGE):
        hertz = names.place_speed(entry.body.place)
        if hertz:
            known.setdefault(entry.body.place, hertz)
    return tuple(sorted(known, key=lambda place: known[place]))


def _drain(engine: EngineFile) -> Check:
    return Check(
        names.DRAIN, "", "Drain at rest", "that the battery lasts while it stands",
        "Key off, lid shut, everything off. Battery minus off, ammeter from the post to the cable, "
        "largest range first, key never on: the starter's current wrecks the meter.",
        proving.RIDING, needs=(starting.AT_REST,), cautions=(proving.GAS, SHORT), minutes=5.0,
        group=GROUP,
        wanted=Wanted("value", "current", None, names.drain_limit_a(engine), 0.0002,
                      prompt="with its unit: 3 mA"),
    )  # fmt: skip


def _leads() -> Check:
    return Check(
        names.LEADS, "", "Meter leads", "what the meter reads by itself",
        "Lowest ohm range, probes pressed together: write down what stays. It is taken off every "
        "reading of a winding.",
        frozenset(), cautions=(), minutes=0.5, group=GROUP,
        wanted=Wanted("value", "resistance", 0.0, 2.0 * names.LEADS_OHM, 0.02),
    )  # fmt: skip


def _winding(table: Charging, place: str) -> Check:
    low, high = table.winding_ohm or (None, None)
    return Check(
        names.WINDING, place, f"Winding {place}".strip(), "that no winding is open or shorted",
        "Alternator plug apart, engine stopped, lowest ohm range; note the winding's temperature: "
        "'0.5 ohm at 25 C'. The meter's own leads first.",
        proving.RIDING, needs=(names.LEADS,), cautions=(proving.HOT,), minutes=2.0, group=GROUP,
        wanted=Wanted("value", "resistance", low, high, 0.02),
    )  # fmt: skip


def _to_earth(table: Charging) -> Check:
    return Check(
        names.TO_EARTH, "", "Winding to earth", "that no winding touches the frame",
        "Alternator plug apart, one probe on bare engine, the other on each wire in turn; the "
        "lowest counts. 'open' where nothing moves on the 2 kohm range.",
        proving.RIDING, cautions=(proving.HOT,), minutes=2.0, group=GROUP,
        wanted=Wanted("value", "resistance", table.to_earth_ohm, None),
    )  # fmt: skip


def _diodes(table: Charging) -> Check:
    tests = 12 if table.phases == 3 else 8
    return Check(
        names.DIODES, "", "Rectifier diodes", "that each passes one way only",
        f"Rectifier unplugged, meter on its diode range: from each AC pin to plus and to minus, "
        f"both ways round, {tests} readings. Half show about half a volt, half show nothing.",
        proving.RIDING, cautions=(proving.HOT,), minutes=8.0, group=GROUP,
        wanted=Wanted("yes", prompt="each one way, none both, none neither"),
    )  # fmt: skip


def _field(table: Charging) -> Check:
    low, high = table.field_ohm or (0.5, 100.0)
    return Check(
        names.FIELD, "", "Field winding", "that the rotor can be a magnet",
        "Both field wires off, or brushes lifted; between the rings, then each ring to the shaft: "
        "nothing there.",
        proving.RIDING, needs=(names.LEADS,), cautions=(proving.HOT,), minutes=6.0, group=GROUP,
        wanted=Wanted("value", "resistance", low, high, 0.05),
    )  # fmt: skip


def _charge(engine: EngineFile, place: str) -> Check:
    table = engine.charging or Charging()
    band = names.regulator_window(engine)[0]
    speed = names.place_speed(place) or 0.0
    charges = speed >= table.charges_from_hz
    return Check(
        names.CHARGE, place, f"Charging at {place}",
        "that the battery is filled" if charges else "that it is not overcharged at low speed",
        "Battery charged, engine warm, lamps on, meter on the posts; hold the speed, let it settle "
        "for half a minute, note the battery's temperature: '14.2 V at 25 C'.",
        proving.RIDING, needs=(starting.AT_REST,),
        cautions=(RUNNING, proving.MONOXIDE, proving.GAS, ON), minutes=2.0, risk=1, group=GROUP,
        wanted=Wanted("value", "voltage", band.low if charges else None, band.high,
                      names.METER_V / 1.65),
    )  # fmt: skip


def _volts(table: Charging, place: str) -> Check:
    low, high = table.ac_volts_v or (None, None)
    at = f" at {names.speed_place(table.ac_speed_hz)}" if table.ac_speed_hz else ""
    return Check(
        names.VOLTS, place, f"Alternator volts {place}".strip(), "that each winding does its part",
        f"Alternator plug apart, meter on volts AC, 200 V range, probes in before it starts; hold "
        f"one speed{at} for all pairs: '42 V at 3000 rpm'.",
        proving.RIDING, needs=(names.WINDING,), cautions=(OPEN_AC, RUNNING, proving.MONOXIDE),
        minutes=3.0, risk=1, group=GROUP,
        wanted=Wanted("value", "voltage", low, high, 0.3),
    )  # fmt: skip


def _drop(table: Charging, name: str, way: str) -> Check:
    return Check(
        name, "", f"{name[0].upper()}{name[1:]}", f"that nothing is lost {way}",
        f"Meter on 2 V, {way}; engine at the speed it charges from, lamps on.",
        proving.RIDING, needs=(names.CHARGE,), cautions=(RUNNING, proving.MONOXIDE, SHORT),
        minutes=3.0, group=GROUP,
        wanted=Wanted("value", "voltage", None, table.drop_v, 0.01),
    )  # fmt: skip
