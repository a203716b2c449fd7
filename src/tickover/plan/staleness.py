"""What work makes which proof void: one table, in one place."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from tickover.book.bodies import Work
from tickover.book.entries import Entry
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.engine.tables.fasteners import JOINTS
from tickover.tasks import controls, fasteners, fits
from tickover.tasks.compression import measured_book
from tickover.tasks.finding import Check, Scope
from tickover.tasks.own import own_name


@dataclass(frozen=True, slots=True)
class Rule:
    """Work of this kind makes this check void within this scope, for this reason.

    A check named 'ring gap: top ring' belongs to the family 'ring gap', which a rule may name.
    """

    work: str
    check: str
    scope: Scope
    why: str


_IGNITION = ("static timing", "advance curve", "spark")
_ON_CHARGE = ("charging voltage", "charging feed drop", "charging earth drop")
_ALTERNATOR = ("alternator volts", "alternator winding", "winding to earth", "field winding",
               *_ON_CHARGE)  # fmt: skip
_MACHINE: tuple[tuple[str, str, Scope, tuple[str, ...]], ...] = (
    ("plug changed", "another plug is in", "same cylinder", ("spark", "plug gap")),
    ("coil changed", "another coil is in", "same place", ("coil primary", "coil secondary")),
    ("coil changed", "another coil is in", "everywhere", ("spark",)),
    ("leads off", "the leads were off", "everywhere", ("lead order", "spark")),
    ("points changed", "other points are in", "everywhere", ("points gap", "dwell", *_IGNITION)),
    ("points gap set", "the points gap was set", "everywhere",
     ("points gap", "dwell", "static timing", "advance curve")),
    ("timing moved", "the timing was moved", "everywhere", ("static timing", "advance curve")),
    ("ignition opened", "rotor, trigger or advance unit was out", "everywhere", _IGNITION),
    ("oil drained", "the oil was drained", "everywhere", ("oil quantity", "oil primed")),
    ("oil filter changed", "the filter was changed", "everywhere",
     ("oil filter", "oil quantity", "oil primed")),
    ("oil pump out", "the oil pump was out", "everywhere",
     ("oil primed", "oil flow", "oil pressure")),
    ("oil switch changed", "another switch is in", "everywhere", ("oil switch",)),
    ("sump off", "the sump was off", "everywhere", ("oil quantity", "oil primed", "oil flow")),
    ("engine opened", "the engine was opened", "everywhere",
     ("oil filter", "oil quantity", "oil primed", "oil flow", "oil pressure", "static timing")),
    ("head off", "the head was off", "everywhere",
     ("oil primed", "lead order", "spark", "intake clamps", "air leaks", "exhaust joints")),
    ("carburettors off", "the carburettors were off", "everywhere",
     ("intake clamps", "air leaks", "fuel lines", "fuel drips")),
    ("float bowl off", "the bowl was off", "same place", ("float height", "needle and seat")),
    ("float bowl off", "a bowl was off", "everywhere", ("fuel drips",)),
    ("jets changed", "the bowls were off", "everywhere", ("fuel drips",)),
    ("tank off", "the tank was off", "everywhere",
     ("fuel tank", "fuel tap", "fuel lines", "fuel flow", "fuel drips")),
    ("fuel drained", "the fuel was drained", "everywhere", ("fresh fuel", "fuel drips")),
    ("fuel filter changed", "the filter was changed", "everywhere",
     ("fuel filter", "fuel lines", "fuel flow", "fuel drips")),
    ("exhaust off", "the exhaust was off", "everywhere", ("exhaust joints",)),
    ("exhaust changed", "another exhaust is on", "everywhere",
     ("exhaust joints", "exhaust condition")),
    ("battery charged", "the battery was charged", "everywhere",
     ("battery at rest", "cranking voltage", *_ON_CHARGE)),
    ("battery changed", "another battery is in", "everywhere",
     ("battery at rest", "cranking voltage", "earths", "drain at rest", *_ON_CHARGE)),
    ("regulator changed", "another regulator is in", "everywhere",
     ("drain at rest", "rectifier diodes", *_ON_CHARGE)),
    ("rectifier changed", "another rectifier is in", "everywhere",
     ("drain at rest", "rectifier diodes", *_ON_CHARGE)),
    ("alternator out", "the alternator was out", "everywhere", _ALTERNATOR),
    ("winding work", "a winding was worked on", "everywhere", _ALTERNATOR),
    ("rotor off", "the rotor was off", "everywhere", ("alternator volts", *_ON_CHARGE)),
    ("earths cleaned", "an earth is made anew", "everywhere", ("earths", *_ON_CHARGE)),
    ("switch opened", "a switch was opened", "everywhere", ("switch contacts",)),
    ("sender changed", "another sender is in", "everywhere", ("sender resistance",)),
    ("starter out", "the starter was out", "everywhere", ("cranking voltage", "interlocks")),
    ("tyre changed", "another tyre is on", "everywhere", ("speedometer",)),
    ("sprockets changed", "other sprockets are on", "everywhere", ("speedometer",)),
    ("baffles changed", "the baffles are others", "everywhere", ("noise", "exhaust condition")),
    ("exhaust changed", "another exhaust is on", "everywhere", ("noise",)),
    ("exhaust off", "the exhaust was off", "everywhere", ("noise",)),
    ("exhaust repaired", "the exhaust was worked on", "everywhere", ("noise", "exhaust joints")),
    ("speedometer changed", "another speedometer, or another setting", "everywhere",
     ("speedometer",)),
    ("loom opened", "the loom was opened", "everywhere",
     ("earths", "stop switch", "interlocks", "oil switch", "spark", "drain at rest",
      "switch contacts", "loom continuity", "loom insulation", *_ON_CHARGE)),
    # Of a wire made anew by its number only that wire is read again: the loom's task sees to it.
    ("wire changed", "a wire was changed", "same place", ("loom continuity", "loom insulation")),
    ("connector changed", "a connector was made anew", "everywhere",
     ("loom continuity", "loom insulation")),
    ("fuses changed", "other fuses are in", "everywhere", ("fuses as listed",)),
)  # fmt: skip
"""What work on the whole machine makes void: work, why, how far it reaches, the checks."""

_COMPRESSION: tuple[tuple[str, Scope, str], ...] = (
    ("shim fitted", "same cylinder", "another shim is in"),
    ("clearance set", "same cylinder", "a clearance was set"),
    ("valve or seat work", "same cylinder", "valve or seat were worked on"),
    ("camshaft out", "everywhere", "the camshafts were out"),
    ("head off", "everywhere", "the head was off"),
    ("engine opened", "everywhere", "the engine was opened"),
    ("rings changed", "same cylinder", "other rings are in"),
    ("pistons changed", "same cylinder", "another piston is in"),
    ("rebored or honed", "same cylinder", "the cylinder was cut"),
    ("barrel changed", "same cylinder", "another barrel"),
)

_FULL, _BALANCE = "mixture at full throttle", "carburettor balance"
_MIXTURE: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("jets changed", "other jets are in", (_FULL,)),
    ("needle moved", "the needle hangs elsewhere", (_FULL,)),
    ("mixture screw set", "the screw was turned", (_BALANCE,)),
    ("air filter changed", "it breathes through something else", (_FULL, _BALANCE)),
    ("baffles changed", "the exhaust is another", (_FULL,)),
    ("exhaust changed", "another exhaust is on", (_FULL,)),
    ("exhaust off", "the exhaust was off", (_FULL,)),
    ("height changed", "the air is thinner or thicker here", (_FULL,)),
    ("fuel drained", "other fuel is in", (_FULL,)),
    ("float bowl off", "a float may stand elsewhere", (_FULL,)),
    ("carburettors off", "the carburettors were off", (_FULL, _BALANCE)),
    ("cables changed", "another cable pulls", (_BALANCE,)),
    ("timing moved", "the timing was moved", (_FULL, _BALANCE)),
    ("camshaft out", "the camshafts were out", (_FULL, _BALANCE)),
    ("shim fitted", "a clearance is another", (_BALANCE,)),
    ("clearance set", "a clearance is another", (_BALANCE,)),
    ("head off", "the head was off", (_FULL, _BALANCE)),
    ("engine opened", "the engine was opened", (_FULL, _BALANCE)),
)
"""What moves mixture or balance, why, and which of the two."""

_LISTEN: tuple[tuple[str, str], ...] = (
    *((work, why) for work, why, _ in _MIXTURE),
    ("balance screw turned", "a balance screw was turned"),
    ("valve or seat work", "valve or seat were worked on"),
    ("plug changed", "another plug is in"),
    ("coil changed", "another coil is in"),
    ("leads off", "the leads were off"),
    ("points changed", "other points are in"),
    ("points gap set", "the points gap was set"),
    ("ignition opened", "rotor, trigger or advance unit was out"),
    ("rings changed", "other rings are in"),
    ("pistons changed", "another piston is in"),
    ("rebored or honed", "the cylinder was cut"),
    ("barrel changed", "another barrel"),
)
"""What moves the strength of one firing against another: breath, spark, seal of a cylinder."""

TABLE: tuple[Rule, ...] = (
    Rule("shim fitted", "valve clearance", "same place", "another shim is in"),
    Rule("clearance set", "valve clearance", "same place", "the screw was turned"),
    Rule("valve or seat work", "valve clearance", "same place", "the valve sits elsewhere now"),
    Rule("camshaft out", "valve clearance", "everywhere", "the camshafts were out"),
    Rule("head off", "valve clearance", "everywhere", "the head was off"),
    Rule("engine opened", "valve clearance", "everywhere", "the engine was opened"),
    *(Rule(work, "compression", scope, why) for work, scope, why in _COMPRESSION),
    *(
        Rule(work, name, scope, why)
        for name, rows in measured_book.REMADE_BY.items()
        for work, scope, why in rows
    ),
    *(Rule(work, name, "everywhere", why) for work, why, names in _MIXTURE for name in names),
    *(Rule(work, "firing heard even", "everywhere", why) for work, why in _LISTEN),
    # Build measurements go by their kind; what remakes a part stands beside the kinds.
    *(
        Rule(work, kind, "same cylinder", why)
        for kind, rows in fits.REMADE_BY.items()
        for work, why in rows
    ),
    # Fasteners go by the joint they hold.
    *(
        Rule(work, f"tightened {joint}", "everywhere", why)
        for work, (why, joints) in fasteners.JOINT_WORK.items()
        for joint in joints
    ),
    *(
        Rule(fasteners.LOOSENED, f"tightened {joint}", "same place", "it was loosened")
        for joint in JOINTS
    ),
    Rule(fasteners.LOOSENED, "tightened again", "same place", "it was loosened"),
    Rule(fasteners.TIGHTENED, "tightened again", "same place", "it was tightened anew"),
    Rule("head off", "tightened again", "everywhere", "the head was off"),
    Rule("engine opened", "tightened again", "everywhere", "the engine was opened"),
    *(
        Rule(work, check, "everywhere", why)
        for work, why in (
            ("carburettors off", "the carburettors were off"),
            ("cables changed", "another cable is in"),
            ("bars or cables moved", "bars or cables were moved"),
        )
        for check in controls.THROTTLE_CHECKS
    ),
    Rule("cables changed", "clutch free play", "everywhere", "another cable is in"),
    Rule("bars or cables moved", "clutch free play", "everywhere", "bars or cables were moved"),
    Rule("clutch out", "clutch free play", "everywhere", "the clutch was out"),
    Rule("carburettors off", "cold-start travel", "everywhere", "the carburettors were off"),
    Rule("cable made", "cable proof-pulled", "same place", "the cable was made anew"),
    *(Rule(work, name, scope, why) for work, why, scope, names in _MACHINE for name in names),
)
"""Every row that makes a proof void. Tasks add rows here and nowhere else."""


def rules_of(engine: EngineFile) -> tuple[Rule, ...]:
    """The table, and the rows a user gave his own checks in the engine file."""
    own = tuple(
        Rule(work, own_name(check), "same place" if check.places else "everywhere", f"{work} since")
        for check in engine.checks
        for work in check.stale_after
    )
    return TABLE + own


@dataclass(frozen=True, slots=True)
class Void:
    """A proof that later work made void: the work's entry and why."""

    entry: Entry[Work]
    why: str


