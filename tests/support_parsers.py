"""Every parser that reads what somebody else wrote, with a good sample of its food.

Both the property tests and the long fuzzing of `bench/fuzz.py` go through this table: what a
parser is given is read, or refused with an InputError of ours; anything else is a fault.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from support_build import book

from tickover.book.archive import Archive
from tickover.book.bodies import LooseEndOpened
from tickover.book.csvfile import read_table
from tickover.book.entries import Note
from tickover.book.exchange import export_build, import_build
from tickover.book.state import LooseEnd
from tickover.book.store import Store
from tickover.engine import EngineFile, load_engine_file, parse_engine_file
from tickover.engine.loading import decode_engine_file
from tickover.errors import InputError
from tickover.physics.tracklog import read_log as read_track
from tickover.quantities import parse, parse_number, parse_range
from tickover.tasks.charging.tables import state_from_csv
from tickover.tasks.compression.tables import readings_from_csv as compression_readings
from tickover.tasks.listen.reading import read_bytes
from tickover.tasks.mixture.logfile import read_log as read_mixture_log
from tickover.tasks.mixture.tables import readings_from_csv as mixture_readings
from tickover.tasks.quickline import EXAMPLES, understand_line

EXAMPLES_FOLDER = Path(__file__).parents[1] / "examples" / "engines"


@dataclass(frozen=True)
class Parser:
    """A parser: how to feed it bytes, and samples it reads."""

    feed: Callable[[bytes], object]
    samples: Callable[[], tuple[bytes, ...]]


@cache
def _engine() -> EngineFile:
    return load_engine_file(EXAMPLES_FOLDER / "inline-four.toml")


@cache
def _open_ends() -> tuple[LooseEnd, ...]:
    return book(_engine(), LooseEndOpened("oil line off")).open_loose_ends


def _charged() -> EngineFile:
    return parse_engine_file(
        '[engine]\nname = "a"\nlayout = "single"\n[battery]\n[charging]\n', "e.toml"
    )


def _text(data: bytes) -> str:
    return data.decode("utf-8", "replace")


def _zip(data: bytes) -> None:
    with Archive(data) as archive:
        archive.blobs()
    with Store.open(_book()) as store:
        import_build(store, data, existing="copy")


@cache
def _book() -> Path:
    import tempfile

    return Path(tempfile.mkdtemp(prefix="fuzz-")) / "book.sqlite"


@cache
def _export() -> bytes:
    with Store.open(_book()) as store:
        build = store.create_build("x", "", "2031-01-01T00:00:00Z", "t").id
        store.append(build, Note("a"), at="2031-01-01T00:00:00Z", by="t")
        out = io.BytesIO()
        export_build(store, build, out)
    stored = io.BytesIO()  # unpacked, so that a flipped byte reaches what lies inside
    with zipfile.ZipFile(out) as packed, zipfile.ZipFile(stored, "w") as plain:
        for name in packed.namelist():
            plain.writestr(name, packed.read(name))
    return stored.getvalue()


@cache
def _sounds() -> tuple[bytes, ...]:
    import soundfile

    found = []
    for kind in ("WAV", "FLAC", "OGG"):
        out = io.BytesIO()
        soundfile.write(out, np.sin(np.arange(2000) / 7).astype(np.float32), 8000, format=kind)
        found.append(out.getvalue())
    return tuple(found)


def _mixture_log() -> bytes:
    rows = (f"{n / 50},{3000 + n % 7},{20 + n % 3},{0.9 + n % 5 / 100}" for n in range(60))
    return ("time,speed,opening,lambda\ns,rpm,%,-\n" + "\n".join(rows) + "\n").encode()


GPX = b"""<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">
<trk><trkseg><trkpt lat="48.1" lon="11.5"><time>2031-04-05T10:00:00Z</time></trkpt>
<trkpt lat="48.1001" lon="11.5002"><time>2031-04-05T10:00:01.5Z</time></trkpt></trkseg></trk></gpx>
"""


def _sentence(words: str) -> bytes:
    total = 0
    for sign in words.encode():
        total ^= sign
    return f"${words}*{total:02X}\r\n".encode()


NMEA = b"".join(
    _sentence(f"GPRMC,1235{n:02d},A,4807.{38 + n:03d},N,01131.000,E,022.4,084.4,230394,003.1,W")
    for n in range(4)
)

PARSERS: dict[str, Parser] = {
    "engine file": Parser(
        lambda data: parse_engine_file(decode_engine_file(data, "e.toml"), "e.toml"),
        lambda: ((EXAMPLES_FOLDER / "inline-four.toml").read_bytes(),),
    ),
    "quick line": Parser(
        lambda data: understand_line(_engine(), _text(data), open_ends=_open_ends()),
        lambda: tuple(line.encode() for line in EXAMPLES if line[:3] not in ("fit", "tor", "wir")),
    ),
    "quantity": Parser(
        lambda data: [parse(_text(data), kind) for kind in ("length", "pressure", "speed")],
        lambda: (b"5 thou", b"1,5 mm", b"9.81 kg*m/s2", b"3/64 in", b"14.7 psi", b"60 mph"),
    ),
    "number": Parser(
        lambda data: parse_number(_text(data)), lambda: (b"0,15", b"1 3/4", b"-2.5e3")
    ),
    "range": Parser(
        lambda data: parse_range(_text(data), "length"), lambda: (b"4-6 thou", b"2.5 +/- 0.02 mm")
    ),
    "table": Parser(
        lambda data: read_table(data, "t.csv", ("place", "value", "unit"), ("place",)),
        lambda: (b"place;value;unit\nin1;0,13;mm\n", b'"place","value"\r\n"a, b",2\r\n'),
    ),
    "compression readings": Parser(
        lambda data: compression_readings(data, "c.csv", 4),
        lambda: (b"place,kind,value,unit,note\ncyl1,dry,150,psi,\ntest,altitude,600,m,\n",),
    ),
    "mixture readings": Parser(
        lambda data: mixture_readings(data, "m.csv"),
        lambda: (b"opening,speed,lambda,word,note\n0.5,4000,0.9,,\n1,5000,,lean,pinking\n",),
    ),
    "mixture log": Parser(
        lambda data: read_mixture_log(data, "l.csv"),
        lambda: (_mixture_log(),),
    ),
    "charging readings": Parser(
        lambda data: state_from_csv(_charged(), data, "c.csv"),
        lambda: (
            b"reading,place,value,unit,speed,temperature\ncharging voltage,,14.2,V,3000,25\n"
            b"alternator winding,1-2,0.5,ohm,,30\ndrain at rest,,3,mA,,\n",
        ),
    ),
    "zip": Parser(_zip, lambda: (_export(),)),
    "recording": Parser(lambda data: read_bytes(data, "r.wav"), _sounds),
    "track": Parser(lambda data: read_track(data, "t"), lambda: (GPX, NMEA)),
}


def feed(name: str, data: bytes) -> bool:
    """Whether the parser read it; False where it refused it in words. Others are faults."""
    refusal = ""
    try:
        PARSERS[name].feed(data)
    except InputError as error:
        refusal = str(error)
        if not refusal.strip():
            raise AssertionError("a refusal says why") from error
    return not refusal
