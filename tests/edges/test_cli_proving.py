"""`tickover oil`, `timing`, `fuel`, `starting`, `check` and their sheets: works, bad input."""

import json
from pathlib import Path

import pytest

from tickover.cli import main

ENGINES = Path(__file__).parents[2] / "examples" / "engines"
TRIPLE = str(ENGINES / "triple-240.toml")
BARE = str(ENGINES / "twin-360.toml")


@pytest.fixture
def run(capsys):
    def call(*arguments):
        with pytest.raises(SystemExit) as stopped:
            main([*arguments])
        out = capsys.readouterr()
        return stopped.value.code or 0, out.out, out.err

    return call


@pytest.fixture
def build(run, tmp_path):
    """A build of the triple in a book of its own: call with a command's words."""
    where = str(tmp_path / "b.tickover")
    assert run("new", "--engine", TRIPLE, "--where", where)[0] == 0
    return lambda *arguments: run(*arguments, "--where", where)


@pytest.mark.parametrize(
    ("command", "words"),
    [
        ("oil", "50 to 130 ml in 10 s"),
        ("timing", "10° before TDC = 0.59 mm piston drop = 8.73 mm on the rotor"),
        ("fuel", "expected, not a leak"),
        ("starting", "in gear, clutch in, stand up: starter turns"),
    ],
)
def test_each_works_on_an_engine_file_alone(run, command, words):
    code, out, err = run(command, "--engine", TRIPLE)
    assert code == 1  # nothing is done yet
    assert words in out
    assert "!" in out  # its cautions
    assert not err


@pytest.mark.parametrize("command", ["oil", "timing", "fuel", "starting"])
def test_json_says_the_same_as_words(run, command):
    code, out, _ = run(command, "--engine", TRIPLE, "--json")
    page = json.loads(out)
    assert code == 1
    assert page["verdict"].startswith("None of")
    assert page["cautions"]
    assert all(line["state"] == "open" for line in page["checks"])


@pytest.mark.parametrize("command", ["oil", "timing", "fuel", "starting"])
def test_a_file_without_the_tables_says_what_falls_away(run, command):
    code, out, _ = run(command, "--engine", BARE)
    assert code == 1
    assert "nothing that could be checked" in out
    assert "not checked:" in out


def test_readings_on_the_line_are_judged(run):
    code, out, _ = run(
        "oil", "--engine", TRIPLE, "--json",
        "oil flow 30 ml in 8 s at 320 rpm", "oil switch low 0.2 ohm",
    )  # fmt: skip
    states = {(c["name"], c["place"]): c["state"] for c in json.loads(out)["checks"]}
    assert states["oil flow", ""] == "out"
    assert states["oil switch", "low"] == "good"
    assert code == 1


def test_everything_good_is_exit_code_0(run):
    engine = str(ENGINES / "single.toml")
    code, out, _ = run(
        "oil", "--engine", engine, "oil filter yes", "oil quantity 1.95 l", "oil primed yes",
        "oil flow 4 ml at 300 rpm",
    )  # fmt: skip
    assert code == 0, out
    assert "All four checks are settled." in out


def test_speed_and_temperature_move_what_is_expected(run):
    pages = [
        json.loads(run("oil", "--engine", TRIPLE, "--json", "--speed", speed)[1])["flow"]
        for speed in ("200 rpm", "400 rpm", "200-400 rpm")
    ]
    assert len(set(pages)) == 3
    cold = json.loads(run("oil", "--engine", TRIPLE, "--json", "--oil-at", "-30 C")[1])
    assert "warm it first" in cold["flow_note"]


def test_a_timing_and_leads_are_said_in_every_form(run):
    _, out, _ = run("timing", "--engine", TRIPLE, "--timing", "1.8 mm drop", "--leads", "1-2-3")
    assert "17.6° before TDC = 1.80 mm piston drop" in out
    assert "leads 2 and 3 are exchanged: swap them" in out


def test_why_shows_the_sums(run):
    _, out, _ = run("oil", "--engine", TRIPLE, "--why")
    assert "displacement x drive ratio x crank speed" in out
    assert "common practice, no source" in out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("oil", "--engine", TRIPLE, "--speed", "fast"), "number"),
        (("oil", "--engine", TRIPLE, "oil flow 3 bar"), "bar"),
        (("oil", "--engine", TRIPLE, "oil floe 70 ml"), "no such check"),
        (("oil", "oil flow 70 ml"), "--engine"),
        (("timing", "--engine", TRIPLE, "--leads", "1-1-3"), "every cylinder once"),
        (("timing", "--engine", TRIPLE, "--timing", "80 mm drop"), "does not go that far"),
        (("fuel", "--engine", "nowhere.toml"), "nowhere.toml"),
        (("starting", "--engine", TRIPLE, "battery at rest 12 ohm"), "ohm"),
    ],
)
def test_bad_input_is_one_sentence_and_exit_code_2(run, arguments, words):
    code, _, err = run(*arguments)
    assert code == 2
    assert words in err
    assert "Traceback" not in err


def test_check_keeps_an_answer_and_says_how_it_stands(build):
    code, out, _ = build("check", "spark", "plug1", "yes")
    assert code == 0
    assert "kept as entry" in out
    assert "good" in out
    code, out, _ = build("check", "coil", "primary", "2", "4.9 ohm at 20 C")
    assert code == 1
    assert "out" in out


def test_check_without_an_answer_says_how_it_is_done_and_keeps_nothing(build):
    code, out, _ = build("check", "needle and seat", "carb1")
    assert code == 1
    assert "Float up by hand" in out
    assert "kept" not in out
    assert build("book", "--json")[1].count('"number"') == 1  # the engine file only


def test_a_check_marked_good_without_its_reading_is_refused(build):
    code, _, err = build("check", "coil primary", "1", "yes")
    assert code == 2
    assert "good only by its reading" in err
    assert "Write" in err
    assert build("book", "--json")[1].count('"number"') == 1


def test_the_oil_flow_opens_its_loose_end_and_fit_to_start_names_it(build):
    code, out, _ = build("check", "oil flow", "70 ml in 8 s at 320 rpm", "--json")
    assert code == 0
    assert json.loads(out)["loose_ends"] == ["oil line at the head off for the oil flow check"]
    assert "oil line at the head off" in build("fit")[1]
    assert "loose end" in build("oil")[1]


def test_short_lines_reach_the_book_with_the_loose_end(build):
    assert build("read", "oil flow 70 ml in 8 s at 320 rpm; spark 2 yes")[0] == 0
    assert "oil line at the head off" in build("loose")[1]
    assert build("check", "spark", "2")[0] == 0


def test_readings_for_a_book_are_not_typed_on_the_page_commands(build):
    code, _, err = build("oil", "oil flow 70 ml")
    assert code == 2
    assert "tickover check" in err


@pytest.mark.parametrize("name", ["electrics-bench", "oil-bench", "fuel-bench"])
@pytest.mark.parametrize("engine", ["triple-240", "single", "twin-360"])
def test_sheets_are_printed_blank(run, tmp_path, name, engine):
    target = tmp_path / "s.pdf"
    code, _, err = run("sheet", name, "--engine", str(ENGINES / f"{engine}.toml"), "--out",
                       str(target))  # fmt: skip
    assert code == 0, err
    assert target.read_bytes().startswith(b"%PDF")


def test_a_sheet_of_a_build_is_printed_too(build, tmp_path):
    build("check", "oil flow", "70 ml in 8 s at 320 rpm")
    target = tmp_path / "s.pdf"
    assert build("sheet", "oil-bench", "--out", str(target))[0] == 0
    assert target.read_bytes().startswith(b"%PDF")
