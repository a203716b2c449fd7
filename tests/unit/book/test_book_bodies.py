"""Bodies of entries: what they refuse, and that JSON gives them back."""

import math
import pickle

import pytest

from tickover.book.entries import (
    KINDS,
    Acceptance,
    Answer,
    Draft,
    EngineFileKept,
    Entry,
    LooseEndClosed,
    LooseEndOpened,
    Note,
    Picture,
    Reading,
    StartAttempt,
    StockChanged,
    StrikeOut,
    Unknown,
    Work,
    new_id,
    number_entries,
)
from tickover.book.fields import Facts, moment
from tickover.book.plain import (
    body_as_kept,
    body_from_json,
    body_from_plain,
    body_to_json,
    canonical_json,
)
from tickover.errors import InputError

SHA = "ab" * 32
BODIES = [
    Reading("clearance", "in4", 1.0e-4, 1.1e-4, "m", "0.10 / 0.11 mm", "blades", {"cold": True}),
    Reading("clearance", "ex4", None, 0.3e-3, "m", "/ 0.30"),
    Work("shims changed", ("in4", "ex4"), {"from": [0.0026, 0.0028], "why": {"seat": "recut"}}),
    LooseEndOpened("oil line off", "oil", SHA),
    LooseEndClosed("0" * 32),
    StartAttempt("ran", {"seconds": 4.5}),
    Note("rag in inlet 2\nmust come out", "in2"),
    Picture(SHA, "image/jpeg", "seat", "ex4"),
    Acceptance("clearance", "ex4", "seat will bed in"),
    StrikeOut("1" * 32, "wrong valve"),
    EngineFileKept('[engine]\nname = "Invented 539 triple"\n', "triple.toml"),
    StockChanged("shim", 2.65e-3, "m", 3, 9.5, "mark", "second drawer"),
    StockChanged("head gasket", None, "", 1),
    Answer("fit to start", "no", SHA, {"open": ["spark"]}),
]


def test_every_kind_is_among_the_bodies_tried_here():
    assert {body.kind for body in BODIES} == set(KINDS)


@pytest.mark.parametrize("body", BODIES, ids=lambda body: body.kind)
def test_json_gives_the_body_back_either_way(body):
    text = body_to_json(body)
    assert body_from_json(body.kind, text) == body
    assert body_as_kept(body.kind, text) == body
    assert body_to_json(body_as_kept(body.kind, text)) == text
    assert hash(body_as_kept(body.kind, text)) == hash(body)
    assert pickle.loads(pickle.dumps(body)) == body


def test_a_kind_of_a_newer_tickover_is_kept_whole():
    text = '{"deep":{"list":[1,2.5,null]},"rpm":900}'
    body = body_from_json("sound heard", text)
    assert isinstance(body, Unknown)
    assert body.kind == "sound heard"
    assert body.data["deep"]["list"] == (1, 2.5, None)
    assert body_to_json(body) == text


def test_a_known_kind_cannot_pass_as_unknown():
    with pytest.raises(InputError, match="known here"):
        Unknown("reading", {})


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: Reading("clearance", "in1", math.nan, 1.0, "m", ""), "low"),
        (lambda: Reading("clearance", "in1", 0.0, math.inf, "m", ""), "high"),
        (lambda: Reading("clearance", "in1", 2.0, 1.0, "m", ""), "low"),
        (lambda: Reading("clearance", "in1", None, None, "m", ""), "low"),
        (lambda: Reading("clearance", "in1", "0.1", 1.0, "m", ""), "low"),
        (lambda: Reading("clearance", "in1", True, 1.0, "m", ""), "low"),
        (lambda: Reading("clearance", "in1", 10**400, None, "m", ""), "low"),
        (lambda: Reading("", "in1", 1.0, 1.0, "m", ""), "what"),
        (lambda: Reading("clearance", "in\n1", 1.0, 1.0, "m", ""), "place"),
        (lambda: Reading("clearance", "in1", 1.0, 1.0, "", ""), "unit"),
        (lambda: Reading("clearance", "in1", 1.0, 1.0, "m", "x" * 501), "typed"),
        (lambda: Reading("clearance", "in1", 1.0, 1.0, "m", "", "", ["cold"]), "conditions"),
        (lambda: Work("head off", "cyl1"), "places"),
        (lambda: Work("head off", (), {"x": math.nan}), "detail"),
        (lambda: Work("head off", (), {"x": object()}), "detail"),
        (lambda: Work("head off", (), {1: "x"}), "detail"),
        (lambda: LooseEndOpened(" "), "label"),
        (lambda: LooseEndOpened("oil line off", "", "no sha"), "picture"),
        (lambda: LooseEndClosed(""), "entry"),
        (lambda: Note("x" * 20_001), "text"),
        (lambda: Note("bell \x07"), "text"),
        (lambda: Note("half a sign \ud800"), "text"),
        (lambda: Picture("AB" * 32, "image/jpeg"), "sha256"),
        (lambda: Picture(SHA, "jpeg"), "media_type"),
        (lambda: Acceptance("clearance", "in1", "  "), "reason"),
        (lambda: StrikeOut("0" * 32, ""), "reason"),
        (lambda: EngineFileKept("x" * 1_000_001), "text"),
        (lambda: StockChanged("shim", 2.6e-3, "m", 1.5), "change"),
        (lambda: StockChanged("shim", 2.6e-3, "m", True), "change"),
        (lambda: StockChanged("shim", 2.6e-3, "m", 1, -2.0), "price"),
        (lambda: StockChanged("shim", math.inf, "m", 1), "size"),
        (lambda: Answer("", "yes"), "question"),
    ],
)
def test_bad_values_are_refused_with_the_name_of_the_field(make, field):
    with pytest.raises(InputError) as caught:
        make()
    assert caught.value.where.split(",")[0] == field


