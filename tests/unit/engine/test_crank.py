"""Cranks: pins, tops and firing agree with one another, and with a piston followed all round."""

import math

import pytest

from tickover.engine.crank import (
    Arrangement,
    Crank,
    default_banks,
    default_firing_angles,
    same_angle,
    turned,
    work_out,
)
from tickover.errors import InputError


def arrangement(
    layout: str,
    cylinders: int,
    banks: tuple[tuple[int, ...], ...] | None = None,
    v: float | None = None,
    offset: float | None = None,
    crank: float | None = None,
) -> Arrangement:
    banks = banks or default_banks(layout, cylinders)
    return Arrangement(layout, cylinders, banks, v, offset, crank)


def top_by_following_the_piston(crank: Crank, cylinder: int) -> float:
    """Crank angle of the highest point, by stepping a slider-crank round one turn."""
    axis = math.radians(crank.bank_deg[cylinder - 1])
    best, at = -math.inf, 0.0
    for tenth in range(3600):
        pin = math.radians(tenth / 10 + crank.pin_deg[cylinder - 1])
        along, across = math.cos(pin - axis), math.sin(pin - axis)
        height = along + math.sqrt(3.5**2 - across**2)
        if height > best:
            best, at = height, tenth / 10
    return at


EVERY_KIND = [
    (arrangement("single", 1), (1,), (0.0,)),
    (arrangement("inline", 2, crank=360), (1, 2), (0.0, 360.0)),
    (arrangement("inline", 2, crank=180), (1, 2), (0.0, 180.0)),
    (arrangement("inline", 2, crank=270), (1, 2), (0.0, 270.0)),
    (arrangement("inline", 2, crank=270), (1, 2), (0.0, 450.0)),
    (arrangement("V", 2, v=47), (1, 2), (0.0, 313.0)),
    (arrangement("V", 2, v=47, offset=0), (1, 2), (0.0, 407.0)),
    (arrangement("V", 2, v=50, offset=80), (1, 2), (0.0, 230.0)),
    (arrangement("V", 4, v=90, offset=0), (1, 3, 2, 4), (0.0, 180.0, 450.0, 630.0)),
    (arrangement("inline", 3), (1, 3, 2), (0.0, 240.0, 480.0)),
    (arrangement("flat", 2), (1, 2), (0.0, 360.0)),
    (arrangement("flat", 4), (1, 3, 2, 4), (0.0, 180.0, 360.0, 540.0)),
    (arrangement("inline", 4), (1, 2, 4, 3), (0.0, 180.0, 360.0, 540.0)),
    (arrangement("inline", 4), (1, 3, 2, 4), (0.0, 270.0, 450.0, 540.0)),
    (arrangement("inline", 6), (1, 5, 3, 6, 2, 4), tuple(120.0 * i for i in range(6))),
]


@pytest.mark.parametrize(("engine", "order", "angles"), EVERY_KIND)
def test_a_piston_followed_round_is_highest_where_its_cylinder_fires(
    engine: Arrangement, order: tuple[int, ...], angles: tuple[float, ...]
) -> None:
    crank = work_out(engine, order, angles)
    for cylinder, angle in zip(order, angles, strict=True):
        assert crank.firing_deg[cylinder - 1] == angle
        found = top_by_following_the_piston(crank, cylinder)
        assert same_angle(found, angle)
        assert same_angle(crank.tdc_deg[cylinder - 1], angle)


@pytest.mark.parametrize(
    ("engine", "pins"),
    [
        (arrangement("V", 2, v=47), (0.0, 0.0)),
        (arrangement("V", 2, v=90, offset=0), (0.0, 0.0)),
        (arrangement("flat", 2), (0.0, 180.0)),
        (arrangement("flat", 2, offset=0), (0.0, 0.0)),
        (arrangement("inline", 2, crank=180), (0.0, 180.0)),
        (arrangement("inline", 2), (0.0, 0.0)),
    ],
)
def test_left_out_firing_angles_give_the_pins_described(
    engine: Arrangement, pins: tuple[float, ...]
) -> None:
    angles = default_firing_angles(engine, (1, 2))
    assert work_out(engine, (1, 2), angles).pin_deg == pins


