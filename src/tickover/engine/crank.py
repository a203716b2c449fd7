"""Cranks: where each pin stands, when each cylinder is at the top, and when it fires.

Angles are crank degrees in the direction of rotation, 0 at cylinder 1 on firing top dead centre.
A cylinder whose axis stands `bank` degrees on from that of cylinder 1, with its pin `pin` degrees
ahead of pin 1, is at the top when the crank has turned ``bank - pin`` (modulo 360); it fires at
one of the two tops of each cycle.

         cylinder 2
          \\     | cylinder 1         A shared pin meets cylinder 1 at 0. Cylinder 2 stands
           \\ V  |                    V degrees back, so the pin meets it at 360 - V: a V-twin
            \\   |   --> turns        of 90 degrees fires at 0 and 270, of 45 at 0 and 315.
             \\  |
              (pin)
"""

from __future__ import annotations

from dataclasses import dataclass

from tickover.errors import InputError

TURN = 360.0
CYCLE = 720.0
_SAME_DEG = 0.5
"""Two crank angles nearer than this are the same: what a degree wheel can be read to."""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """What of an engine fixes its crank: everything but the firing angles.

    v_angle_deg, pin_offset_deg and twin_crank_deg are None where they are left out; a pin offset
    of 0 means that opposite cylinders share a pin.
    """

    layout: str
    cylinders: int
    banks: tuple[tuple[int, ...], ...]
    v_angle_deg: float | None = None
    pin_offset_deg: float | None = None
    twin_crank_deg: float | None = None

    @property
    def bank_angle_deg(self) -> float | None:
        """Angle between the banks [crank degrees]; 180 for a flat engine, 0 for one bank."""
        if self.layout == "flat":
            return 180.0
        return self.v_angle_deg if self.layout == "V" else 0.0

    @property
    def assumed_offset_deg(self) -> float:
        """The pin offset when nothing is said: opposed pins if flat, one shared pin if V."""
        if self.pin_offset_deg is not None:
            return self.pin_offset_deg
        return 180.0 if self.layout == "flat" else 0.0


@dataclass(frozen=True, slots=True)
class Crank:
    """A crank worked out; each tuple runs from cylinder 1 up.

    bank_deg: axis of the cylinder, on from that of cylinder 1 [crank degrees, 0..360].
    pin_deg: crankpin ahead of pin 1 [crank degrees, 0..360].
    tdc_deg: crank angle at the top, one turn [crank degrees, 0..360].
    firing_deg: crank angle at firing top dead centre [crank degrees, 0..720].
    """

    bank_deg: tuple[float, ...]
    pin_deg: tuple[float, ...]
    tdc_deg: tuple[float, ...]
    firing_deg: tuple[float, ...]


def default_banks(layout: str, cylinders: int) -> tuple[tuple[int, ...], ...]:
    """The cylinders of each bank when the file does not say: odd on one side, even on the other.

    Examples
    --------
    >>> default_banks("flat", 4)
    ((1, 3), (2, 4))
    >>> default_banks("inline", 3)
    ((1, 2, 3),)
    """
    numbers = range(1, cylinders + 1)
    if layout in ("V", "flat") and cylinders > 1:
        return tuple(n for n in numbers if n % 2), tuple(n for n in numbers if n % 2 == 0)
    return (tuple(numbers),)


def turned(angle: float, full: float = TURN) -> float:
    """An angle brought into 0..full, with rounding noise at either end taken to 0.

    Examples
    --------
    >>> turned(-90.0)
    270.0
    """
    reduced = round(angle % full, 9)
    return 0.0 if reduced >= full else reduced + 0.0


def same_angle(first: float, second: float) -> bool:
    """Whether two crank angles are the same within one turn, as near as a degree wheel shows."""
    apart = (first - second) % TURN
    return min(apart, TURN - apart) < _SAME_DEG


def default_firing_angles(
    arrangement: Arrangement, firing_order: tuple[int, ...]
) -> tuple[float, ...]:
    """Firing angles along the firing order when the file leaves them out.

    Parameters
    ----------
    arrangement : Arrangement
    firing_order : tuple of int
        Empty if unknown.

    Returns
    -------
    tuple of float
        [crank degrees, 0..720]; evenly spaced where the crank allows it, what the crank gives for
        twins, and empty where it cannot be known.

    Examples
    --------
    >>> default_firing_angles(Arrangement("inline", 3, ((1, 2, 3),)), (1, 3, 2))
    (0.0, 240.0, 480.0)
    >>> default_firing_angles(Arrangement("V", 2, ((1,), (2,)), v_angle_deg=45.0), (1, 2))
    (0.0, 315.0)
    """
    n = arrangement.cylinders
    if n == 1:
        return (0.0,)
    if not firing_order:
        return ()
    if n == 2:
        second = _second_cylinder_top(arrangement)
        if second is None:
            return ()
        return (0.0, second if second > 0 else TURN)
    even = tuple(CYCLE * i / n for i in range(n))
    try:
        work_out(arrangement, firing_order, even, strict=True)
    except InputError:
        return ()
    return even


def _second_cylinder_top(arrangement: Arrangement) -> float | None:
    if arrangement.layout == "inline":
        return turned(arrangement.twin_crank_deg or 0.0)
    bank = arrangement.bank_angle_deg
    return None if bank is None else turned(-(bank + arrangement.assumed_offset_deg))


