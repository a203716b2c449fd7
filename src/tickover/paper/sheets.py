"""Every sheet by name: which page object it prints, and with which template."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from tickover.book.chain import BuildRow
from tickover.book.state import State
from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.pages.building import (
    charging_page_of,
    compression_page_of,
    controls_page_of,
    engine_of,
    fasteners_page_of,
    fits_page_of,
    head_for,
    noise_page_of,
    ratio_page_of,
    runin_page_of,
    shopping_page_of,
    speed_page_of,
    start_card_of,
    timing_page_of,
    valves_page_of,
)
from tickover.pages.charging import charging_page
from tickover.pages.compression import compression_page
from tickover.pages.controls import controls_page
from tickover.pages.fasteners import fasteners_page
from tickover.pages.fits import fits_page
from tickover.pages.fuel import fuel_page
from tickover.pages.ignition import ignition_page
from tickover.pages.loom import loom_page, loom_test_page
from tickover.pages.measured import ratio_page, timing_page
from tickover.pages.noise import noise_page
from tickover.pages.oil import oil_page
from tickover.pages.record.assembled import build_record, record_data
from tickover.pages.sheets import valve_bench_sheet, valve_report
from tickover.pages.sheets_charging import charging_bench_sheet
from tickover.pages.sheets_compression import compression_bench_sheet, compression_report
from tickover.pages.sheets_fits import cable_bench_sheet, fits_bench_sheet, torque_bench_sheet
from tickover.pages.sheets_measured import ratio_bench_sheet, timing_bench_sheet
from tickover.pages.sheets_mixture import (
    balance_bench_sheet,
    mixture_bench_sheet,
    strobe_bench_sheet,
)
from tickover.pages.sheets_proving import (
    electrics_bench_sheet,
    fuel_bench_sheet,
    oil_bench_sheet,
)
from tickover.pages.sheets_road import noise_bench_sheet, speed_bench_sheet
from tickover.pages.sheets_start import run_in_sheet, shopping_sheet, start_card_sheet
from tickover.pages.sheets_wiring import (
    loom_board_sheet,
    loom_schedule_sheet,
    loom_test_sheet,
)
from tickover.pages.speed import speed_page
from tickover.pages.starting import starting_page
from tickover.pages.valves import valves_page
from tickover.pages.wiring import wiring_page
from tickover.paper.record import PictureOf, no_picture, record_pdf
from tickover.paper.typeset import typeset
from tickover.tasks.compression import assess, conditions_from_file, spec_from_file
from tickover.tasks.valves import assess_valves


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet: its template, and the data of a build.

    `blank` gives the data from an engine file alone, where the sheet makes sense without a build.
    """

    template: str
    data: Callable[[BuildRow, State], dict[str, Any]]
    blank: Callable[[EngineFile], dict[str, Any]] | None = None
    dated: Callable[[BuildRow, State, date], dict[str, Any]] | None = None
    """The data where they depend on the day they are printed."""
    whole: Callable[..., bytes] | None = None
    """Makes the PDF itself, where photographs of the book stand on it."""


