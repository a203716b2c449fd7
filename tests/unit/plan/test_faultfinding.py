"""Fault finding in the book: what is proved counts, answers move it, weights are the user's."""

from __future__ import annotations

import numpy as np
import pytest
from support_book import more
from support_start import ROW, small, yes

from tickover.book.bodies import Acceptance, StrikeOut, Work
from tickover.decide.simulation import advised, checklist, simulate
from tickover.engine import load_engine_file, parse_engine_file
from tickover.errors import InputError
from tickover.pages.building import engine_of, fault_page_of
from tickover.plan.checks import PROVIDERS
from tickover.plan.faultfinding import (
    SYMPTOMS,
    answer_entry,
    begin_entry,
    changed_weights,
    fault_advice,
    knowledge,
    looked_entry,
)
from tickover.plan.faultfinding.knowledge import fault_model

KNOWN = knowledge("will not start")
SPARK = "is there a spark at a plug held to the head?"
DRAIN = "does fuel run when a bowl's drain is opened?"


COMPRESSION = """
[engine]
name = "Invented single"
layout = "single"
bore = "61 mm"
stroke = "61.5 mm"
rod = "118 mm"
compression_ratio = 9.4
[compression]
limit = "9..12 bar"
"""


def advice(state):
    return fault_advice(engine_of(state), state, KNOWN)


def chance(state, cause: str) -> float:
    return dict(advice(state).causes)[cause]


def begun(*bodies):
    return small([begin_entry(KNOWN), *bodies])


def test_the_same_question_is_answered_from_one_model() -> None:
    assert fault_model(KNOWN) is fault_model(KNOWN)
    assert fault_model(KNOWN, (("spark", 3.0),)) is fault_model(KNOWN, (("spark", 3.0),))
    assert fault_model(KNOWN, (), (("flooded", 3.0),)) is not fault_model(KNOWN)


@pytest.mark.parametrize("symptom", SYMPTOMS)
def test_every_table_of_the_knowledge_can_be_used(symptom: str) -> None:
    known = knowledge(symptom)
    words = {cause.words for cause in known.causes}
    assert len(words) == len(known.causes)
    for question in known.questions:
        assert set(question.when) <= words, question.words
        for row in (question.usual, *question.when.values()):
            assert len(row) == len(question.outcomes)
            assert sum(row) == pytest.approx(1.0, abs=1e-9), question.words
    for name, row in known.proofs.items():
        assert set(row) <= words, name
        assert all(0 < p < 1 for p in row.values())


@pytest.mark.parametrize("symptom", SYMPTOMS)
def test_every_proof_bears_the_name_of_a_check(symptom: str, examples) -> None:
    made = {
        check.name
        for engine, empty in examples
        for provider in PROVIDERS
        for check in provider.checks(engine, empty)
    }
    assert set(knowledge(symptom).proofs) <= made


@pytest.fixture(scope="module")
def examples():
    from pathlib import Path

    from tickover.book.state import State

    folder = Path(__file__).parents[3] / "examples" / "engines"
    engines = [load_engine_file(path) for path in sorted(folder.glob("*.toml"))]
    engines.append(parse_engine_file(COMPRESSION, "compression.toml"))
    return [(engine, State()) for engine in engines]


def test_a_proof_speaks_against_its_cause_and_stale_proof_says_less() -> None:
    nothing = small()
    good = more(nothing, yes("spark", "plug1"))
    stale = more(good, Work("coil changed"))
    least, some, most = (chance(s, "no spark at any plug") for s in (good, stale, nothing))
    assert least < 0.2 * most
    assert 2 * least < some < most
    assert "void since" in advice(stale).proved[0]


def test_an_accepted_check_proves_nothing() -> None:
    accepted = small([Acceptance("spark", "plug1", "no time")])
    assert chance(accepted, "weak spark") == chance(small(), "weak spark")
    assert advice(accepted).proved == ()


def test_what_was_found_out_points_at_its_cause() -> None:
    out = small([yes("spark", "plug1", 0.0)])
    assert chance(out, "no spark at any plug") > 3 * chance(small(), "no spark at any plug")


