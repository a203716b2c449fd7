"""fit, start, why, shopping, runin and their papers in the terminal: works, and refuses."""

from __future__ import annotations

import io
import json
import re
import shlex
from pathlib import Path
from typing import Any

import pypdf
import pytest
import vobject  # type: ignore[import-untyped]
from support_start import SMALL

from tickover.book.bodies import LooseEndOpened
from tickover.book.store import Store
from tickover.cli import main
from tickover.pages.stopwatch import BUTTONS
from tickover.paper.sheets import print_sheet

YES, NO, BAD = 0, 1, 2
EXAMPLES = Path(__file__).parents[2] / "examples" / "engines"


class Said(str):
    """What a command printed; its exit code and complaint beside it."""

    code: int
    complaint: str


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Any:
    """Runs a command on a book with the small machine in it."""
    engine, book = tmp_path / "small.toml", str(tmp_path / "b.tickover")
    engine.write_text(SMALL, encoding="utf-8")

    def one(*words: str) -> Said:
        given = [str(engine) if word == "ENGINE" else word for word in words]
        with pytest.raises(SystemExit) as ended:
            main([*given, "--where", book])
        caught = capsys.readouterr()
        said = Said(caught.out)
        said.code = int(ended.value.code or 0)
        said.complaint = caught.err
        assert "Traceback" not in caught.err
        return said

    one("new", "--engine", "ENGINE", "--name", "Shed single")
    one.folder = tmp_path
    return one


def settle(run: Any, stage: str = "first start") -> None:
    for line in json.loads(run("fit", "--stage", stage, "--json"))["blockers"]:
        run("accept", line["name"], line["place"], "--reason", "seen")


# -- fit ------------------------------------------------------------------------------


def test_fit_says_no_with_the_way_out_and_yes_once_settled(run: Any) -> None:
    said = run("fit")
    assert said.code == NO
    assert "valve caps" in said
    assert "try it" in said
    settle(run)
    assert run("fit").code == YES


def test_fit_records_and_the_record_goes_void(run: Any) -> None:
    settle(run)
    said = json.loads(run("fit", "--record", "--json"))
    assert (said["fit_to_start"], said["recorded"]["holds"]) == (True, True)
    run("loose", "oil", "line", "off")
    said = json.loads(run("fit", "--json"))
    assert (said["fit_to_start"], said["recorded"]["holds"]) == (False, False)
    assert "void" in run("fit")


def test_fit_asks_before_riding(run: Any) -> None:
    settle(run)
    said = run("fit", "--stage", "riding")
    assert said.code == NO
    assert "mirror" in said
    assert run("fit", "--stage", "racing").code == BAD


def test_accepting_without_a_reason_is_refused(run: Any) -> None:
    said = run("accept", "valve caps", "--reason", " ")
    assert said.code == BAD
    assert "reason" in said.complaint
    assert run("fit").count("accepted") == 1  # only the caution speaks of it


# -- start ----------------------------------------------------------------------------


def test_start_shows_the_card(run: Any) -> None:
    said = run("start")
    for words in ("35 ppm", "class B", "85 dB(A)", "5 seconds", "Stop switch", "no source"):
        assert words in said
    assert "safe" not in said.lower()
    assert json.loads(run("start", "--json"))["oil_within_s"] == 5.0


def test_start_keeps_an_attempt(run: Any) -> None:
    assert "kept as entry" in run("start", "--attempt", "ran", "--seconds", "3.2", "--note", "yes!")
    said = run("start")
    assert "3.2 s ran" in said
    assert "yes!" in said


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--attempt", "fierd"), "fired"),
        (("--attempt", "fired", "--seconds", "-1"), "0 to a day"),
        (("--note", "smoke"), "--attempt"),
    ],
)
def test_start_refuses(run: Any, words: tuple[str, ...], says: str) -> None:
    said = run("start", *words)
    assert said.code == BAD
    assert says in said.complaint
    assert "Tries so far" not in run("start")


# -- why ------------------------------------------------------------------------------


def test_why_takes_no_sign_for_a_number_that_is_none(run: Any) -> None:
    said = run("why", "--answer", "\u00b2", "3")  # a raised 2: a digit to some, no number to int
    assert said.code == BAD
    assert "\u00b2" in said.complaint


def test_why_proposes_and_learns(run: Any) -> None:
    assert "Next:" in run("why")
    said = run("why", "--answer", "5", "3")
    assert "nothing" in said
    before = json.loads(run("why", "--json"))
    assert before["under_way"]
    assert before["causes"][0]["words"] in ("bowls empty", "fuel tap closed")
    run("why", "--looked", "bowls empty", "--not-found")
    assert "Found: fuel tap closed" in run("why", "--looked", "fuel tap closed", "--found")
    assert json.loads(run("why", "--begin", "--json"))["answers"] == []


def test_why_knows_the_other_symptom(run: Any) -> None:
    assert "What does it do?" in run("why", "--symptom", "runs, but", "--all")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--symptom", "squeaks"), "will not start"),
        (("--answer", "99", "1"), "1 to 11"),
        (("--answer", "5", "9"), "1 to 3"),
        (("--answer", "5", "perhaps"), "a little, then stops"),
        (("--looked", "bowls emty", "--found"), "bowls empty"),
        (("--looked", "flooded"), "--not-found"),
        (("--found",), "--looked"),
    ],
)
def test_why_refuses_and_keeps_nothing(run: Any, words: tuple[str, ...], says: str) -> None:
    said = run("why", *words)
    assert said.code == BAD
    assert says in said.complaint
    assert not json.loads(run("why", "--json"))["under_way"]