def test_a_missing_reason_says_so():
    with pytest.raises(InputError, match="Accepting needs a reason"):
        Acceptance("clearance", "in1", "")


@pytest.mark.parametrize(
    ("kind", "text", "says"),
    [
        ("note", "{", "not JSON"),
        ("note", "[]", "mapping of fields"),
        ("note", '{"txet": "x"}', "Write 'text'"),
        ("note", '{"place": "in1"}', "'text' is missing"),
        ("note", '{"text": 5}', "note, text: Text is wanted"),
        ("reading", '{"what":"c","place":"","low":NaN,"high":1,"unit":"m","typed":""}', "NaN"),
        ("reading", '{"what":"c","place":"","low":1e999,"high":1,"unit":"m","typed":""}', "finite"),
        ("note", "[" * 100_000, "not JSON"),
        ("note", '{"text":"x","place":' + "1" * 5000 + "}", "not JSON"),
        ("work", '{"what":"x","detail":' + "[" * 20 + "]" * 20 + "}", "named values"),
        ("work", '{"what":"x","detail":{"a":' + "[" * 20 + "]" * 20 + "}}", "too deep"),
    ],
)
def test_json_that_is_no_body_is_refused_with_a_sentence(kind, text, says):
    with pytest.raises(InputError, match=says):
        body_from_json(kind, text)


def test_a_field_added_later_with_a_default_may_be_missing():
    assert body_from_plain("note", {"text": "x"}) == Note("x", "")


def test_details_cannot_be_changed_from_outside():
    given = {"sizes": [1, 2]}
    work = Work("shims changed", (), given)
    given["sizes"].append(3)
    assert work.detail["sizes"] == (1, 2)
    with pytest.raises(TypeError):
        work.detail["sizes"] = ()
    assert work.detail == {"sizes": (1, 2)}
    assert hash(Facts({"a": 1, "b": [2]})) == hash(Facts({"b": [2], "a": 1}))


def test_too_many_values_are_refused():
    with pytest.raises(InputError, match="Too many values"):
        Work("log", (), {"x": list(range(50_001))})


def test_canonical_json_does_not_depend_on_the_order_of_keys():
    assert canonical_json({"b": 1, "a": {"d": 1, "c": "µ"}}) == '{"a":{"c":"µ","d":1},"b":1}'
    with pytest.raises(InputError):
        canonical_json(math.nan)
    with pytest.raises(InputError):
        canonical_json({"a": object()})


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ("2031-04-05T18:30:00Z", "2031-04-05T18:30:00Z"),
        ("2031-04-05T18:30:00.999999+00:00", "2031-04-05T18:30:00Z"),
        ("2031-04-05T20:30:00+02:00", "2031-04-05T18:30:00Z"),
        ("0800-01-01T00:00:00Z", "0800-01-01T00:00:00Z"),
    ],
)
def test_moments_are_kept_in_one_way(given, kept):
    assert moment(given, "at") == kept


@pytest.mark.parametrize(
    "given",
    [
        "",
        "yesterday",
        "2031-04-05T18:30:00",
        "2031-02-30T00:00:00Z",
        5,
        None,
        "0001-01-01T00:00+09:00",
    ],
)
def test_other_moments_are_refused(given):
    with pytest.raises(InputError, match="universal time"):
        moment(given, "at")


def test_an_entry_knows_the_kind_of_its_body():
    with pytest.raises(InputError, match="kind"):
        Entry(new_id(), 1, "reading", "", "", "Ada", Note("x"))


def test_a_draft_checks_its_id():
    Draft(Note("x"), id=new_id())
    for bad in ("x", "A" * 32, "0" * 31, "g" * 32):
        with pytest.raises(InputError, match="id of an entry"):
            Draft(Note("x"), id=bad)


def test_a_draft_takes_nothing_but_a_body():
    (entry,) = number_entries([Note("x")], at="2031-04-05T18:30:00Z", by="Ada")
    for other in (entry, {"text": "x"}, None):
        with pytest.raises(InputError, match="Only the body"):
            Draft(other)


def test_details_may_not_hold_a_whole_recording_as_text():
    with pytest.raises(InputError, match="Too many values"):
        Work("log", (), {str(n): "x" * 900_000 for n in range(6)})


def test_entries_without_a_book_are_numbered_and_repeatable():
    first = number_entries(BODIES, at="2031-04-05T18:30:00Z", by="Ada")
    assert [entry.number for entry in first] == list(range(1, len(BODIES) + 1))
    assert first == number_entries(BODIES, at="2031-04-05T18:30:00Z", by="Ada")
    assert len({entry.id for entry in first}) == len(BODIES)
