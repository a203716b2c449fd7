"""Whatever is read or typed: verdicts keep their order, lines are read or refused in words."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from support_build import twin

from tickover.book.bodies import Reading, Work
from tickover.engine.tables.fits import Fit
from tickover.errors import InputError
from tickover.physics.tightening import tightening_order
from tickover.tasks.fasteners import torque_sums
from tickover.tasks.fit_verdict import FitReading, judge_fit
from tickover.tasks.quickline import understand_line

ENGINE = twin()
BORE = Fit.model_validate({"name": "a", "kind": "bore", "limits": "61.00..61.02 mm",
                           "wear_limit": "61.10 mm"})  # fmt: skip
ORDER = {"good": 0, "undecided": 1, "out": 2}
sizes = st.floats(0.0610, 0.0613)


@given(st.lists(sizes, min_size=1, max_size=8), st.floats(0.0, 2e-4))
def test_more_wear_never_looks_better(readings: list[float], wear: float) -> None:
    before = judge_fit(BORE, "", [FitReading(x, x) for x in readings])
    after = judge_fit(BORE, "", [FitReading(x + wear, x + wear) for x in readings])
    # Above the lower limit's guard band: nearer to it a larger bore may look better.
    if min(readings) > 0.061 + 1e-5:
        assert ORDER[after.state] >= ORDER[before.state]


@given(st.lists(sizes, min_size=1, max_size=8), sizes)
def test_a_further_reading_never_mends_a_bore(readings: list[float], further: float) -> None:
    few = judge_fit(BORE, "", [FitReading(x, x) for x in readings])
    more = judge_fit(BORE, "", [FitReading(x, x) for x in (*readings, further)])
    assert ORDER[more.state] >= ORDER[few.state]


@given(st.lists(sizes, min_size=1, max_size=8))
def test_good_means_likely_inside_and_out_means_likely_not(readings: list[float]) -> None:
    result = judge_fit(BORE, "", [FitReading(x, x) for x in readings])
    assert result.probability is not None
    if result.state == "good":
        assert result.probability >= 0.95
    if result.state == "out":
        assert result.probability <= 0.05


@given(st.floats(0.5, 300.0), st.sampled_from(["M6", "M8", "M10x1.25", "3/8 BSF", "2 BA"]),
       st.sampled_from(["dry", "zinc plated", "oiled", "cadmium plated"]),
       st.one_of(st.none(), st.floats(0.06, 0.6)))  # fmt: skip
def test_preload_grows_with_torque_and_lies_in_its_range(
    torque: float, name: str, surface: str, factor: float | None
) -> None:
    one = torque_sums(torque, name, "8.8", surface, factor)
    two = torque_sums(2 * torque, name, "8.8", surface, factor)
    assert one.pull.extremes.low < one.pull.estimate.value < one.pull.extremes.high
    assert abs(two.pull.estimate.value / one.pull.estimate.value - 2.0) < 1e-9
    assert two.overloaded or not one.overloaded


points = st.tuples(st.integers(-200, 200), st.integers(-200, 200))


@given(st.lists(points, min_size=2, max_size=16, unique=True))
def test_the_order_names_each_screw_once(positions: list[tuple[int, int]]) -> None:
    assert sorted(tightening_order(positions)) == list(range(len(positions)))


words = st.sampled_from(["fit", "torque", "cyl1", "cylinder", "piston", "top", "bottom", "along",
                         "across", "head bolts", "sump plug", "crank", "61.01 mm", "0.2", "22 Nm",
                         "stage 1", "done", "again", "loosened", "over", "-", "/", "..", "1e9",
                         "psi", "½", "\x00", "'", "nan"])  # fmt: skip


@given(st.sampled_from(["fit ", "torque "]), st.lists(words, max_size=6))
def test_any_line_is_understood_or_refused_in_words(first: str, rest: list[str]) -> None:
    line = first + " ".join(rest)
    try:
        body: object = understand_line(ENGINE, line).body
    except InputError as wrong:
        body = wrong.problem
    assert isinstance(body, Reading | Work | str)
    assert body
