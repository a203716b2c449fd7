"""Build measurements: from readings to mean, taper, out-of-round, clearance, verdict."""

from __future__ import annotations

import numpy as np
import pytest
from support_build import BORE_1, book, state_of, twin

from tickover.book.bodies import StrikeOut, Work
from tickover.book.entries import Entry
from tickover.book.fold import fold
from tickover.book.state import State
from tickover.engine.tables.fits import Fit
from tickover.errors import InputError
from tickover.pages.fits import fits_page
from tickover.tasks.fit_line import understand_fit
from tickover.tasks.fit_verdict import FitReading, FitResult, judge_fit
from tickover.tasks.fits import checks, findings, fit_results, fit_words

UM = 1e-6


def bore(**changes: object) -> Fit:
    wants = {
        "name": "cylinder", "kind": "bore", "limits": "61.00..61.02 mm", "wear_limit": "61.10 mm",
        "stations": ["top", "bottom"], "directions": ["along", "across"],
    }  # fmt: skip
    return Fit.model_validate({**wants, **changes})


def read(*sizes_mm: float) -> list[FitReading]:
    keys = [(s, d) for s in ("top", "bottom") for d in ("along", "across")]
    return [
        FitReading(mm * 1e-3, mm * 1e-3, station, direction, number)
        for number, (mm, (station, direction)) in enumerate(zip(sizes_mm, keys, strict=False), 1)
    ]


def test_mean_taper_and_out_of_round_by_hand() -> None:
    result = judge_fit(bore(), "cyl1", read(61.030, 61.050, 61.010, 61.014))
    values = np.array([[61.030, 61.050], [61.010, 61.014]]) * 1e-3
    assert result.mean is not None
    assert result.taper is not None
    assert result.out_of_round is not None
    assert result.mean.value == pytest.approx(values.mean(), abs=1e-9)
    # stations: means 61.040 and 61.012, so 28 um; directions: 20 and 4 um apart, so 20 um
    assert result.taper.value == pytest.approx(28 * UM, abs=1e-9)
    assert result.out_of_round.value == pytest.approx(20 * UM, abs=1e-9)
    assert result.taper.uncertainty == pytest.approx(5 * UM / np.sqrt(3) * np.sqrt(2))


def test_one_worn_reading_among_good_ones_makes_a_bore_out() -> None:
    result = judge_fit(bore(), "cyl1", read(61.130, 61.012, 61.010, 61.010))
    assert result.state == "out"
    assert "worn past the wear limit" in result.reasons
    assert result.probability is not None
    assert result.probability < 0.01


def test_between_limit_and_wear_limit_is_good_and_said_to_be_worn() -> None:
    result = judge_fit(bore(), "cyl1", read(61.060, 61.05, 61.04, 61.04))
    assert result.state == "good"
    assert result.worn


def test_a_journal_is_judged_by_its_smallest_reading() -> None:
    fit = Fit.model_validate({"name": "big end", "kind": "journal", "limits": "34.98..35.00 mm",
                              "wear_limit": "34.95 mm"})  # fmt: skip
    readings = [FitReading(x * 1e-3, x * 1e-3) for x in (34.99, 34.94)]
    result = judge_fit(fit, "", readings)
    assert result.state == "out"
    assert result.worst is not None
    assert result.worst.value == pytest.approx(0.03494)


def test_a_reading_within_its_own_error_of_a_limit_cannot_be_told() -> None:
    # 5 um give or take is 2.9 um standard, and 1.65 of them are 4.8 um.
    for mm, state in ((61.094, "good"), (61.096, "undecided"), (61.104, "undecided"),
                      (61.106, "out")):  # fmt: skip
        result = judge_fit(bore(), "cyl1", read(mm, 61.01, 61.01, 61.01))
        assert (mm, result.state) == (mm, state)


def test_readings_still_missing_keep_it_undecided_and_are_named() -> None:
    result = judge_fit(bore(), "cyl1", read(61.01, 61.01))
    assert result.state == "undecided"
    assert result.missing == ("bottom along", "bottom across")


def test_taper_past_its_limit_is_out_though_every_size_is_good() -> None:
    fit = bore(taper_limit="0.03 mm")
    result = judge_fit(fit, "cyl1", read(61.09, 61.09, 61.01, 61.01))
    assert result.state == "out"
    assert result.reasons == ("taper",)


