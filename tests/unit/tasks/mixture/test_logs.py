"""Sensor logs: columns, commas, gaps, delay, warm-up, misfire, steady stretches."""

from __future__ import annotations

import numpy as np
import pytest

from tickover.errors import FileError, InputError
from tickover.tasks.mixture.logclean import clean, readings_of
from tickover.tasks.mixture.logfile import Log, read_log

RATE = 50.0


def ride(seconds=600.0, delay=0.30, seed=0, noise=0.008):
    """Held throttle marks with quick changes between, and a sensor that lags."""
    rng = np.random.default_rng(seed)
    n = int(seconds * RATE)
    time = np.arange(n) / RATE
    opening, speed = np.zeros(n), np.zeros(n)
    i, now = 0, 0.1
    while i < n:
        hold = int(rng.uniform(2.0, 5.0) * RATE)
        ramp = int(rng.uniform(0.2, 0.6) * RATE)
        goal = rng.choice([0.05, 0.13, 0.25, 0.37, 0.5, 0.75, 1.0])
        opening[i : i + ramp] = np.linspace(now, goal, ramp)[: max(min(ramp, n - i), 0)]
        opening[i + ramp : i + ramp + hold] = goal
        now = goal
        i += ramp + hold
    speed = 1800.0 + 6500.0 * np.sqrt(opening)
    smooth = np.ones(15) / 15
    speed = np.convolve(speed, smooth, mode="same")
    truth = 0.97 - 0.10 * opening
    lag = round(delay * RATE)
    lam = np.concatenate([np.full(lag, truth[0]), truth[: n - lag]])
    lam = lam + noise * rng.standard_normal(n)
    return time, speed, opening, lam, truth


def log_of(time, speed, opening, lam):
    return Log(time, speed, opening, lam, 0)


def csv_of(time, speed, opening, lam, sep=",", comma=False, unit_row=True):
    rows = [sep.join(["Time (s)", "RPM", "TPS", "Lambda"])]
    if unit_row:
        rows.append(sep.join(["s", "1/min", "%", "-"]))
    for a, b, c, d in zip(time, speed, opening, lam, strict=True):
        cells = [f"{a:.3f}", f"{b:.1f}", f"{100 * c:.2f}", "" if np.isnan(d) else f"{d:.4f}"]
        rows.append(sep.join(x.replace(".", ",") if comma else x for x in cells))
    return ("\n".join(rows) + "\n").encode()


@pytest.mark.parametrize(("sep", "comma"), [(",", False), (";", True), ("\t", True), (";", False)])
def test_points_and_commas_come_to_the_same(sep, comma):
    time, speed, opening, lam, _ = ride(60.0)
    found = read_log(csv_of(time, speed, opening, lam, sep, comma), "log.csv")
    assert found.rows_skipped == 1  # the unit row
    assert np.allclose(found.time, time, atol=6e-4)
    assert np.allclose(found.speed_rpm, speed, atol=0.06)
    assert np.allclose(found.opening, opening, atol=6e-5)
    assert np.allclose(found.lam, lam, atol=6e-5)


def test_empty_cells_are_gaps_and_text_lines_are_counted():
    time, speed, opening, lam, _ = ride(30.0)
    lam = lam.copy()
    lam[100:110] = np.nan
    raw = csv_of(time, speed, opening, lam).replace(b"\n5.000,", b"\nmark;lap 2\n5.000,")
    found = read_log(raw, "log.csv")
    assert np.isnan(found.lam[100:110]).all()
    assert np.isfinite(found.lam[:100]).all()
    assert found.rows_skipped == 2
    assert found.time.size == time.size


def test_numbers_as_any_float_reader_reads_them():
    text = b"time,speed,opening,lambda\n" + b"".join(
        f"{k},{v},0.5,0.9\n".encode()
        for k, v in enumerate(["1e3", "1.25E+3", "-5", "+7.5", ".5", "12.", "0003", "1e-2"] * 2)
    )
    found = read_log(text, "x")
    expected = [float(v) for v in ("1e3", "1.25E+3", "-5", "+7.5", ".5", "12.", "0003", "1e-2")]
    assert np.allclose(found.speed_rpm[:8], expected, rtol=1e-15)


