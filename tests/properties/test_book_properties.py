"""What holds for any book: folding in pieces, strike-outs, round trips."""

import io
import itertools
import string
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tickover.book.csvfile import read_table, write_table
from tickover.book.entries import (
    Acceptance,
    Answer,
    Draft,
    EngineFileKept,
    Entry,
    LooseEndClosed,
    LooseEndOpened,
    Note,
    Reading,
    StartAttempt,
    StockChanged,
    StrikeOut,
    Unknown,
    Work,
)
from tickover.book.exchange import export_build, import_build
from tickover.book.fold import State, fold
from tickover.book.plain import (
    body_as_kept,
    body_from_json,
    body_to_json,
    canonical_json,
    parse_json,
)
from tickover.book.readings import readings_from_csv, readings_to_csv
from tickover.book.store import Store
from tickover.errors import InputError

# No deadline: a busy machine is no defect.
quick = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
slow = settings(quick, max_examples=15)

AT = "2031-04-05T18:30:00Z"
letters = st.characters(
    exclude_categories=("Cs", "Cc"), include_characters="\n\t", exclude_characters="\x7f"
)
words = st.text(letters, min_size=1, max_size=30).filter(str.strip)
names = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=12).filter(
    str.strip
)
places = st.sampled_from(["in1", "in2", "ex1", "cyl1", ""])
numbers = st.floats(allow_nan=False, allow_infinity=False)
values = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | numbers | words,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(names, inner, max_size=3),
    max_leaves=8,
)
details = st.dictionaries(names, values, max_size=4)
few = st.sampled_from([{}, {"sizes": [2.6, 2.65], "why": {"seat": "recut"}}, {"cold": True}])


@st.composite
def readings(draw, details=few):
    low, high = sorted([draw(numbers), draw(numbers)])
    low, high = draw(st.sampled_from([(low, high), (low, low), (None, high), (low, None)]))
    return Reading(
        draw(st.sampled_from(["clearance", "compression"])),
        draw(places),
        low,
        high,
        draw(st.sampled_from(["m", "Pa", "1"])),
        draw(words),
        draw(names),
        draw(details),
    )


def bodies(ids, details=few):
    """Bodies; those that refer to an entry take its id from the ids given."""
    return st.one_of(
        readings(details),
        st.builds(Work, names, st.lists(names, max_size=3).map(tuple), details),
        st.builds(LooseEndOpened, names, places),
        st.builds(LooseEndClosed, ids),
        st.builds(StartAttempt, names, details),
        st.builds(Note, words, places),
        st.builds(Acceptance, st.sampled_from(["spark", "clearance"]), places, words),
        st.builds(StrikeOut, ids, words),
        st.builds(StrikeOut, ids, words),
        st.builds(EngineFileKept, words, names),
        st.builds(
            StockChanged,
            st.sampled_from(["shim", "main jet"]),
            st.none() | st.sampled_from([2.6e-3, 2.65e-3]),
            st.just("m"),
            st.integers(-3, 3),
            st.none() | st.floats(0, 100),
            st.sampled_from(["", "mark"]),
        ),
        st.builds(Answer, st.just("fit to start"), st.sampled_from(["yes", "no"]), names, details),
        st.builds(Unknown, st.just("sound heard"), details),
    )


def name(number):
    return f"{number:032x}"


@st.composite
def books(draw, most=25, least=0):
    ids = st.integers(1, most + 2).map(name)
    kept = draw(st.lists(bodies(ids), min_size=least, max_size=most))
    return [
        Entry(name(n), n, body.kind, AT, AT, draw(st.sampled_from(["Ada", "Bo"])), body)
        for n, body in enumerate(kept, 1)
    ]


def everything(state):
    """All a state can be asked, past anything it remembers having answered."""
    state = State(state.index)
    return (
        state.notes(),
        state.entries,
        state.live,
        state.struck,
        state.readings(),
        [state.readings(what) for what in ("clearance", "compression")],
        [state.latest("clearance", place) for place in ("in1", "in2", "")],
        state.works(),
        state.loose_ends,
        state.acceptances,
        state.answers(),
        state.answer("fit to start"),
        state.start_attempts(),
        state.stock("shim"),
        state.engine_text,
        state.last_number,
        state.conflicts,
        [state.struck_by(entry.id) for entry in state.entries],
    )


@quick
@given(books(least=2), st.lists(st.integers(0, 24), min_size=1, max_size=4))
def test_a_book_folds_the_same_whole_or_in_pieces(book, cuts):
    whole = fold(book)
    state = fold([])
    before = []
    for begin, end in itertools.pairwise(
        sorted({0, *(min(c, len(book)) for c in cuts), len(book)})
    ):
        before.append((state, everything(state)))
        state = fold(book[begin:end], state)
    assert everything(state) == everything(whole)
    for earlier, what_it_said in before:
        assert everything(earlier) == what_it_said, "a state given to fold was changed"


def counts(book, entry):
    """Whether an entry counts, said the slow way: no strike-out of it counts."""
    return not any(
        isinstance(later.body, StrikeOut) and later.body.entry == entry.id and counts(book, later)
        for later in book
        if later.number > entry.number
    )


