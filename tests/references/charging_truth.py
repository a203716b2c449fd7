"""Charging systems stepped through time: windings with inductance, six real diodes, a battery.

Built differently from the tool's own picture of them: nothing here is a first harmonic or a share.
Every machine is a lane of arrays; all lanes step together. Windings are in star. Numbers of the
parts are invented.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

POLE_PAIRS = 6
DIODE_V = 0.75
KNEE_A = 0.15
STEP_S = 4e-6
LENGTH_S = 0.05
CAUSES = (
    "none", "regulator high", "regulator low", "diode open", "diode shorted", "winding open",
    "winding shorted", "winding to earth", "feed", "earth", "battery worn", "battery low", "rotor",
)  # fmt: skip


@dataclass
class Fleet:
    """Machines with one cause each, as arrays over the machines."""

    cause: list[str]
    volts_per_hz: np.ndarray
    emf: np.ndarray  # (3, n) share of each winding's voltage
    ohm: np.ndarray  # (3, n) each winding
    henry: np.ndarray  # (3, n)
    regulator: np.ndarray
    feed: np.ndarray
    earth: np.ndarray
    inside_v: np.ndarray
    inside_ohm: np.ndarray
    load: np.ndarray
    rest: np.ndarray
    cranking: np.ndarray
    drain: np.ndarray
    to_earth: np.ndarray
    open_diode: np.ndarray  # index of the phase, -1 without
    shorted_diode: np.ndarray
    earthed: np.ndarray


def fleet(rng: np.random.Generator, each: int, causes: tuple[str, ...] = CAUSES) -> Fleet:
    """`each` machines of every cause: three-phase magnets of about 14 A, 12 V."""
    cause = [c for c in causes for _ in range(each)]
    n = len(cause)
    is_ = {c: np.array([k == c for k in cause]) for c in CAUSES}
    tri = lambda low, mode, high: rng.triangular(low, mode, high, n)  # noqa: E731
    volts = tri(38.0, 45.0, 52.0) / 50.0
    most = tri(13.0, 15.5, 18.0)
    henry = np.tile(0.955 * volts * np.sqrt(2 / 3) / (2 * np.pi * POLE_PAIRS * most), (3, 1))
    emf = 1.0 + rng.normal(0.0, 0.006, (3, n))
    ohm = np.tile(0.5 * tri(0.32, 0.45, 0.58), (3, 1)) * (1.0 + rng.normal(0.0, 0.01, (3, n)))
    odd = rng.integers(0, 3, n)
    lane = np.arange(n)
    emf *= np.where(is_["rotor"], tri(0.25, 0.5, 0.75), 1.0)
    turns = np.where(is_["winding shorted"], tri(0.2, 0.4, 0.7), 0.0)
    emf[odd, lane] *= 1.0 - turns
    emf *= 1.0 - 0.12 * turns
    ohm[odd, lane] *= 1.0 - turns
    henry[odd, lane] *= (1.0 - turns) ** 2 + 0.02
    opened = is_["winding open"]
    emf[odd, lane] = np.where(opened, 0.0, emf[odd, lane])
    henry[odd, lane] = np.where(opened, 1e6, henry[odd, lane])
    ohm[odd, lane] = np.where(opened, 1e7, ohm[odd, lane])
    dead = is_["regulator low"] & (rng.random(n) < 0.4)
    charge = tri(0.78, 0.9, 1.0)
    charge = np.where(is_["regulator high"], tri(0.9, 0.97, 1.0), charge)
    under = ~(is_["none"] | is_["regulator high"])
    charge = np.where(under, tri(0.15, 0.5, 0.85), charge)
    charge = np.where(is_["battery low"], tri(0.05, 0.25, 0.5), charge)
    rest = 11.72 + 0.95 * charge + rng.normal(0.0, 0.03, n)
    worn = is_["battery worn"]
    rest = rest - np.where(worn & (rng.random(n) < 0.3), tri(0.4, 1.5, 2.1), 0.0)
    inner = np.where(worn, tri(0.03, 0.045, 0.07), tri(0.008, 0.013, 0.02))
    starter = tri(75.0, 95.0, 120.0)
    cranking = rest - starter * inner * (1.0 + 0.6 * (1.0 - charge)) - 0.2
    regulator = tri(14.0, 14.25, 14.5)
    regulator = np.where(is_["regulator high"], tri(15.0, 16.0, 17.5), regulator)
    regulator = np.where(is_["regulator low"], tri(12.7, 13.1, 13.5), regulator)
    regulator = np.where(dead, 0.0, regulator)
    drain = 10 ** rng.normal(-3.3, 0.3, n)
    drain = np.where(
        is_["battery low"] & (rng.random(n) < 0.75), 10 ** tri(-1.8, -1.2, -0.2), drain
    )
    return Fleet(
        cause, volts, emf, ohm, henry, regulator,
        np.where(is_["feed"], tri(0.1, 0.2, 0.4), tri(0.004, 0.008, 0.015)),
        np.where(is_["earth"], tri(0.1, 0.2, 0.4), tri(0.004, 0.008, 0.015)),
        12.5 + 0.75 * charge,
        # a full battery takes little more, so that a regulator that is too high shows
        np.where(worn, tri(0.4, 0.8, 1.8), tri(0.08, 0.14, 0.22))
        * np.where(is_["regulator high"], tri(2.0, 3.0, 4.0), 1.0),
        tri(4.5, 5.5, 6.5), rest, np.maximum(cranking, 1.0), drain,
        np.where(is_["winding to earth"], 10 ** tri(-1.0, 0.5, 2.0), 1e6),
        np.where(is_["diode open"], odd, -1), np.where(is_["diode shorted"], odd, -1),
        np.where(is_["winding to earth"], odd, -1),
    )  # fmt: skip


def run(f: Fleet, speed: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Voltage at the posts and current through the feed, settled, at a speed [Hz] for each lane."""
    n = len(f.cause)
    omega = 2.0 * np.pi * POLE_PAIRS * speed
    peak = f.volts_per_hz * speed * np.sqrt(2.0 / 3.0) * f.emf
    phase = np.array([0.0, -2.0 * np.pi / 3.0, 2.0 * np.pi / 3.0])[:, None]
    inverse = 1.0 / f.henry
    whole = inverse.sum(axis=0)
    wire = np.arange(3)[:, None]
    no_diode, bridged = wire == f.open_diode, wire == f.shorted_diode
    leak = np.where(wire == f.earthed, 1.0 / (1.0 + f.to_earth / 2.0), 0.0)
    dead = f.regulator <= 0.0
    way = f.feed + f.earth
    i = np.zeros((3, n))
    out = f.inside_v.copy()
    posts = f.inside_v.copy()
    steps = round(LENGTH_S / STEP_S)
    keep, total, through = steps // 2, np.zeros(n), np.zeros(n)
    for step in range(steps):
        e = peak * np.sin(omega * step * STEP_S + phase)
        knee = np.tanh(i / KNEE_A)
        v = 0.5 * out + (0.5 * out + DIODE_V) * knee + 0.01 * i
        up = 0.5 * i * (1.0 + knee)
        blocked = no_diode & (i > 0.0)
        v = np.where(blocked, 0.5 * out + 80.0 * i, v)
        up = np.where(blocked, 0.0, up)
        v = np.where(bridged, out + 0.02 * i, v)
        up = np.where(bridged, i, up)
        v, up = (1.0 - leak) * v + leak * 0.02 * i, (1.0 - leak) * up
        drive = e - np.minimum(f.ohm, 50.0) * i - v
        neutral = (inverse * drive).sum(axis=0) / whole
        i = i + STEP_S * inverse * (drive - neutral)
        shunt = np.where(dead, up.sum(axis=0), 40.0 * np.maximum(0.0, out - f.regulator))
        path = np.where(dead, 0.0, np.maximum(0.0, (out - posts) / np.maximum(way, 0.02)))
        path = np.where(out > posts, path, 0.0)
        out = np.clip(out + STEP_S * (up.sum(axis=0) - shunt - path) / 3e-3, 0.0, 60.0)
        over = posts - f.inside_v
        # below its rest it gives; from there to where it really takes charge, a little trickles
        trickle = np.clip(posts, None, f.inside_v) - f.rest
        into = np.where(over > 0.0, over / f.inside_ohm, 0.0)
        into = into + np.where(trickle > 0.0, trickle / 1.0, trickle / 0.04)
        posts = posts + STEP_S * (path - f.load - into) / 15e-3
        if step >= keep:
            total += posts
            through += path
    count = steps - keep
    lost = (way - np.maximum(way, 0.02)) * through / count  # the stand-in for thin resistances
    return total / count - lost, through / count