def test_columns_are_found_by_the_names_the_user_gives():
    raw = b"zeit;drehzahl;griff;sonde\n" + b"\n".join(
        f"{k / 50:.2f};{3000 + k};0,5;{0.9 + 0.001 * (k % 7):.3f}".replace(".", ",").encode()
        for k in range(50)
    )
    with pytest.raises(FileError, match="no column for time"):
        read_log(raw, "log")
    names = {"time": "Zeit", "speed": "Drehzahl", "opening": "Griff", "lambda": "Sonde"}
    assert read_log(raw, "log", names).speed_rpm[5] == 3005.0


@pytest.mark.parametrize(
    "header",
    [
        "t;n;thr;l",
        "s;n;TPS;o2",
        "t;n;TPS;AFR",
        "T;N;TPS;\u03bb",
        "l;thr;n;t",
        "run 7;2 Nov;a;b\nt;n;thr;l",
    ],
)
def test_short_names_are_names_too(header):
    time, speed, opening, lam, _ = ride(20.0)
    rows = csv_of(time, speed, opening, lam, ";", unit_row=False).split(b"\n")[1:]
    if header.startswith("l;"):
        rows = [b";".join(reversed(row.split(b";"))) for row in rows]
    found = read_log(header.encode() + b"\n" + b"\n".join(rows), "log")
    assert np.allclose(found.speed_rpm, speed, atol=0.06)
    assert np.allclose(found.lam, lam, atol=6e-5)


def test_short_names_nobody_knows_are_asked_for_and_not_guessed():
    time, speed, opening, lam, _ = ride(20.0)
    raw = csv_of(time, speed, opening, lam, ";").replace(b"Time (s);RPM;TPS;Lambda", b"a;b;c;d")
    with pytest.raises(FileError, match=r"no column for time.*time=a"):
        read_log(raw, "log")
    names = {"time": "A", "speed": "b", "opening": "c", "lambda": "d"}
    assert np.allclose(read_log(raw, "log", names).lam, lam, atol=6e-5)


@pytest.mark.parametrize("header", ["t;AFR", "s,l"])
def test_two_columns_say_what_else_has_to_be_logged(header):
    sep = "," if "," in header else ";"
    rows = "\n".join(f"{k / 50:.2f}{sep}0.{850 + k % 40}" for k in range(60))
    with pytest.raises(FileError, match=r"fewer than four columns.*opening and the speed"):
        read_log(f"{header}\n{rows}\n".encode(), "log")


def test_a_column_of_another_kind_is_not_taken_for_speed_or_mixture():
    time, speed, opening, lam, _ = ride(20.0)
    with pytest.raises(FileError, match=r"no engine speed.*speed=RPM"):
        read_log(csv_of(time, speed / 70.0, opening, lam), "km/h under speed")
    with pytest.raises(FileError, match=r"no mixture.*volts"):
        read_log(csv_of(time, speed, opening, lam - 0.55), "volts")
    spiky = speed.copy()
    spiky[50] = 65535.0
    assert read_log(csv_of(time, spiky, opening, lam), "one spike").time.size == time.size


def test_air_fuel_ratios_are_turned_into_lambda_by_the_meter_s_scale():
    time, speed, opening, lam, _ = ride(30.0)
    found = read_log(csv_of(time, speed, opening, lam * 14.7), "x", stoichiometric_ratio=14.7)
    assert np.allclose(found.lam, lam, atol=1e-5)


def test_openings_over_full_are_refused():
    time, speed, opening, lam, _ = ride(30.0)
    with pytest.raises(FileError, match="opened further than full"):
        read_log(csv_of(time, speed, opening * 1.3 + 0.1, lam), "x")