@quick
@given(books(most=12))
def test_an_entry_counts_unless_a_strike_out_of_it_counts(book):
    state = fold(book)
    assert [e for e in state.entries if not state.is_struck(e.id)] == list(state.live)
    for entry in book:
        assert state.is_struck(entry.id) == (not counts(book, entry))


@quick
@given(books())
def test_striking_out_the_last_entry_leaves_the_state_without_it(book):
    if not book:
        return
    last = book[-1]
    strike = Entry(
        name(999), last.number + 1, "strike-out", AT, AT, "Ada", StrikeOut(last.id, "typo")
    )
    with_it, without = fold([*book, strike]), fold(book[:-1])
    assert with_it.readings() == without.readings()
    assert with_it.works() == without.works()
    assert with_it.acceptances == without.acceptances
    assert with_it.stock("shim") == without.stock("shim")
    assert with_it.engine_text == without.engine_text
    assert [end.id for end in with_it.open_loose_ends] == [
        end.id for end in without.open_loose_ends
    ]
    assert set(without.struck) <= set(with_it.struck)


@quick
@given(bodies(st.integers(1, 9).map(name), details))
def test_json_gives_any_body_back(body):
    text = body_to_json(body)
    assert body_from_json(body.kind, text) == body
    assert body_as_kept(body.kind, text) == body
    assert body_to_json(body_as_kept(body.kind, text)) == text
    assert "\n" not in text, "line ends would make the chain of checksums ambiguous"


@quick
@given(values)
def test_canonical_json_is_the_same_after_a_round_trip(value):
    assert canonical_json(parse_json(canonical_json(value))) == canonical_json(value)


@quick
@given(st.text(max_size=60) | st.recursive(st.none() | st.text(), st.lists).map(str))
def test_no_text_breaks_the_reading_of_bodies(text):
    for kind in ("reading", "note", "sound heard"):
        try:
            body_from_json(kind, text)
        except InputError:
            continue  # the only error allowed; anything else fails


@slow
@given(books(most=10), names)
def test_any_build_travels_from_book_to_book_unchanged(book, title):
    with tempfile.TemporaryDirectory() as folder:
        first, second = (Store.open(Path(folder) / f"{n}.sqlite") for n in "ab")
        with first, second:
            build = first.create_build(title, "", AT, "Ada").id
            drafts = [Draft(entry.body, entry.id, by=entry.by) for entry in book]
            first.append(build, drafts, at=AT, by="Ada")
            out, again = io.BytesIO(), io.BytesIO()
            export_build(first, build, out)
            assert import_build(second, out.getvalue()) == first.build(build)
            assert second.entries(build) == first.entries(build) == tuple(book)
            export_build(second, build, again)
            assert again.getvalue() == out.getvalue()
            assert everything(second.state(build)) == everything(fold(book))


cells = st.one_of(
    st.text(max_size=20),
    st.text(string.printable, max_size=20),
    st.sampled_from("=+-@';,\t\"").flatmap(lambda first: st.text(max_size=8).map(first.__add__)),
)


@quick
@given(st.lists(st.fixed_dictionaries({"place": names, "note": cells, "value": numbers})))
def test_a_table_reads_back_as_it_was_written(rows):
    rows = [row for row in rows if "\x00" not in row["note"] + row["place"]]
    written = write_table(["place", "note", "value"], rows)
    for source in (written, ("\ufeff" + written).encode("utf-8", "surrogatepass")):
        try:
            read = read_table(source, "t.csv", ["place", "note", "value"], ["place"])
        except UnicodeEncodeError:
            continue
        assert [(r["place"], r["note"], float(r["value"])) for r in read] == [
            (row["place"].strip(), row["note"].strip(), row["value"]) for row in rows
        ]


@quick
@given(st.lists(st.fixed_dictionaries({"place": names, "note": cells}), min_size=1))
def test_no_cell_we_write_is_run_by_a_spreadsheet(rows):
    import csv

    rows = [row for row in rows if "\x00" not in row["note"]]
    written = write_table(["place", "note"], rows)
    for cells in csv.reader(io.StringIO(written, newline="")):
        for cell in cells:
            if cell[:1] in ("=", "+", "-", "@", "\t", "\r"):
                float(cell.replace(",", "."))  # only numbers may begin so


@quick
@given(st.binary(max_size=200) | st.text(max_size=100))
def test_no_file_breaks_the_reading_of_tables(source):
    try:
        rows = read_table(source, "t.csv", ["place", "go"], ["place"])
    except InputError as error:
        rows, said = [], str(error)
    else:
        said = "t.csv"
    assert "t.csv" in said
    assert all(row["place"] for row in rows)


@quick
@given(st.lists(readings(details).filter(lambda r: "\r" not in r.typed), max_size=5))
def test_readings_come_back_from_a_table(given_readings):
    entries = [
        Entry(name(n), n, "reading", AT, AT, "Ada", reading)
        for n, reading in enumerate(given_readings, 1)
    ]
    back = [draft.body for draft in readings_from_csv(readings_to_csv(entries), "r.csv")]
    assert [(b.low, b.high, b.unit, b.conditions) for b in back] == [
        (r.low, r.high, r.unit, r.conditions) for r in given_readings
    ]
    assert [b.typed for b in back] == [r.typed.strip() for r in given_readings]