def ac_pairs(f: Fleet, speed: float) -> np.ndarray:
    """Effective volts between wires, plug apart, shape (3, n): sampled over one period."""
    t = np.linspace(0.0, 2.0 * np.pi, 360, endpoint=False)
    phase = np.array([0.0, -2.0 * np.pi / 3.0, 2.0 * np.pi / 3.0])
    waves = np.sin(t[None, :] + phase[:, None])[:, None, :] * f.emf[:, :, None]
    pairs = np.stack([waves[0] - waves[1], waves[1] - waves[2], waves[2] - waves[0]])
    rms = np.sqrt((pairs**2).mean(axis=2))
    made = f.volts_per_hz * speed * np.sqrt(2.0 / 3.0) * rms
    opened = f.henry > 1.0  # a wire that hangs in the air shows little or nothing
    for wire, (one, two) in enumerate(((0, 2), (0, 1), (1, 2))):
        for pair in (one, two):
            made[pair] = np.where(opened[wire], 0.1 * made[pair], made[pair])
    return made


def pair_ohms(f: Fleet) -> np.ndarray:
    """Resistance between wires at 20 C, shape (3, n)."""
    return np.stack([f.ohm[0] + f.ohm[1], f.ohm[1] + f.ohm[2], f.ohm[2] + f.ohm[0]])