def test_a_file_without_header_or_numbers_is_refused():
    with pytest.raises(FileError, match="no header"):
        read_log(b"1,2,3,4\n5,6,7,8\n", "x")
    with pytest.raises(FileError, match="no rows of numbers"):
        read_log(b"time,speed,opening,lambda\na,b,c,d\n", "x")


@pytest.mark.parametrize("delay", [0.0, 0.12, 0.30, 0.84])
def test_the_sensor_s_delay_is_found_to_a_twentieth_of_a_second(delay):
    time, speed, opening, lam, _ = ride(delay=delay)
    found = clean(log_of(time, speed, opening, lam))
    assert found.delay_found
    assert found.delay == pytest.approx(delay, abs=0.06)


def test_a_given_delay_is_taken_as_given():
    time, speed, opening, lam, _ = ride(delay=0.30)
    found = clean(log_of(time, speed, opening, lam), delay=0.30)
    assert not found.delay_found
    assert found.delay == pytest.approx(0.30)


def test_cells_hold_the_mixture_that_was_there_with_an_honest_spread():
    time, speed, opening, lam, _ = ride(delay=0.30)
    cells = clean(log_of(time, speed, opening, lam)).cells
    assert len(cells) >= 7
    for cell in cells:
        assert cell.lam == pytest.approx(0.97 - 0.10 * cell.opening, abs=0.012)
        assert 0.01 <= cell.spread < 0.03


def test_a_cold_sensor_at_the_start_is_left_out():
    time, speed, opening, lam, _ = ride()
    lam = lam.copy()
    lam[: int(25 * RATE)] = 1.50
    found = clean(log_of(time, speed, opening, lam))
    warm = [s for s in found.left_out if "warming" in s.why]
    assert warm
    assert warm[0].end == pytest.approx(25.0, abs=2.5)
    assert all(abs(c.lam - (0.97 - 0.1 * c.opening)) < 0.015 for c in found.cells)


def test_a_misfire_is_found_and_does_not_lean_the_cells():
    time, speed, opening, lam, _truth = ride()
    lam = lam.copy()
    rng = np.random.default_rng(9)
    bad = slice(int(200 * RATE), int(230 * RATE))
    lam[bad] += 0.25 * rng.integers(0, 2, lam[bad].size)
    found = clean(log_of(time, speed, opening, lam))
    misfires = [s for s in found.left_out if "misfire" in s.why]
    covered = sum(min(s.end, 230) - max(s.start, 200) for s in misfires if s.start < 230)
    assert covered > 12.0  # of the steady part of 30 s
    assert all(s.end > 199 and s.start < 231 for s in misfires)
    assert all(abs(c.lam - (0.97 - 0.1 * c.opening)) < 0.015 for c in found.cells)


def test_gaps_are_told_and_nothing_is_steady_across_one():
    time, speed, opening, lam, _ = ride()
    keep = (time < 100.0) | (time > 130.0)
    found = clean(log_of(time[keep], speed[keep], opening[keep], lam[keep]))
    gaps = [s for s in found.left_out if "gap" in s.why]
    assert [(round(s.start), round(s.end)) for s in gaps] == [(100, 130)]


def test_a_stuck_sensor_and_a_restless_hand_are_refused():
    time, speed, opening, lam, _ = ride(60.0)
    with pytest.raises(InputError, match="never moves"):
        clean(log_of(time, speed, opening, np.full(lam.size, 0.87)))
    wobble = 0.5 + 0.4 * np.sin(2 * np.pi * 1.5 * time)
    with pytest.raises(InputError, match="No steady stretch"):
        clean(log_of(time, speed, wobble, lam))


def test_cells_become_readings():
    time, speed, opening, lam, _ = ride()
    cells = clean(log_of(time, speed, opening, lam))
    readings = readings_of(cells, "ride.csv")
    assert len(readings) == len(cells.cells)
    assert {r.where for r in readings} == {"ride.csv"}
