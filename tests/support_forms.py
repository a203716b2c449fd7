"""Sensible values for every form of the web face, by where the form goes.

A form or a field that is not told here fails the test that fills forms in: a new one is noticed.
"""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

from PIL import Image
from support_listen import engine_file
from support_walk import WebForm, path_kind

from tickover.book.store import Store
from tickover.demo import open_running_demo

EXAMPLES = Path(__file__).parents[1] / "examples"
Upload = tuple[str, bytes, str]


class UntoldError(LookupError):
    """A form or a field nobody told a value for."""


class Missing:
    """No value is told."""


def photograph() -> bytes:
    """A small picture."""
    packed = io.BytesIO()
    Image.new("RGB", (64, 48), "red").save(packed, "JPEG")
    return packed.getvalue()


def track() -> bytes:
    """A ride north, 90 s at 20 m/s; a degree of latitude is 111,132 m at 45 degrees."""
    points = "".join(
        f'<trkpt lat="{45 + n * 20 / 111_132:.7f}" lon="8"><time>2031-03-05T10:'
        f"{n // 60:02d}:{n % 60:02d}Z</time></trkpt>"
        for n in range(90)
    )
    head = '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
    return f"{head}{points}</trkseg></trk></gpx>".encode()


def log() -> bytes:
    """A minute of a lambda log with columns of its own."""
    rows = ["Zeit;U;Klappe;L", "s;1/min;%;-"]
    rows += [
        f"{k / 25:.2f};4000;{(25, 50)[k // 1500]};{0.9 + 0.04 * (k // 1500)}" for k in range(3000)
    ]
    return "\n".join(rows).encode()


ENGINE = '[engine]\nname = "Shed twin"\nlayout = "inline"\ncylinders = 2\n'
PICTURE: Upload = ("x.jpg", photograph(), "image/jpeg")
IDLE: Upload = ("i.wav", engine_file(0.4), "audio/wav")
LEFT = ""
"""A field that may stay empty and does."""
LEAVE = None
"""A field left as it stands."""
ADD_A_LINE = "\n# looked through\n"
BEHIND_PROMPT = "61.01"
"""Written behind what stands."""

