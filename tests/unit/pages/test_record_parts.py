"""The parts of the build record: each says what its page says, and none stands empty."""

from __future__ import annotations

from pathlib import Path

import pytest
from support_book import more, state_of
from support_build import BORE_1, book, twin
from support_record import ROW, printed_part
from support_start import SMALL, small, yes

from tickover.book.bodies import (
    Acceptance,
    LooseEndClosed,
    LooseEndOpened,
    Note,
    Picture,
    StartAttempt,
    StrikeOut,
    Work,
)
from tickover.engine import parse_engine_file
from tickover.pages.building import engine_of
from tickover.pages.record import PARTS
from tickover.pages.record.accepted import accepted_part
from tickover.pages.record.assembled import build_record, record_data
from tickover.pages.record.blocks import Paragraph, Photograph, Stated, Table
from tickover.pages.record.checks import checks_part
from tickover.pages.record.closing import closing_part, engine_file_part
from tickover.pages.record.compression import compression_part
from tickover.pages.record.dialled_in import dialled_in_part
from tickover.pages.record.fasteners import fasteners_part
from tickover.pages.record.fits import fits_part
from tickover.pages.record.running import run_in_part, starts_part
from tickover.pages.record.story import notes_part, open_part, pictures_part, work_part
from tickover.plan.runin import HEAT_CYCLE
from tickover.tasks.compression.in_book import compression_line

ENGINE = parse_engine_file(SMALL, "small.toml")


def table(part, number=0) -> Table:
    assert part is not None
    return [block for block in part.blocks if isinstance(block, Table)][number]


def every_row(part) -> list[list[str]]:
    tables = [block for block in part.blocks if isinstance(block, Table)]
    return [row for number in range(len(tables)) for row in cells(part, number)]


def cells(part, number=0) -> list[list[str]]:
    return [
        [cell.words if isinstance(cell, Stated) else cell for cell in row]
        for row in table(part, number).rows
    ]


def test_nothing_in_the_book_makes_no_empty_parts() -> None:
    state = small()
    for part in (starts_part, run_in_part, notes_part, pictures_part, work_part, accepted_part,
                 fits_part, fasteners_part):  # fmt: skip
        assert part(ENGINE, state) is None, part.__name__
    keys = [part.key for part in build_record(ROW, state).parts]
    assert keys == ["machine", "open", "controls", "checks", "closing", "engine-file"]


def test_every_part_has_a_key_of_its_own_and_plain_letters() -> None:
    keys = [part(ENGINE, small()) for part in PARTS]
    names = [part.key for part in keys if part is not None]
    assert len(set(names)) == len(names)
    assert all(name.replace("-", "").isalpha() and name == name.lower() for name in names)


def test_measurements_stand_beside_limits_with_each_reading_behind_them() -> None:
    engine = twin()
    part = fits_part(engine, book(engine, *BORE_1))
    first = cells(part)[0]
    assert first[0] == "Cylinder, bore, cyl1"
    assert "61.00 to 61.02 mm" in first[2]
    assert first[3] == "good"
    assert "top across 61.012 mm" in cells(part, 1)[0][1]
    assert [row[1] for row in cells(part)].count("not measured") == len(cells(part)) - 1


def test_a_fastener_shows_torque_order_and_when_it_was_tightened() -> None:
    engine = twin()
    state = book(engine, "torque head bolts 22 Nm done")
    part = fasteners_part(engine, state)
    row = cells(part)[0]
    assert row[0] == "Head bolts"
    assert row[2].startswith("22 Nm (")
    assert "2031-04-05" in row[5]
    assert cells(part)[1][5] == "not written down"
    assert "Order:" in printed_part(part, more(state_of([], SMALL)))


def test_what_was_accepted_says_who_why_and_whether_it_still_counts() -> None:
    state = small([yes("mirror", answer=0.0), Acceptance("mirror", "", "bars come later")])
    assert cells(accepted_part(ENGINE, state)) == [
        ["Mirror", "bars come later", "test, 2026-03-02, entry 3", "counts"]
    ]
    later = more(state, yes("mirror", answer=0.0))
    assert cells(accepted_part(ENGINE, later))[0][3] == "overtaken since"


def test_open_points_name_loose_ends_and_what_hand_over_still_asks() -> None:
    end = LooseEndOpened("oil line off")
    state = small([end, LooseEndOpened("guard off")])
    closed = more(state, LooseEndClosed(state.loose_ends[1].id))
    part = open_part(ENGINE, closed)
    assert [(row[0], row[3]) for row in cells(part)] == [
        ("Oil line off", "open"), ("Guard off", "put back"),
    ]  # fmt: skip
    listed = " ".join(" ".join(b.items) for b in part.blocks if hasattr(b, "items"))
    for name in ("Valve caps", "Oil drained", "Mirror"):
        assert f"{name}: not done; try it." in listed
    first = part.blocks[0]
    assert isinstance(first, Paragraph)
    assert first.text.endswith("are open.")


def test_every_check_names_who_proved_it_and_by_which_entry() -> None:
    rows = every_row(checks_part(ENGINE, small([yes("valve caps")])))
    assert ["Valve caps", "done and found right", "", "good", "test, 2026-03-02, entry 2"] in rows
    assert ["Mirror", "", "", "not done", ""] in rows


