"""Oil: expected flow and pressure, the switch in both states, the loose end the check opens."""

import pytest
from support_book import more
from support_proving import after, item, reading, triple, twin, word

from tickover.book.bodies import LooseEndClosed, LooseEndOpened
from tickover.engine import parse_engine_file
from tickover.physics.bands import Band
from tickover.tasks import oil
from tickover.tasks.answers import check_entries, find_check, proving_checks

ENGINE = triple()
ML = 1e-6
PLUNGER = twin(
    '[oil]\npump_displacement = "4 cc"\ndrive_ratio = 0.5\ngrade = "20W-50"\n',
    '[starter]\ncranking_speed = "300..360 rpm"',
)


def test_flow_is_displacement_times_ratio_times_turns_times_share() -> None:
    # 4 cc x 0.5 x 300 rpm/60 x 10 s = 100 ml at most, half to 95 percent of it in order
    expected = oil.expected_flow(PLUNGER, 300 / 60)
    assert expected is not None
    assert expected.volume.low == pytest.approx(50 * ML)
    assert expected.volume.high == pytest.approx(95 * ML)
    assert expected.most == pytest.approx(100 * ML)


def test_the_cranking_speed_of_the_file_widens_the_band() -> None:
    expected = oil.expected_flow(PLUNGER)
    assert expected is not None
    assert (expected.volume.low, expected.volume.high) == (
        pytest.approx(50 * ML), pytest.approx(114 * ML)
    )  # fmt: skip


@pytest.mark.parametrize(
    ("line", "state"),
    [
        ("oil flow 70 ml at 300 rpm", "good"),
        ("oil flow 35 ml in 5 s at 300 rpm", "good"),
        ("oil flow 40 ml at 300 rpm", "out"),
        ("oil flow 45-55 ml at 300 rpm", "undecided"),
        ("oil flow 150 ml at 300 rpm", "undecided"),  # more than it can move
    ],
)
def test_flow_is_judged_at_the_speed_it_was_read_at(line: str, state: str) -> None:
    assert word(PLUNGER, "oil flow")(line) == state


def test_more_than_the_pump_can_move_says_that_time_or_speed_is_off() -> None:
    found = item(PLUNGER, after(PLUNGER, "oil flow 150 ml at 300 rpm"), "oil flow").finding
    assert found is not None
    assert "time or speed is off" in found.text


def test_without_any_speed_the_flow_cannot_be_judged() -> None:
    bare = twin('[oil]\npump_displacement = "4 cc"\ndrive_ratio = 0.5')
    assert word(bare, "oil flow")("oil flow 70 ml") == "undecided"
    assert word(bare, "oil flow")("oil flow 70 ml at 300 rpm") == "good"


def test_without_a_pump_the_flow_is_a_yes() -> None:
    bare = twin('[oil]\ngrade = "40"')
    assert word(bare, "oil flow")("oil flow yes") == "good"


def test_the_same_pump_by_its_rotors() -> None:
    turn = oil.pump_turn(ENGINE.oil)
    assert turn is not None
    assert turn.low < 4.5e-6 < turn.high


def test_watching_the_flow_opens_the_loose_end_and_only_once() -> None:
    check, typed = find_check(proving_checks(ENGINE), "oil flow 70 ml at 300 rpm")
    first = check_entries(ENGINE, after(ENGINE), check, typed)
    assert [body.kind for body in first] == ["reading", "loose end opened"]
    assert isinstance(first[1], LooseEndOpened)
    assert first[1].label == "oil line at the head off for the oil flow check"
    state = after(ENGINE, *first)
    assert len(check_entries(ENGINE, state, check, typed)) == 1
    put_back = more(state, LooseEndClosed(state.open_loose_ends[0].id))
    assert len(check_entries(ENGINE, put_back, check, typed)) == 2