def work_out(
    arrangement: Arrangement,
    firing_order: tuple[int, ...],
    firing_angles: tuple[float, ...],
    strict: bool = False,
) -> Crank:
    """The crank that gives these firing angles, or why there is none.

    Parameters
    ----------
    arrangement : Arrangement
    firing_order : tuple of int
        Cylinder numbers, beginning with 1.
    firing_angles : tuple of float
        Along the firing order, beginning with 0 [crank degrees, 0..720].
    strict : bool
        Hold a V engine to shared pins even if the file does not speak of its pins.

    Returns
    -------
    Crank

    Raises
    ------
    InputError
        If the crank described cannot fire at these angles.

    Examples
    --------
    >>> twin = Arrangement("inline", 2, ((1, 2),), twin_crank_deg=180.0)
    >>> work_out(twin, (1, 2), (0.0, 180.0)).pin_deg
    (0.0, 180.0)
    """
    firing = [0.0] * arrangement.cylinders
    for cylinder, angle in zip(firing_order, firing_angles, strict=True):
        firing[cylinder - 1] = angle
    tops = tuple(turned(angle) for angle in firing)
    bank = _bank_angle_with_sign(arrangement, tops, strict)
    second_bank = arrangement.banks[1] if len(arrangement.banks) > 1 else ()
    if 1 in second_bank:
        second_bank = arrangement.banks[0]
    axes = tuple(turned(bank) if n + 1 in second_bank else 0.0 for n in range(len(tops)))
    pins = tuple(turned(axis - top) for axis, top in zip(axes, tops, strict=True))
    return Crank(axes, pins, tops, tuple(firing))


def _bank_angle_with_sign(arrangement: Arrangement, tops: tuple[float, ...], strict: bool) -> float:
    """Check the pins, and find on which side of the first bank the second one stands."""
    if arrangement.layout == "inline":
        _check_parallel_twin(arrangement, tops)
        return 0.0
    if len(arrangement.banks) < 2:
        return 0.0
    bank = arrangement.bank_angle_deg
    if bank is None:
        return 0.0
    first, second = arrangement.banks if 1 in arrangement.banks[0] else arrangement.banks[::-1]
    first_pins = [-tops[n - 1] for n in first]
    if arrangement.layout == "flat" and arrangement.pin_offset_deg is None:
        # A flat twin on a single pin is a V-twin of 180 degrees: built, so taken if it fits.
        offsets = (180.0, 0.0) if arrangement.cylinders == 2 and not strict else (180.0,)
    else:
        offsets = (arrangement.assumed_offset_deg,)
    for sign in (-1.0, 1.0):
        second_pins = [sign * bank - tops[n - 1] for n in second]
        for offset in offsets:
            for turned_pins in ([p + offset for p in first_pins], [p - offset for p in first_pins]):
                if len(first) == len(second) and _same_set(turned_pins, second_pins):
                    return sign * bank
    said = arrangement.pin_offset_deg is not None or arrangement.layout == "flat"
    if (said or strict) and len(first) == len(second):
        raise InputError(
            "This crank cannot fire at these angles",
            given=_shown(tops),
            allowed=_banked_possibilities(arrangement, bank),
        )
    return -bank if _smaller_offset(first_pins, second, tops, bank) else bank


def _smaller_offset(
    first_pins: list[float], second: tuple[int, ...], tops: tuple[float, ...], bank: float
) -> bool:
    def offset(sign: float) -> float:
        apart = (sign * bank - tops[second[0] - 1] - first_pins[0]) % TURN
        return min(apart, TURN - apart)

    return offset(-1.0) <= offset(1.0)


def _check_parallel_twin(arrangement: Arrangement, tops: tuple[float, ...]) -> None:
    crank = arrangement.twin_crank_deg
    if crank is None or len(tops) != 2:
        return
    if same_angle(tops[1], crank) or same_angle(tops[1], -crank):
        return
    one = turned(crank)
    either = sorted({one, turned(-one), one + TURN, turned(-one) + TURN} - {0.0})
    raise InputError(
        f"A {crank:g}-degree crank cannot fire at these angles",
        given=_shown(tops),
        allowed="the second cylinder at " + " or ".join(f"{angle:g}" for angle in either),
    )


def _banked_possibilities(arrangement: Arrangement, bank: float) -> str:
    offset = arrangement.assumed_offset_deg
    if arrangement.cylinders == 2:
        tops = {turned(s * bank + t * offset) for s in (-1, 1) for t in (-1, 1)}
        if arrangement.layout == "flat" and arrangement.pin_offset_deg is None:
            tops.add(180.0)
        both = sorted((tops | {top + TURN for top in tops}) - {0.0})
        return "the second cylinder at " + " or ".join(f"{angle:g}" for angle in both)
    if arrangement.layout == "flat" and offset == 180.0:
        return (
            "in a flat engine with opposed pins, cylinders reach the top in pairs, one from each "
            "bank; if the banks are others, say so, as in banks = [[1, 2], [3, 4]]"
        )
    pins = "shared pins" if offset == 0 else f"pins {offset:g} degrees apart"
    return f"angles that {pins} and {bank:g} degrees between the banks can give"


def _same_set(first: list[float], second: list[float]) -> bool:
    left = list(second)
    for angle in first:
        match = next((other for other in left if same_angle(angle, other)), None)
        if match is None:
            return False
        left.remove(match)
    return not left


def _shown(tops: tuple[float, ...]) -> str:
    return "tops at " + ", ".join(f"{top:g}" for top in tops)