# -- shopping -------------------------------------------------------------------------


def test_shopping_adds_and_ticks_off(run: Any) -> None:
    assert "Together 13.50" in run(
        "shopping", "--add", "main jet 118", "--count", "3", "--price", "4.5", "--for", "all"
    )
    assert "2 of 3 arrived" in run("shopping", "--arrived", "main jet", "--count", "2")
    assert "Nothing is to be bought" in run("shopping", "--arrived", "main jet")
    said = run("shopping", "--arrived", "main jet")
    assert "more than was wanted" in said


def test_shopping_refuses(run: Any) -> None:
    assert "list is empty" in run("shopping", "--arrived", "jet").complaint
    assert run("shopping", "--add", "jet", "--count", "0").code == BAD
    assert run("shopping", "--add", "jet", "--arrived", "jet").code == BAD
    assert json.loads(run("shopping", "--json"))["to_buy"] == []


# -- running in -----------------------------------------------------------------------


def test_runin_waits_for_the_first_start_then_dates(run: Any) -> None:
    assert "has not run yet" in run("runin")
    file = run.folder / "x.ics"
    refused = run("runin", "--calendar", str(file))
    assert refused.code == BAD
    assert not file.exists()
    run("start", "--attempt", "ran")
    assert "Nothing is due" in run("runin", "--use", "200 km", "4 h", "4")
    said = run("runin", "--distance", "120 km", "--heat-cycle")
    assert "due now" in said
    assert "200 km, 4 h and 4 heat cycles a week" in said
    assert run("runin", "--done", "first oil", "--calendar", str(file)).code == YES
    calendar = vobject.readOne(file.read_text(encoding="utf-8"), validate=True)
    names = [event.summary.value for event in calendar.vevent_list]
    assert names
    assert not any("first oil" in name for name in names)
    assert json.loads(run("runin", "--json"))["done"][0]["name"].startswith("first oil")


@pytest.mark.parametrize(
    "words",
    [("--distance", "far"), ("--distance", "-3 km"), ("--use", "1 km", "1 h", "x"),
     ("--done", "paint"), ("--running", "3 km")],
)  # fmt: skip
def test_runin_refuses(run: Any, words: tuple[str, ...]) -> None:
    said = run("runin", *words)
    assert said.code == BAD
    assert said.complaint


def test_runin_says_when_the_calendar_cannot_be_written(run: Any) -> None:
    run("start", "--attempt", "ran")
    said = run("runin", "--calendar", str(run.folder / "no" / "x.ics"))
    assert said.code == BAD
    assert "cannot be written" in said.complaint


# -- paper ----------------------------------------------------------------------------


def text_of(pdf: bytes) -> tuple[int, str]:
    read = pypdf.PdfReader(io.BytesIO(pdf))
    return len(read.pages), " ".join(page.extract_text() for page in read.pages)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", ["inline-six", "triple-240"])
def test_the_start_card_fits_one_page_whatever_the_build_holds(
    tmp_path: Path, paper: str, name: str
) -> None:
    text = (EXAMPLES / f"{name}.toml").read_text(encoding="utf-8")
    if "[start]" not in text:
        text += '\n[start]\noil_pressure = "1.5 bar"\ncharge = "13.5 V"\ncharge_at = "3000 rpm"\n'
        text += 'idle = "1100 rpm"\nstop_at = "130 C"\n'
    with Store.open(tmp_path / "b") as store:
        at = "2031-01-01T00:00:00Z"
        made = store.create_build("Invented machine " * 7, text, at, "t")
        ends = [LooseEndOpened(f"long words about what was left off and where {n} " * 9)
                for n in range(12)]  # fmt: skip
        store.append(made.id, ends, at=at, by="t")
        build, state = store.build(made.id), store.state(made.id)
        pages, words = text_of(print_sheet("start-card", build, state, paper=paper, printed_at=at))
    assert pages == 1
    assert "Stop the engine" in words
    assert "6 more in the book" in words
    assert "common practice, no source" in words


def test_shopping_and_running_in_print(run: Any) -> None:
    run("shopping", "--add", "gasket", "--for", "head")
    run("start", "--attempt", "ran")
    for name, words in (("shopping", "gasket"), ("run-in", "heat cycle")):
        out = run.folder / f"{name}.pdf"
        assert run("sheet", name, "--out", str(out)).code == YES
        assert words in text_of(out.read_bytes())[1]


# -- guide ----------------------------------------------------------------------------

GUIDE = (Path(__file__).parents[2] / "docs" / "first-start.md").read_text(encoding="utf-8")
LINES = [
    line
    for block in GUIDE.split("```")[1::2]
    for line in block.strip().splitlines()
    if line.startswith("tickover ")
]


def test_every_line_of_the_guide_can_be_typed(run: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    assert len(LINES) > 15
    monkeypatch.chdir(run.folder)
    run("start", "--attempt", "ran")  # so that there is something to date
    for line in LINES:
        said = run(*shlex.split(line)[1:])
        assert said.code in (YES, NO), f"{line}: {said.complaint}"
        assert said, line


def test_every_outcome_of_the_guide_is_one_that_is_kept(run: Any) -> None:
    told = re.search(r"^Attempts: (.*)$", GUIDE, re.MULTILINE)
    assert told is not None
    words = re.findall(r"`([a-z ]+)`", told[1].partition(". `ran` is")[0])
    assert words == [each.words for each in BUTTONS]