@pytest.mark.parametrize(
    ("earthed", "low", "full"), [("low", "0.3 ohm", "open"), ("full", "open", "0.3 ohm")]
)
def test_the_switch_is_tried_in_both_states(earthed: str, low: str, full: str) -> None:
    engine = twin(f'[oil]\nswitch = "level"\nswitch_earthed = "{earthed}"')
    states = (f"oil switch low {low}", f"oil switch full {full}")
    swapped = (f"oil switch low {full}", f"oil switch full {low}")
    for place in ("low", "full"):
        assert word(engine, "oil switch", place)(*states) == "good"
        assert word(engine, "oil switch", place)(*swapped) == "out"


def test_a_switch_between_earthed_and_open_is_neither() -> None:
    engine = twin('[oil]\nswitch = "pressure"')
    assert word(engine, "oil switch", "low")("oil switch low 60 ohm") == "out"
    assert word(engine, "oil switch", "full")("oil switch full 60 ohm") == "out"


def test_pressure_at_the_books_own_point_is_the_books_figure() -> None:
    at = oil.expected_pressure(ENGINE, 4000 / 60, 363.15)
    assert at == Band(3.5e5, 4.5e5)


def test_pressure_falls_with_speed_and_rises_with_cold_oil() -> None:
    book = Band(3.5e5, 4.5e5)
    slow = oil.expected_pressure(ENGINE, 1200 / 60, 363.15)
    cold = oil.expected_pressure(ENGINE, 3000 / 60, 323.15)
    warm = oil.expected_pressure(ENGINE, 3000 / 60, 383.15)
    assert slow is not None
    assert slow.high < book.low
    assert cold is not None
    assert warm is not None
    assert warm.high < cold.high
    assert warm.low < cold.low
    assert cold.high <= 6e5  # the relief valve passes everything there


@pytest.mark.parametrize(
    ("line", "state"),
    [
        ("oil pressure 4.0 bar at 4000 rpm at 90 C", "good"),
        ("oil pressure 2.0 bar at 4000 rpm at 90 C", "out"),
        ("oil pressure 4.0 bar", "undecided"),
        ("oil pressure 4.0 bar at 4000 rpm", "undecided"),
        ("oil pressure 58 psi at 4000 rpm, 194 F", "good"),
    ],
)
def test_pressure_needs_its_speed_and_temperature(line: str, state: str) -> None:
    assert word(ENGINE, "oil pressure")(line) == state


def test_a_book_pressure_at_the_relief_valve_is_not_carried_elsewhere() -> None:
    engine = twin(
        '[oil]\ngrade = "40"\npressure = "4..5 bar"\npressure_at_speed = "3000 rpm"\n'
        'pressure_at_oil = "90 C"\nrelief = "4.5..5.5 bar"'
    )
    assert oil.expected_pressure(engine, 1000 / 60, 363.15) is None
    assert oil.expected_pressure(engine, 3000 / 60, 363.15) == Band(4e5, 5e5)


def test_oil_colder_than_its_grade_reaches_the_pump_is_said() -> None:
    cold = oil.expected_flow(PLUNGER, 5.0, 273.15 - 25.0)
    fair = oil.expected_flow(PLUNGER, 5.0, 273.15 - 15.0)
    assert cold is not None
    assert cold.too_cold
    assert fair is not None
    assert not fair.too_cold


def test_priming_takes_the_empty_volume_over_the_flow() -> None:
    engine = twin(
        '[oil]\npump_displacement = "4 cc"\ndrive_ratio = 0.5\nprime_volume = "200..300 ml"\n',
        '[starter]\ncranking_speed = "300..300.001 rpm"',
    )
    wait = oil.priming_s(engine)
    assert wait is not None
    assert (wait.low, wait.high) == (
        pytest.approx(200 / 9.5, rel=1e-4),
        pytest.approx(60, rel=1e-4),
    )


def test_a_yes_kept_before_the_file_gave_a_quantity_counts_no_more() -> None:
    before = twin('[oil]\ngrade = "40"')
    later = parse_engine_file(
        '[engine]\nname = "a"\nlayout = "inline"\ncylinders = 2\ncrank = "360 deg"\n'
        '[oil]\nquantity = "2.9..3.1 l"\n'
    )
    state = after(before, reading(before, "oil quantity yes"))
    assert item(before, state, "oil quantity").state == "good"
    assert item(later, state, "oil quantity").state == "open"