def test_offset_pins_stand_as_far_apart_as_said() -> None:
    engine = arrangement("V", 2, v=50, offset=80)
    crank = work_out(engine, (1, 2), default_firing_angles(engine, (1, 2)))
    apart = abs(crank.pin_deg[1] - crank.pin_deg[0])
    assert min(apart, 360 - apart) == pytest.approx(80)


def test_left_out_angles_of_a_v_twin_with_offset_pins_put_the_short_gap_first() -> None:
    # 360 less 50 less 80, worked by hand.
    engine = arrangement("V", 2, v=50, offset=80)
    assert default_firing_angles(engine, (1, 2)) == (0.0, 230.0)


def test_pins_nobody_spoke_of_follow_from_the_angles_the_nearer_way() -> None:
    # Either 76 degrees apart with bank 2 behind, or 180 with bank 2 ahead: the nearer one.
    crank = work_out(arrangement("V", 2, v=52), (1, 2), (0.0, 232.0))
    assert crank.pin_deg == (0.0, 76.0)
    assert crank.bank_deg == (0.0, 308.0)


@pytest.mark.parametrize(
    ("engine", "order", "angles", "allowed"),
    [
        (arrangement("inline", 2, crank=180), (1, 2), (0.0, 360.0), "180 or 540"),
        (arrangement("inline", 2, crank=360), (1, 2), (0.0, 180.0), "360"),
        (arrangement("inline", 2, crank=270), (1, 2), (0.0, 180.0), "90 or 270 or 450 or 630"),
        (arrangement("V", 2, v=45, offset=0), (1, 2), (0.0, 360.0), "45 or 315 or 405 or 675"),
        (arrangement("V", 2, v=50, offset=80), (1, 2), (0.0, 310.0), "230"),
        (arrangement("flat", 2), (1, 2), (0.0, 270.0), "360"),
        (arrangement("flat", 2, offset=180), (1, 2), (0.0, 180.0), "360"),
        (arrangement("flat", 4), (1, 4, 3, 2), (0.0, 180.0, 360.0, 540.0), "pairs"),
        (arrangement("V", 4, v=90, offset=0), (1, 3, 2, 4), (0.0, 180.0, 360.0, 540.0), "shared"),
    ],
)
def test_angles_the_crank_cannot_give_are_refused_with_those_it_can(
    engine: Arrangement, order: tuple[int, ...], angles: tuple[float, ...], allowed: str
) -> None:
    with pytest.raises(InputError) as caught:
        work_out(engine, order, angles)
    assert "cannot fire" in caught.value.problem
    assert allowed in caught.value.allowed


def test_every_angle_offered_for_a_twin_is_taken() -> None:
    engine = arrangement("V", 2, v=50, offset=80)
    with pytest.raises(InputError) as caught:
        work_out(engine, (1, 2), (0.0, 310.0))
    offered = caught.value.allowed.removeprefix("the second cylinder at ").split(" or ")
    assert len(offered) == 8
    for angle in offered:
        assert work_out(engine, (1, 2), (0.0, float(angle))).firing_deg == (0.0, float(angle))


def test_the_same_flat_four_is_taken_once_its_banks_are_said() -> None:
    engine = arrangement("flat", 4, banks=((1, 2), (3, 4)))
    assert work_out(engine, (1, 4, 3, 2), (0.0, 180.0, 360.0, 540.0)).pin_deg[0] == 0.0


@pytest.mark.parametrize(
    ("engine", "order"),
    [
        (arrangement("V", 2), (1, 2)),
        (arrangement("V", 4, v=90), (1, 3, 2, 4)),
        (arrangement("flat", 4), (1, 4, 3, 2)),
        (arrangement("inline", 4), ()),
    ],
)
def test_what_cannot_be_known_is_not_guessed(engine: Arrangement, order: tuple[int, ...]) -> None:
    assert default_firing_angles(engine, order) == ()


def test_bank_one_need_not_hold_cylinder_one() -> None:
    engine = arrangement("V", 2, banks=((2,), (1,)), v=47)
    crank = work_out(engine, (1, 2), (0.0, 313.0))
    assert crank.bank_deg == (0.0, 313.0)
    assert crank.pin_deg == (0.0, 0.0)


@pytest.mark.parametrize(
    ("angle", "full", "same"), [(725.0, 720, 5), (-1e-12, 360, 0), (360, 360, 0)]
)
def test_turned_brings_angles_into_one_turn(angle: float, full: float, same: float) -> None:
    assert turned(angle, full) == same