def voided(
    engine: EngineFile, state: State, checks: Iterable[Check], proofs: dict[tuple[str, str], int]
) -> dict[tuple[str, str], Void]:
    """Which proofs are void, and by which entry.

    Parameters
    ----------
    engine : EngineFile
    state : State
    checks : iterable of Check
    proofs : dict
        (check name, place) to the number of the entry that proved it; no entry, no proof.

    Returns
    -------
    dict
        Only the void ones. Order is by entry number, never by the clock.
    """
    latest: dict[tuple[str, str], tuple[Entry[Work], Rule]] = {}
    rules: dict[str, list[Rule]] = {}
    for rule in rules_of(engine):
        rules.setdefault(rule.work, []).append(rule)
    wanted: dict[str, list[Check]] = {}
    for check in checks:
        if check.key in proofs:
            for name in {check.name, check.name.partition(": ")[0]}:
                wanted.setdefault(name, []).append(check)
    for entry in state.works():
        for rule in rules.get(entry.body.what, ()):
            for check in wanted.get(rule.check, ()):
                if entry.number > proofs[check.key] and _touches(engine, rule, entry, check):
                    latest[check.key] = (entry, rule)
    return {key: Void(entry, rule.why) for key, (entry, rule) in latest.items()}


def _touches(engine: EngineFile, rule: Rule, entry: Entry[Work], check: Check) -> bool:
    places = entry.body.places
    if rule.scope == "everywhere" or not places:
        return True
    if rule.scope == "same place":
        return check.place in places
    return _cylinder(check.place) in {_cylinder(place) for place in places}


def _cylinder(place: str) -> str:
    """The cylinder a place belongs to: '4' for 'in4b', 'cyl4', 'plug4'."""
    return "".join(sign for sign in place if sign.isdigit())