def test_the_latest_reading_at_a_station_counts() -> None:
    readings = [*read(61.3, 61.01, 61.01, 61.01), FitReading(0.06101, 0.06101, "top", "along", 9)]
    assert judge_fit(bore(), "cyl1", readings).state == "good"


def test_scatter_of_repeated_readings_widens_the_mean() -> None:
    fit = Fit.model_validate({"name": "crank", "kind": "end float", "limits": "0.05..0.40 mm"})
    near = judge_fit(fit, "", [FitReading(x, x) for x in (200e-6, 200e-6, 200e-6)])
    far = judge_fit(fit, "", [FitReading(x, x) for x in (100e-6, 200e-6, 300e-6)])
    assert near.mean is not None
    assert far.mean is not None
    assert far.mean.value == pytest.approx(near.mean.value)
    # scatter: 100 um, over root three; reading error 13 um over root three
    assert far.mean.uncertainty == pytest.approx(np.hypot(100e-6, 13e-6) / np.sqrt(3))
    assert near.mean.uncertainty == pytest.approx(13e-6 / np.sqrt(3))


def test_a_bound_gives_no_probability() -> None:
    fit = Fit.model_validate({"name": "ring", "kind": "ring gap", "limits": "0.15..0.30 mm"})
    result = judge_fit(fit, "cyl1", [FitReading(0.0006, None)])
    assert result.state == "out"
    assert result.probability is None


def clearance_of(*lines: str) -> FitResult:
    engine = twin()
    results = fit_results(engine, book(engine, *lines))
    return next(r for r in results if r.fit.kind == "clearance" and r.place == "cyl1")


def test_clearance_is_hole_less_piston_with_both_uncertainties() -> None:
    result = clearance_of(*BORE_1, "fit cyl1 piston 60.950 mm")
    assert result.mean is not None
    assert result.worst is not None
    assert result.mean.value == pytest.approx((61.0095 - 60.950) * 1e-3, abs=1e-9)
    assert result.worst.value == pytest.approx((61.012 - 60.950) * 1e-3, abs=1e-9)
    assert result.mean.uncertainty == pytest.approx(np.hypot(5, 4) * UM / np.sqrt(3))
    assert result.state == "good"


def test_clearance_waits_for_both_parts_and_is_no_better_than_they_are() -> None:
    assert clearance_of(*BORE_1).state == "open"
    half = clearance_of(*BORE_1[:2], "fit cyl1 piston 60.950 mm")
    assert half.state == "undecided"
    assert "a part still lacks readings" in half.reasons


def test_a_clearance_measured_itself_counts_when_it_is_the_newer() -> None:
    lines = (*BORE_1, "fit cyl1 piston 60.950 mm")
    direct = clearance_of(*lines, "fit cyl1 piston in cylinder 0.20 mm")
    assert direct.state == "out"
    again = clearance_of("fit cyl1 piston in cylinder 0.20 mm", *lines)
    assert again.state == "good"


def test_boring_makes_one_cylinder_stale_and_old_readings_do_not_mix_in() -> None:
    engine = twin()
    lines = (*BORE_1, "fit cyl1 piston 60.950 mm", "fit cyl1 top ring 0.20 mm")
    bored = Work("rebored or honed", ("cyl1",))
    state = book(engine, *lines, bored)
    for name in ("bore: cylinder", "clearance: piston in cylinder", "ring gap: top ring"):
        assert state_of(engine, state, name, "cyl1").state == "stale", name
    assert state_of(engine, state, "piston", "cyl1").state == "good"
    after = book(engine, *lines, bored, "fit cyl1 cylinder top along 61.050 mm")
    result = next(r for r in fit_results(engine, after) if r.check_name == "bore: cylinder")
    assert len(result.readings) == 1
    assert state_of(engine, after, "bore: cylinder", "cyl1").state == "undecided"
    # its piston is newer than the boring, but the bore is not: the older proof counts
    mixed = book(engine, *BORE_1, bored, "fit cyl1 piston 60.950 mm")
    assert state_of(engine, mixed, "clearance: piston in cylinder", "cyl1").state == "stale"


def test_work_on_the_other_cylinder_touches_nothing() -> None:
    engine = twin()
    state = book(engine, *BORE_1, Work("rebored or honed", ("cyl2",)))
    assert state_of(engine, state, "bore: cylinder", "cyl1").state == "good"