FILL: dict[str, dict[str, Any]] = {
    "/theme": {},
    "/demo": {},
    "/builds": {"engine_file": ENGINE, "file": None},
    "/new": {"engine.name": "Barn twin", "engine.cylinders": "2", "engine.v_angle": LEFT},
    "/new/like": {"name": "Barn copy"},
    "/phones/code": {},
    "/builds/{build}/accept": {"reason": "measured twice, stays"},
    "/builds/{build}/loose": {"label": "drain plug finger tight"},
    "/builds/{build}/loose/close": {},
    "/builds/{build}/work": {},
    "/builds/{build}/note": {"note": "smells of fuel", "picture": PICTURE},
    "/builds/{build}/quick": {"line": "note: fuel smell gone"},
    "/builds/{build}/quick/keep": {},
    "/builds/{build}/valves/{place}": {
        "go": "0.10 mm", "no_go": "0.12 mm", "value": LEFT, "distance": "4000",
    },
    "/builds/{build}/valves/{place}/shim": {"size": "2.55"},
    "/builds/{build}/valves/all": {"go-*": "0.10 mm", "no_go-*": "0.12 mm"},
    "/builds/{build}/valves/fitted": {},
    "/builds/{build}/check": {"typed": BEHIND_PROMPT, "instrument": "feeler"},
    "/builds/{build}/check/picture": {"picture": PICTURE, "caption": "plug and washer"},
    "/builds/{build}/check/accept": {"reason": "new plug ordered"},
    "/builds/{build}/check/strike": {"reason": "misread"},
    "/builds/{build}/fit/accept": {"reason": "bench run only"},
    "/builds/{build}/fit": {},
    "/builds/{build}/loose-ends": {"label": "clip missing", "picture": PICTURE},
    "/builds/{build}/loose-ends/close": {},
    "/builds/{build}/shopping": {
        "item": "copper washer", "count": "2", "price": "0.40", "why": "sump plug",
    },
    "/builds/{build}/shopping/arrived": {"count": "1"},
    "/builds/{build}/shopping/strike": {"reason": "found one"},
    "/builds/{build}/book": {"find": "valve"},
    "/builds/{build}/book/strike": {"reason": "read on the wrong cylinder"},
    "/builds/{build}/guide": {
        "engine.name": "Invented 539 triple", "engine.cylinders": "3", "engine.v_angle": LEFT,
        "engine.notes": "written by hand", "*": LEAVE,
    },
    "/builds/{build}/guide/limits": {
        "table": "name,kind,places,from,to,unit\ntop ring,ring gap,cyl1,0.15,0.30,mm", "file": None,
    },
    "/builds/{build}/drawer": {"size": "2.55", "count": "1", "price": "8"},
    "/builds/{build}/fits": {"read-*": "61.01", "instrument": "bore gauge"},
    "/builds/{build}/fasteners": {"torque": "22"},
    "/builds/{build}/proving": {"timing": "10"},
    "/builds/{build}/controls": {"typed": "3 mm"},
    "/builds/{build}/compression": {
        "value": "9.5 bar", "altitude": "200", "cranking speed": "320", "slow speed": LEFT,
        "strokes": LEFT, "oil": LEFT, "master jet": LEFT, "supply": LEFT,
    },
    "/builds/{build}/ratio": {"value": "22"},
    "/builds/{build}/cam-timing": {"value": "40"},
    "/builds/{build}/start": {"seconds": "4", "note": "warm day"},
    "/builds/{build}/stopwatch": {"seconds": "2", "note": "second press"},
    "/builds/{build}/why": {},
    "/builds/{build}/why/looked": {},
    "/builds/{build}/why/begin": {},
    "/builds/{build}/why/strike": {"reason": "answered too soon"},
    "/builds/{build}/listen": {"about": "1100 rpm", "recording": IDLE},
    "/builds/{build}/listen/weak": {},
    "/builds/{build}/listen/delete": {"reason": "neighbour's mower in it"},
    "/builds/{build}/charging": {"value": "12.6 V at 20 C"},
    "/builds/{build}/mixture": {
        "opening": "50", "speed": "4000", "lambda": "0.92", "note": LEFT, "ready": "height 900 m",
    },
    "/builds/{build}/mixture/log": {
        "log": ("ride.csv", log(), "text/csv"),
        "time": "Zeit", "speed": "U", "opening": "Klappe", "lambda": "L", "delay": LEFT,
    },
    "/builds/{build}/mixture/change": {
        "main": "102", "clip": "4", "screw": LEFT, "pilot": LEFT, "needle": LEFT, "cutaway": LEFT,
    },
    "/builds/{build}/mixture/air": {
        "air filter changed": "open", "baffles changed": LEFT, "height changed": LEFT,
    },
    "/builds/{build}/mixture/buy": {},
    "/builds/{build}/balance": {"carb*": "30"},
    "/builds/{build}/balance/turned": {"turns": "1/4"},
    "/builds/{build}/strobe": {"speed": "3000", "degrees": "34", "radius": "50"},
    "/builds/{build}/speed": {"front": LEFT, "rear": LEFT, "sprockets": "18/46"},
    "/builds/{build}/speed/track": {
        "track": ("ride.gpx", track(), "application/gpx+xml"), "part": LEFT, "odometer": LEFT,
    },
    "/builds/{build}/speed/keep": {"shown-*": "75"},
    "/builds/{build}/speed/timed": {"shown": "80", "way": "1 km", "time": "47"},
    "/builds/{build}/speed/rolled": {"way": "9.9", "turns": "5"},
    "/builds/{build}/speed/changed": {},
    "/builds/{build}/noise": {
        "level": "93", "background": "60", "speed": "4250", "instrument": "class 2 meter",
    },
    "/builds/{build}/noise/work": {},
    "/builds/{build}/run-in": {"distance": "500", "running": "8", "distance_at_start": "12000"},
    "/builds/{build}/run-in/heat-cycle": {},
    "/builds/{build}/run-in/use": {"use_distance": "40", "use_running": "1", "use_cycles": LEFT},
    "/builds/{build}/run-in/done": {},
    "/builds/{build}/pictures": {"picture": PICTURE, "caption": "left side"},
    "/builds/{build}/pictures/strike": {"reason": "wrong machine"},
    "/builds/{build}/engine": {"engine_file": ADD_A_LINE, "file": None},
    "/builds/{build}/wiring/test": {"end_to_end": "0.2", "to_earth": "open"},
}  # fmt: skip

