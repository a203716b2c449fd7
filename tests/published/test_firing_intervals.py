"""Firing intervals of the usual layouts.

Common practice, no source: what anybody who times these engines by ear knows of them.
"""

import pytest

from tickover.engine import firing_intervals, parse_engine_file

EXACT_DEG = 1e-9
"""These are facts of geometry; only rounding of floats may stand between."""

USUAL = {
    "single": ('layout = "single"', (720,)),
    "parallel twin, 360-degree crank: even": (
        'layout = "inline"\ncylinders = 2\ncrank = "360 deg"', (360, 360)),
    "parallel twin, 180-degree crank: 180 and 540": (
        'layout = "inline"\ncylinders = 2\ncrank = "180 deg"', (180, 540)),
    "parallel twin, 270-degree crank: 270 and 450": (
        'layout = "inline"\ncylinders = 2\ncrank = "270 deg"', (270, 450)),
    "V-twin of 90 degrees on one pin: 270 and 450": (
        'layout = "V"\ncylinders = 2\nv_angle = "90 deg"', (270, 450)),
    "V-twin of 45 degrees on one pin: 315 and 405": (
        'layout = "V"\ncylinders = 2\nv_angle = "45 deg"', (315, 405)),
    "flat twin with opposed pins: even": ('layout = "flat"\ncylinders = 2', (360, 360)),
    "flat twin on one pin: 180 and 540": (
        'layout = "flat"\ncylinders = 2\ncrankpins = "shared"', (180, 540)),
    "triple with pins 120 degrees apart: 240s": (
        'layout = "inline"\ncylinders = 3\nfiring_order = [1, 2, 3]', (240, 240, 240)),
    "inline four, 180-degree crank: even 180s": (
        'layout = "inline"\ncylinders = 4\nfiring_order = [1, 2, 4, 3]', (180,) * 4),
    "flat four with opposed pins: even 180s": (
        'layout = "flat"\ncylinders = 4\nfiring_order = [1, 3, 2, 4]', (180,) * 4),
    "inline six: 120s": (
        'layout = "inline"\ncylinders = 6\nfiring_order = [1, 5, 3, 6, 2, 4]', (120,) * 6),
}  # fmt: skip


@pytest.mark.parametrize("engine", USUAL)
def test_usual_layouts_fire_at_their_usual_intervals(engine: str) -> None:
    keys, intervals = USUAL[engine]
    ef = parse_engine_file(f'[engine]\nname = "Invented"\n{keys}\n')
    assert firing_intervals(ef) == pytest.approx(intervals, abs=EXACT_DEG)
    assert sum(firing_intervals(ef)) == pytest.approx(720, abs=EXACT_DEG)


@pytest.mark.parametrize("angle", [45, 60, 72, 90])
def test_a_single_pin_v_twin_told_from_its_other_cylinder_has_the_gaps_exchanged(
    angle: int,
) -> None:
    head = f'[engine]\nname = "a"\nlayout = "V"\ncylinders = 2\nv_angle = {angle}\n'
    head += 'crankpins = "shared"\n'
    one = firing_intervals(parse_engine_file(head))
    other = firing_intervals(parse_engine_file(f"{head}firing_angles = [0, {360 + angle}]\n"))
    assert other == one[::-1]


def test_a_180_degree_twin_cannot_fire_evenly() -> None:
    with pytest.raises(ValueError, match="180-degree crank cannot fire"):
        parse_engine_file(
            '[engine]\nname = "a"\nlayout = "inline"\ncylinders = 2\ncrank = 180\n'
            "firing_angles = [0, 360]\n"
        )