SHEETS: dict[str, Sheet] = {
    "valves-bench": Sheet(
        "valve-bench",
        lambda build, state: valve_bench_sheet(engine_of(state), valves_page_of(build, state)),
        lambda engine: valve_bench_sheet(
            engine, valves_page(engine, assess_valves(engine, {}, {}))
        ),
    ),
    "valves": Sheet(
        "valve-report",
        lambda build, state: valve_report(engine_of(state), valves_page_of(build, state)),
    ),
    "compression-bench": Sheet(
        "compression-bench",
        lambda build, state: compression_bench_sheet(
            engine_of(state), compression_page_of(build, state)
        ),
        lambda engine: compression_bench_sheet(
            engine,
            compression_page(
                engine, assess(spec_from_file(engine), [], conditions_from_file(engine))
            ),
        ),
    ),
    "compression": Sheet(
        "compression",
        lambda build, state: compression_report(
            engine_of(state), compression_page_of(build, state)
        ),
    ),
    "ratio-bench": Sheet(
        "measured-bench",
        lambda build, state: ratio_bench_sheet(engine_of(state), ratio_page_of(build, state)),
        lambda engine: ratio_bench_sheet(engine, ratio_page(engine, ())),
    ),
    "cam-timing-bench": Sheet(
        "measured-bench",
        lambda build, state: timing_bench_sheet(engine_of(state), timing_page_of(build, state)),
        lambda engine: timing_bench_sheet(engine, timing_page(engine, None)),
    ),
    "fits-bench": Sheet(
        "fits-bench",
        lambda build, state: fits_bench_sheet(engine_of(state), fits_page_of(build, state)),
        lambda engine: fits_bench_sheet(engine, fits_page(engine, State())),
    ),
    "torque-bench": Sheet(
        "torque-bench",
        lambda build, state: torque_bench_sheet(engine_of(state), fasteners_page_of(build, state)),
        lambda engine: torque_bench_sheet(engine, fasteners_page(engine, State())),
    ),
    "cable-bench": Sheet(
        "cable-bench",
        lambda build, state: cable_bench_sheet(engine_of(state), controls_page_of(build, state)),
        lambda engine: cable_bench_sheet(engine, controls_page(engine, State())),
    ),
    "electrics-bench": Sheet(
        "proving-bench",
        lambda build, state: electrics_bench_sheet(
            engine_of(state),
            starting_page(engine_of(state), state, head_for(build, state)),
            ignition_page(engine_of(state), state, head_for(build, state)),
        ),
        lambda engine: electrics_bench_sheet(engine, starting_page(engine), ignition_page(engine)),
    ),
    "charging-bench": Sheet(
        "proving-bench",
        lambda build, state: charging_bench_sheet(engine_of(state), charging_page_of(build, state)),
        lambda engine: charging_bench_sheet(engine, charging_page(engine)),
    ),
    "loom-test": Sheet(
        "loom-test",
        lambda build, state: loom_test_sheet(
            engine_of(state), loom_test_page(engine_of(state), state, head=head_for(build, state))
        ),
        lambda engine: loom_test_sheet(engine, loom_test_page(engine)),
    ),
    "loom-schedule": Sheet(
        "loom-schedule",
        lambda build, state: loom_schedule_sheet(
            engine_of(state),
            wiring_page(engine_of(state), state, state.engine_text, head=head_for(build, state)),
            loom_page(engine_of(state), head_for(build, state), state),
        ),
        lambda engine: loom_schedule_sheet(engine, wiring_page(engine), loom_page(engine)),
    ),
    "loom-board": Sheet(
        "loom-board",
        lambda build, state: loom_board_sheet(
            engine_of(state), loom_page(engine_of(state), head_for(build, state))
        ),
        lambda engine: loom_board_sheet(engine, loom_page(engine)),
    ),
    "oil-bench": Sheet(
        "proving-bench",
        lambda build, state: oil_bench_sheet(
            engine_of(state), oil_page(engine_of(state), state, head_for(build, state))
        ),
        lambda engine: oil_bench_sheet(engine, oil_page(engine)),
    ),
    "fuel-bench": Sheet(
        "proving-bench",
        lambda build, state: fuel_bench_sheet(
            engine_of(state), fuel_page(engine_of(state), state, head_for(build, state))
        ),
        lambda engine: fuel_bench_sheet(engine, fuel_page(engine)),
    ),
    "mixture-bench": Sheet(
        "dial-in-bench",
        lambda build, state: mixture_bench_sheet(engine_of(state), state, head_for(build, state)),
        mixture_bench_sheet,
    ),
    "balance-bench": Sheet(
        "dial-in-bench",
        lambda build, state: balance_bench_sheet(engine_of(state), state, head_for(build, state)),
        balance_bench_sheet,
    ),
    "strobe-bench": Sheet(
        "dial-in-bench",
        lambda build, state: strobe_bench_sheet(engine_of(state), state, head_for(build, state)),
        strobe_bench_sheet,
    ),
    "speed-bench": Sheet(
        "proving-bench",
        lambda build, state: speed_bench_sheet(engine_of(state), speed_page_of(build, state)),
        lambda engine: speed_bench_sheet(engine, speed_page(engine)),
    ),
    "noise-bench": Sheet(
        "proving-bench",
        lambda build, state: noise_bench_sheet(engine_of(state), noise_page_of(build, state)),
        lambda engine: noise_bench_sheet(engine, noise_page(engine)),
    ),
    "start-card": Sheet(
        "start-card",
        lambda build, state: start_card_sheet(start_card_of(build, state)),
    ),
    "shopping": Sheet(
        "shopping",
        lambda build, state: shopping_sheet(shopping_page_of(build, state)),
    ),
    "run-in": Sheet(
        "run-in",
        lambda build, state: run_in_sheet(runin_page_of(build, state, date.min)),
        dated=lambda build, state, today: run_in_sheet(runin_page_of(build, state, today)),
    ),
    "record": Sheet(
        "build-record",
        lambda build, state: record_data(build_record(build, state)),
        whole=record_pdf,
    ),
}
"""Name to sheet; a task adds its own here, and its line to the list in pages."""
BLANK = frozenset(name for name, each in SHEETS.items() if each.blank is not None)
"""Those that print from an engine file alone."""


def print_blank(name: str, engine: EngineFile, *, paper: str = "a4", printed_at: str = "") -> bytes:
    """A bench sheet from an engine file alone, as PDF.

    Raises
    ------
    InputError
        If there is no such sheet, or it needs a build; or no such paper size.
    """
    sheet = SHEETS.get(name)
    if sheet is None or sheet.blank is None:
        allowed = ", ".join(key for key in SHEETS if key in BLANK)
        raise InputError("Only a bench sheet can be printed without a book", given=name,
                         allowed=allowed)  # fmt: skip
    return typeset(sheet.template, sheet.blank(engine), paper=paper, printed_at=printed_at)


def print_sheet(
    name: str,
    build: BuildRow,
    state: State,
    picture_of: PictureOf = no_picture,
    *,
    paper: str = "a4",
    printed_at: str = "",
) -> bytes:
    """A sheet of a build as PDF.

    Parameters
    ----------
    name : str
    build : BuildRow
    state : State
    picture_of : callable
        Gives the bytes of a picture by its sha256, where photographs stand on the sheet.
    paper : str
        'a4' or 'letter'.
    printed_at : str
        ISO 8601; printed in the foot.

    Raises
    ------
    InputError
        If there is no such sheet or paper size.
    """
    if name not in SHEETS:
        raise InputError("No such sheet", given=name, allowed=", ".join(SHEETS))
    sheet = SHEETS[name]
    if sheet.whole is not None:
        return sheet.whole(build, state, picture_of, paper=paper, printed_at=printed_at)
    if sheet.dated is not None and printed_at:
        data = sheet.dated(build, state, date.fromisoformat(printed_at[:10]))
    else:
        data = sheet.data(build, state)
    return typeset(sheet.template, data, paper=paper, printed_at=printed_at)