WIRING: dict[str, dict[str, Any]] = {
    "wiring": {
        "battery": "battery", "fuses": "fuse box", "main_fuse": "25 A", "generator_idle": "5 A",
        "generator_road": "15 A",
    },
    "branches": {
        "from": "fuse box", "to": "luggage rack", "length": "1 m", "connector": LEFT, "ways": LEFT,
    },
    "circuits": {"name": "extra", "fed_through": LEFT, "fuse": "10 A"},
    "switches": {"name": "extra switch", "at": "fuse box"},
    "earths": {"name": "extra earth", "at": "tail"},
    "loads": {
        "name": "extra lamp", "circuit": "extra", "at": "tail", "rated": "5 W", "real": LEFT,
        "feed": LEFT, "choice": LEFT, "lower": LEFT,
    },
    "starter_cables": {
        "name": "extra cable", "length": "380 mm", "size": "16", "resistance": LEFT,
    },
}  # fmt: skip
"""The forms of the loom, by the table each adds to."""

CHOSEN: dict[tuple[str, str], str] = {
    ("/builds/{build}/listen/delete", "sure"): "yes",
}
"""Choices where the first one offered will not do."""
CHOOSE_SOMETHING = {"/builds/{build}/wiring"}
"""Forms whose choices begin with "not said"."""

PRESSED: dict[str, str] = {
    "/builds/{build}/wiring/test": "typed",
    "/builds/{build}/stopwatch": "fired",
}
"""The button to press where it is not the first."""


def open_builds(store: Store) -> list[str]:
    """A demo build that runs, a new build and one with a loom; their addresses."""
    builds = [open_running_demo(store)]
    for name in ("engines/triple-240.toml", "looms/cut-down-twin.toml"):
        text = (EXAMPLES / name).read_text(encoding="utf-8")
        builds.append(store.create_build(name, text, "2031-03-01T10:00:00+00:00", "tester").id)
    return [f"/builds/{build}" for build in builds]


def told_for(form: WebForm) -> dict[str, Any]:
    """The values told for a form; fails where there are none."""
    kind = path_kind(form.action)
    if kind == "/builds/{build}/wiring":
        if form.method == "get":
            return {"lamp": "tail lamp = 3 W"}
        table = form.hidden["table"]
        if table not in WIRING:
            raise UntoldError(f"no values told for the loom's {table}")
        return WIRING[table]
    if kind not in FILL:
        raise UntoldError(f"no values told for the form {form.kind}; tell some in support_forms")
    return FILL[kind]


def filled(form: WebForm) -> tuple[dict[str, str], dict[str, Upload]]:
    """What the form sends when a person has filled it in and pressed its button."""
    told, kind = told_for(form), path_kind(form.action)
    data = dict(form.hidden)
    for name, stands in form.typed.items():
        data[name] = str(_value(told, name, form, stands))
    for name, offered in form.choices.items():
        first = form.chosen.get(name, "" if offered == ["yes"] else offered[0])
        data[name] = CHOSEN.get((kind, name), first)
        if kind in CHOOSE_SOMETHING and not data[name]:
            data[name] = next(option for option in offered if option)
    names = [button for button in form.buttons if button[0]]
    if names:
        wanted = [b for b in names if b[1] == PRESSED.get(kind)] or names
        data[wanted[0][0]] = wanted[0][1]
    files = {name: _value(told, name, form, None) for name in form.files}
    return data, {name: upload for name, upload in files.items() if upload is not None}


def _value(told: dict[str, Any], name: str, form: WebForm, stands: str | None) -> Any:
    matching = [v for key, v in told.items() if key[-1] == "*" and name.startswith(key[:-1])]
    value = told[name] if name in told else (matching or [Missing])[0]
    if value is Missing and not stands:
        raise UntoldError(f"no value told for {name!r} of {form.kind}")
    if stands and value in (ADD_A_LINE, BEHIND_PROMPT):
        return f"{stands}{value}"
    return stands if value in (Missing, LEAVE) else value
