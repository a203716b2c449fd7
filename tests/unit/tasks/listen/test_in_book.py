"""Recordings in the book: what is kept comes back, slots get names, deleted sound stays away."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from tests.support_listen import RATE, TRIPLE, engine_file, engine_sound
from tests.support_record import printed_part

from tickover.book.bodies import EngineFileKept, Work
from tickover.book.entries import number_entries
from tickover.book.exchange import export_build, import_build
from tickover.book.fold import fold
from tickover.book.store import Store
from tickover.engine import EngineFile, load_engine_file, parse_engine_file
from tickover.errors import InputError
from tickover.pages.balance import balance_page
from tickover.pages.hearing import Heard, hear, keep_heard
from tickover.pages.record.listen import listen_part
from tickover.plan.checks import CheckState
from tickover.plan.faultfinding import fault_advice, knowledge
from tickover.tasks.balance_book import balance_book
from tickover.tasks.finding import Finding
from tickover.tasks.listen.analysis import analyse
from tickover.tasks.listen.in_book import (
    CHECK,
    HeardSpeed,
    answer_entry,
    checks,
    deleted_entry,
    earlier_than,
    findings,
    heard_idle,
    idle_entry,
    recordings,
    reference_entry,
    slot_names,
    work_between,
)
from tickover.tasks.listen.listening import Listening
from tickover.tasks.listen.plain import kept_listening, listening_of
from tickover.tasks.listen.waterfall import waterfall
from tickover.tasks.mixture.in_book import mixture_book
from tickover.tasks.strobe import reading_at_heard_idle

EXAMPLES = Path(__file__).parents[4] / "examples" / "engines"
AT = "2031-03-01T10:00:00Z"
TEXT = (
    '[engine]\nname = "T"\nlayout = "inline"\ncylinders = 3\nfiring_order = [1, 3, 2]\n'
    "firing_angles = [0, 240, 480]\n"
)


@pytest.fixture(scope="module")
def engine() -> EngineFile:
    return parse_engine_file(TEXT, "t.toml")


@pytest.fixture(scope="module")
def weak(engine: EngineFile) -> Heard:
    return hear(engine, engine_file(0.4), "idle.wav", 1100.0)


def test_a_listening_comes_back_from_the_book_as_it_was(weak: Heard) -> None:
    plain = answer_entry(weak.listening, "a" * 64, "x", synthetic=False).detail["heard"]
    back = listening_of(plain)
    names = (
        "firing_angles_deg", "idle_rpm", "slots", "weak_slot", "blips", "drift",
        "variation_percent", "variation_interval", "half_orders", "why", "measures",
    )  # fmt: skip
    for name in names:
        assert getattr(back, name) == getattr(weak.listening, name), name
    assert len(back.track) <= 600
    assert kept_listening(back) == kept_listening(listening_of(kept_listening(back)))


def test_slots_follow_the_firing_order_from_the_named_one(engine: EngineFile, weak: Heard) -> None:
    heard = replace(weak.listening, weak_slot=1)
    assert slot_names(engine, heard, 3) == (1, 3, 2)
    assert slot_names(engine, heard, 1) == (2, 1, 3)


def test_on_uneven_firing_a_cylinder_that_cannot_be_the_slot_is_refused() -> None:
    twin = parse_engine_file(
        '[engine]\nname = "V"\nlayout = "V"\ncylinders = 2\nv_angle = "45 deg"\n'
        "firing_order = [1, 2]\nfiring_angles = [0, 315]\n", "v.toml",
    )  # fmt: skip
    heard = Listening(None, 9.0, (0.0, 315.0), None, weak_slot=1)
    assert slot_names(twin, heard, 2) == (1, 2)
    with pytest.raises(InputError, match="uneven gaps"):
        slot_names(twin, heard, 1)


def test_only_a_weak_slot_can_be_named(engine: EngineFile, weak: Heard) -> None:
    (entry, _) = number_entries(
        [answer_entry(replace(weak.listening, weak_slot=None), "a" * 64, "x", synthetic=False),
         Work("jets changed")], at=AT, by="t",
    )  # fmt: skip
    (kept,) = recordings(fold([entry]))
    with pytest.raises(InputError, match="No slot"):
        reference_entry(engine, kept, "2", "wet rag")


def test_the_idle_heard_is_a_reading_with_at_least_half_a_percent_of_doubt(weak: Heard) -> None:
    body = idle_entry(weak.listening, "a" * 64, synthetic=False)
    assert body is not None
    state = fold(number_entries([body, Work("spokes tightened"), Work("needle moved")],
                                at=AT, by="t"))  # fmt: skip
    idle = heard_idle(state)
    assert idle is not None
    assert idle.rpm == pytest.approx(1100, rel=0.005)
    # 95 % of half a percent standard uncertainty to either side, and what the idle wandered
    assert 2 * 1.96 * 0.005 * 1095 < idle.high - idle.low < 60
    assert idle.overtaken == "needle moved"
    assert idle_entry(weak.listening, "a" * 64, synthetic=True) is None


def test_a_refused_recording_cannot_be_kept(engine: EngineFile) -> None:
    heard = analyse(engine_sound()[: 2 * RATE], RATE, TRIPLE)
    with pytest.raises(InputError, match="least"):
        answer_entry(heard, "a" * 64, "x", synthetic=False)


def test_a_synthetic_recording_proves_nothing_and_stands_beside_its_like(
    engine: EngineFile, weak: Heard
) -> None:
    bodies = [answer_entry(weak.listening, "a" * 64, "x", synthetic=s) for s in (True, False)]
    made, real = number_entries(bodies, at=AT, by="t")
    assert findings(engine, fold([made])) == ()
    (found,) = findings(engine, fold([made, real]))
    assert (found.name, found.state, found.proof) == (CHECK, "out", 2)
    beside = earlier_than(fold([made, real]), weak.listening, synthetic=False)
    assert beside is not None
    assert beside.entry.number == 2


def test_exports_come_without_a_deleted_sound_and_with_its_analysis(
    tmp_path: Path, engine: EngineFile, weak: Heard
) -> None:
    with Store.open(tmp_path / "a.book") as store, Store.open(tmp_path / "b.book") as other:
        build = store.create_build("T", TEXT, AT, "t")
        keep_heard(store, build.id, weak, at=AT, by="t")
        (kept,) = recordings(store.state(build.id))
        export_build(store, build.id, tmp_path / "with.zip")
        store.append(build.id, Work("jets changed"), at=AT, by="t")
        store.forget_blob(build.id, kept.sha256, deleted_entry(kept, "loud"), at=AT, by="t")
        with pytest.raises(InputError, match="not in the book"):
            store.forget_blob(build.id, kept.sha256, deleted_entry(kept, ""), at=AT, by="t")
        assert store.verify() == store.last_number(build.id)
        export_build(store, build.id, tmp_path / "without.zip")
        assert weak.sound in (tmp_path / "with.zip").read_bytes()
        assert weak.sound not in (tmp_path / "without.zip").read_bytes()
        import_build(other, tmp_path / "without.zip")
        assert other.state(build.id) == store.state(build.id)
        (there,) = recordings(other.state(build.id))
        assert there.deleted is not None
        assert there.heard.idle_rpm == kept.heard.idle_rpm
        assert work_between(other.state(build.id), kept.entry.number, 0) == ("jets changed",)
    # secure_delete: not a page of the sound is left in the file
    left = (tmp_path / "a.book").read_bytes()
    assert weak.sound[2000:2400] not in left


def test_the_waterfall_is_loudest_at_firing_order_when_even_and_at_half_when_one_is_weak(
    weak: Heard,
) -> None:
    healthy = analyse(engine_sound(1.0), RATE, TRIPLE)
    fall = waterfall(engine_sound(1.0), RATE, healthy)
    assert fall is not None
    assert weak.waterfall is not None
    # ideal even pulses of three have only multiples of 1.5; reference: firing order formulas
    between = [order / 2 for order in range(1, 13) if order % 3]
    firing = [order / 2 for order in range(1, 13) if order % 3 == 0]

    def above(fall: object) -> float:
        level = fall.mean_level  # type: ignore[attr-defined]
        return sum(map(level, firing)) / len(firing) - sum(map(level, between)) / len(between)

    assert above(fall) > 1.5
    assert above(fall) > above(weak.waterfall) + 0.5


def test_the_record_tells_the_latest_real_recording_and_the_fate_of_each(
    engine: EngineFile, weak: Heard
) -> None:
    bodies = [answer_entry(weak.listening, letter * 64, "x", synthetic=letter == "b")
              for letter in "ab"]  # fmt: skip
    kept = recordings(fold(number_entries(bodies, at=AT, by="t")))[0]
    state = fold(
        number_entries([EngineFileKept(TEXT), *bodies, deleted_entry(kept, "")], at=AT, by="t")
    )
    part = listen_part(engine, state)
    assert part is not None
    words = printed_part(part, state)
    assert "one cylinder is about" in words
    assert "synthetic, proves nothing" in words
    assert "deleted, entry 4" in words
    assert listen_part(engine, fold([])) is None


def test_a_strobe_reading_at_the_heard_idle_carries_its_doubt_along_the_curve() -> None:
    curve = ((1000.0, 10.0), (2000.0, 30.0))  # 0.02 degrees for each rpm
    idle = HeardSpeed(1500.0, 1500.0 - 98.0, 1500.0 + 98.0, 3, AT, "")
    read = reading_at_heard_idle(12.0, idle, curve)
    # 50 rpm of standard uncertainty are one degree here, beside one degree of the hand
    assert read.speed_rpm == 1500.0
    assert read.spread == pytest.approx(2**0.5, rel=1e-3)
    flat = reading_at_heard_idle(12.0, idle, ((0.0, 10.0), (9000.0, 10.0)))
    assert flat.spread == pytest.approx(1.0)
    with pytest.raises(InputError, match="needle moved since entry 3"):
        reading_at_heard_idle(12.0, replace(idle, overtaken="needle moved"), curve)
    with pytest.raises(InputError, match="No recording"):
        reading_at_heard_idle(12.0, None, curve)


def test_the_mixture_map_and_the_balance_page_take_the_idle_that_was_heard(weak: Heard) -> None:
    engine = load_engine_file(EXAMPLES / "triple-240.toml")
    body = idle_entry(weak.listening, "a" * 64, synthetic=False)
    assert body is not None
    before, after = (
        mixture_book(engine, fold(number_entries(bodies, at=AT, by="t"))).machine.idle_rpm
        for bodies in ((), (body,))
    )
    assert after == pytest.approx(1100, rel=0.005)
    assert abs(before - after) > 20
    moved = fold(number_entries([body, Work("jets changed")], at=AT, by="t"))
    assert mixture_book(engine, moved).machine.idle_rpm == before
    page = balance_page(engine, balance_book(engine, moved))
    assert any("Since then: jets changed" in words for words in page.notes)


def test_a_weak_slot_raises_the_causes_of_one_cold_cylinder(engine: EngineFile) -> None:
    known = knowledge("runs, but")
    check = checks(engine, fold([]))[0]
    states = (CheckState(check, "out", Finding(CHECK, "", "out", "")),)
    with_it = dict(fault_advice(engine, fold([]), known, (), states).causes)
    without = dict(fault_advice(engine, fold([]), known, (), ()).causes)
    for cause in ("plug or cap of one cylinder", "low compression in one cylinder",
                  "pilot jet of one carburettor blocked"):  # fmt: skip
        assert with_it[cause] > 2 * without[cause]
    assert with_it["rings not yet bedded"] < 0.3 * without["rings not yet bedded"]