def test_answers_move_the_causes_and_are_not_asked_again() -> None:
    state = begun(answer_entry(KNOWN, DRAIN, "nothing"))
    assert chance(state, "bowls empty") > 0.25
    found = advice(state)
    assert DRAIN not in {thing.words for thing in (found.next, *found.also)}


def test_a_look_without_finding_turns_to_the_others() -> None:
    state = begun(looked_entry(KNOWN, "bowls empty", False))
    assert chance(state, "bowls empty") < 0.02
    assert advice(state).next.words != "bowls empty"


def test_finding_ends_the_session_and_beginning_starts_anew() -> None:
    state = begun(answer_entry(KNOWN, SPARK, "none"), looked_entry(KNOWN, "flooded", True))
    page = fault_page_of(ROW, state)
    assert (page.found, page.under_way) == ("flooded", False)
    again = fault_page_of(ROW, more(state, begin_entry(KNOWN)))
    assert (again.found, again.under_way, again.answers) == ("", True, ())


def test_contradicting_answers_are_said_and_both_kept() -> None:
    state = begun(answer_entry(KNOWN, SPARK, "none"), answer_entry(KNOWN, SPARK, "strong, blue"))
    found = advice(state)
    assert len(found.session.answers) == 2
    assert "'strong, blue'" in found.contradictions[0]
    assert "'none'" in found.contradictions[0]
    struck = more(state, StrikeOut(state.entries[-1].id, "misread"))
    assert advice(struck).contradictions == ()
    assert chance(struck, "no spark at any plug") > 0.2


def test_questions_and_causes_are_refused_with_the_nearest() -> None:
    assert answer_entry(KNOWN, "Does it cough or pop", "no").what.endswith("cough or pop?")
    with pytest.raises(InputError, match="bowls empty"):
        looked_entry(KNOWN, "bowls emty", True)
    with pytest.raises(InputError, match="strong, blue"):
        answer_entry(KNOWN, SPARK, "green")
    with pytest.raises(InputError, match="runs, but"):
        knowledge("will not stop")


WEIGHTED = '[fault_weights]\n"exhaust blocked" = 300\n"too much oil" = 2\n'


def test_weights_of_the_engine_file_change_the_order() -> None:
    state = small((), WEIGHTED)
    engine = engine_of(state)
    assert changed_weights(engine, KNOWN) == (("exhaust blocked", 300.0),)
    assert changed_weights(engine, knowledge("runs, but")) == (("too much oil", 2.0),)
    page = fault_page_of(ROW, state)
    assert page.causes[0].words == "exhaust blocked"
    assert page.causes[0].weight_changed
    assert page.next.words == "exhaust blocked"


def test_an_unknown_cause_is_an_error_with_the_nearest_and_no_weight_counts() -> None:
    state = small((), '[fault_weights]\n"exhaust blockd" = 3\n"flooded" = 900\n')
    with pytest.raises(InputError, match="exhaust blocked"):
        changed_weights(engine_of(state), KNOWN)
    page = fault_page_of(ROW, state)
    assert "did you mean" in page.weight_problem
    assert not any(cause.weight_changed for cause in page.causes)


def test_advice_finds_faults_in_far_less_time_than_one_list_for_all() -> None:
    """A small copy of the 5,000 of bench/bench_start.py."""
    model = fault_model(KNOWN)
    ours = simulate(model, np.random.default_rng(5), 600, advised).minutes.mean()
    fixed = checklist(range(len(model.causes)))
    other = simulate(model, np.random.default_rng(5), 600, fixed).minutes.mean()
    assert ours < 0.7 * other


def test_page_shows_shares_that_sum_to_one_and_claims_no_certainty() -> None:
    page = fault_page_of(ROW, begun(answer_entry(KNOWN, DRAIN, "nothing")))
    assert sum(c.share for c in page.causes) + page.unlisted.share == pytest.approx(1.0)
    assert all("100" not in cause.chance for cause in page.causes)
    assert page.answers[0].said == "nothing"
    assert [q.number for q in page.questions] == list(range(1, len(KNOWN.questions) + 1))