def test_struck_out_readings_count_for_nothing() -> None:
    engine = twin()
    state = book(engine, "fit cyl1 top ring 0.9 mm")
    assert state_of(engine, state, "ring gap: top ring", "cyl1").state == "out"
    first = state.entries[0]
    struck = Entry("f" * 32, 2, "strike-out", first.at, first.at, "Ada",
                   StrikeOut(first.id, "wrong ring"))  # fmt: skip
    after = fold([struck], state)
    assert state_of(engine, after, "ring gap: top ring", "cyl1").state == "open"


def test_words_name_sizes_shape_and_limits_in_the_units_of_the_build() -> None:
    engine = twin('[show]\nclearance = "thou"\n')
    result = fit_results(engine, book(engine, *BORE_1))[0]
    words = fit_words(engine, result)
    assert words.startswith("61.008 to 61.012 mm, mean 61.010 mm, taper 0.1 thou")
    assert words.endswith("(61.00 to 61.02 mm, wear limit at most 61.10 mm)")


def test_every_check_says_what_it_proves_and_how() -> None:
    engine = twin()
    every = checks(engine, State())
    assert len(every) == 9
    assert all(c.proves and c.how and c.title and c.minutes > 0 for c in every)
    assert len({c.key for c in every}) == len(every)
    assert findings(engine, State()) == ()


@pytest.mark.parametrize(
    ("line", "low_mm", "high_mm", "station"),
    [
        ("cyl1 cylinder top along 61.012 mm", 61.012, 61.012, "top"),
        ("cyl1 bore along top 61,012", 61.012, 61.012, "top"),
        ("Cylinder cyl 2 bottom across 2.4 in", 60.96, 60.96, "bottom"),
        ("cyl2 top ring 0.20-0.25 mm", 0.20, 0.25, ""),
        ("cyl2 ring gap 8 thou", 0.2032, 0.2032, ""),
        ("crank .13 / .15 mm", 0.13, 0.15, ""),
        ("crank under 0.05 mm", None, 0.05, ""),
        ("cyl1 top ring over 0.60 mm", 0.60, None, ""),
    ],
)
def test_short_lines(line: str, low_mm: float | None, high_mm: float | None, station: str) -> None:
    reading = understand_fit(twin(), line).reading
    assert reading.station == station
    for end, mm in ((reading.low_m, low_mm), (reading.high_m, high_mm)):
        assert end == (None if mm is None else pytest.approx(mm * 1e-3, rel=1e-12))


def test_readings_are_shown_as_finely_as_they_were_typed_and_all_of_a_part_alike() -> None:
    lines = ("fit cyl1 cylinder top along 61.010 mm", "fit cyl1 cylinder top across 61.01 mm",
             "fit cyl1 cylinder bottom along 61.012 mm", "fit cyl1 piston 60.950 mm")  # fmt: skip
    engine = twin()
    page = fits_page(engine, book(engine, *lines))
    bore = next(x for x in page.lines if x.result.fit.is_round and x.single)
    assert [words.rsplit(" ", 2)[1] for words in bore.single] == ["61.010", "61.010", "61.012"]
    assert bore.reading.startswith("61.010 to 61.012 mm, mean 61.011 mm")
    piston = next(x for x in page.lines if x.result.fit.kind == "piston" and x.place == "cyl1")
    assert piston.reading == "60.950 mm"
    gap = next(x for x in page.lines if x.result.fit.between and x.place == "cyl1")
    # uncertainty to two digits, value to the same place: GUM 7.2.6
    assert "0.0607 mm give or take 0.0074 mm" in gap.reading


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("", "No such fit"),
        ("cyl3 cylinder top along 61 mm", "No such fit"),
        ("cyl1 cylinder 61.01 mm", "needs its station"),
        ("cyl1 cylinder top 61.01 mm", "needs its direction"),
        ("cyl1 cylinder top along", "needs a number"),
        ("cyl1 cylinder top along 6.1 mm", "far from its limits"),
        ("cyl1 cylinder top along 61 psi", "not of length"),
        ("top ring 0.2 mm", "several fits"),
        ("crank -0.1 mm", "cannot be negative"),
        ("crank 0.3-0.1 mm", "backwards"),
    ],
)
def test_lines_that_mean_nothing_are_refused_in_words(line: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        understand_fit(twin(), line)