def test_work_made_void_is_told_with_what_made_it_so() -> None:
    rows = every_row(checks_part(ENGINE, small([yes("valve caps"), Work("caps off")])))
    assert any("void since" in row[1] and row[3] == "stale" for row in rows)


def test_starts_and_running_in_are_told_in_the_order_they_happened() -> None:
    state = small(
        [
            StartAttempt("coughed", {"seconds": 4.0, "attempt": "a"}),
            StartAttempt("ran", {"seconds": 3.0, "attempt": "b", "note": "smoky"}),
            Work(HEAT_CYCLE),
        ]
    )
    starts = cells(starts_part(ENGINE, state))
    assert [row[1] for row in starts] == ["coughed", "ran"]
    assert starts[1][3] == "smoky"
    run_in = run_in_part(ENGINE, state)
    assert any(row[2] == "due now" for row in cells(run_in))
    assert cells(run_in, 1)[0][1] == "heat cycle"


def test_what_is_struck_out_stands_nowhere() -> None:
    state = small([Note("wrong bike"), Picture("0" * 64, "image/jpeg", "wrong bike")])
    ids = [entry.id for entry in state.entries[1:]]
    struck = more(state, *(StrikeOut(each, "another machine") for each in ids))
    assert "wrong bike" not in str(record_data(build_record(ROW, struck)))
    assert "wrong bike" in str(record_data(build_record(ROW, state)))


def test_pictures_carry_their_words_and_a_lost_one_is_said() -> None:
    state = small([Picture("1" * 64, "image/jpeg", "the crack", "spark plug1")])
    part = pictures_part(ENGINE, state)
    assert part is not None
    shot = part.blocks[0]
    assert isinstance(shot, Photograph)
    assert shot.alt == "Photograph: the crack"
    assert shot.caption == "The crack. Spark plug1. 2026-03-02, test, entry 2"
    data = record_data(build_record(ROW, state))
    blocks = next(p for p in data["parts"] if p["key"] == "pictures")["blocks"]
    assert [block["kind"] for block in blocks] == ["photographs"]


def test_the_last_pages_hold_cautions_lines_to_sign_and_the_file() -> None:
    state = small()
    words = printed_part(closing_part(ENGINE, state), state)
    for said in ("Handed over by", "Taken over by", "signature", "Carbon monoxide", "licensed",
                 "was not looked at"):  # fmt: skip
        assert said in words, said
    assert "safe" not in words.replace("safety", "").lower()
    assert "stale_after" in printed_part(engine_file_part(ENGINE, state), state)


@pytest.mark.parametrize("layout", ["single", "inline", "V", "flat"])
def test_every_layout_has_its_drawing_on_the_first_page(layout: str) -> None:
    count = 1 if layout == "single" else 4
    more_of_it = '\nv_angle = "90 deg"' if layout == "V" else ""
    text = f'[engine]\nname = "E"\nlayout = "{layout}"\ncylinders = {count}{more_of_it}\n'
    state = state_of([], text)
    record = build_record(ROW, state)
    assert record.cover.svg.startswith("<svg")
    assert layout in record.cover.alt
    assert engine_of(state).engine.layout == layout


def test_the_jets_that_are_in_are_told_without_any_reading() -> None:
    text = (Path(__file__).parents[3] / "examples" / "engines" / "triple-240.toml").read_text()
    state = state_of([], text)
    words = printed_part(dialled_in_part(engine_of(state), state), state)
    assert "Pilot 38, screw 1.5 turns, needle N1 in groove 3, main 108" in words
    assert "No mixture reading was kept." in words


BARE = '[engine]\nname = "Invented twin"\nlayout = "inline"\ncylinders = 2\n'


def compression_of(text: str, *lines: str):
    text += '[show]\npressure = "psi"\n'
    engine = parse_engine_file(text, "E.toml")
    state = state_of([compression_line(engine, line)[0] for line in lines], text)
    return compression_part(engine, state), state


def test_compression_without_bore_and_stroke_is_told_as_read_and_says_what_is_missing() -> None:
    part, state = compression_of(BARE, "cyl1 dry 150 psi", "cyl2 dry 120 psi", "cyl2 leakdown 18")
    assert cells(part) == [
        ["Cylinder 1", "150 psi", "not read", "not read"],
        ["Cylinder 2", "120 psi", "not read", "18 %"],
    ]
    said = printed_part(part, state)
    assert "The lowest at least 75 percent of the highest: 80 %, holds" in said
    assert "does not say bore and stroke" in said
    assert compression_of(BARE)[0] is None


def test_compression_without_a_ratio_keeps_its_part_and_says_what_was_assumed() -> None:
    sized = BARE + 'bore = "61 mm"\nstroke = "61.5 mm"\n'
    part, state = compression_of(sized, "cyl1 dry 150 psi", "cyl2 dry 148 psi")
    said = printed_part(part, state)
    assert [row[1] for row in cells(part)] == ["150 psi", "148 psi"]
    assert "compression ratio 9, which makes the expected reading wide" in said
