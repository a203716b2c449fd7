"""Will not start, and 'runs, but': the next thing to look at, the causes, what is proved."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.pages.head import Head
from tickover.pages.wording import minutes_words, percent, sentence
from tickover.plan.faultfinding import SYMPTOMS, FaultAdvice, knowledge
from tickover.plan.faultfinding.advice import NextThing

_NEVER_ALL = (
    "Weights, odds and minutes are our own rough figures (common practice, no source); put your "
    "own under [fault_weights] in the engine file. The order is decision-theoretic "
    "troubleshooting (Heckerman, Breese and Rommelse 1995)."
)


@dataclass(frozen=True, slots=True)
class ThingLine:
    """One thing to do.

    `kind` is 'ask' (answer with one of `outcomes`), 'check' (prove a stale check again: `words`
    is its name), 'look' (at a cause: found or not found) or 'stop'. `number` is that of a
    question, from 1, or 0.
    """

    kind: str
    words: str
    title: str
    minutes: str
    how: str
    outcomes: tuple[str, ...]
    caution: str
    number: int


@dataclass(frozen=True, slots=True)
class CauseLine:
    """One cause: its share from 0 to 1 for a bar, in percent words, and how to look for it.

    `looked` is '', 'looked at, not it' or 'found'. `weight` stands before the evidence;
    `weight_changed` says that the engine file gave it.
    """

    words: str
    share: float
    chance: str
    how: str
    minutes: str
    looked: str
    weight: float
    weight_changed: bool


@dataclass(frozen=True, slots=True)
class AnsweredLine:
    """An answer or a look kept in the book, to be struck out where it was wrong."""

    id: str
    number: int
    at: str
    by: str
    asked: str
    said: str


@dataclass(frozen=True, slots=True)
class FaultPage:
    """Everything the fault-finding page shows."""

    head: Head
    symptom: str
    title: str
    symptoms: tuple[tuple[str, str], ...]
    """Every symptom with its title, to choose between."""
    under_way: bool
    begun: str
    found: str
    sentence: str
    cautions: tuple[str, ...]
    next: ThingLine
    expected: str
    also: tuple[ThingLine, ...]
    questions: tuple[ThingLine, ...]
    """Every question, numbered, to answer out of turn."""
    causes: tuple[CauseLine, ...]
    unlisted: CauseLine
    proved: tuple[str, ...]
    contradictions: tuple[str, ...]
    answers: tuple[AnsweredLine, ...]
    looked: tuple[AnsweredLine, ...]
    weight_problem: str
    source: str


_KINDS = {"ask": "", "check": "Prove again: ", "look": "Look for: ", "stop": ""}


def fault_page(
    engine: EngineFile,
    advice: FaultAdvice,
    head: Head,
    weights: tuple[tuple[str, float], ...] = (),
    weight_problem: str = "",
) -> FaultPage:
    """The page of a symptom.

    Parameters
    ----------
    engine : EngineFile
    advice : FaultAdvice
    head : Head
    weights : tuple of (cause, weight)
        Those the engine file changed.
    weight_problem : str
        Why weights of the engine file could not be used, '' if they could.
    """
    known, session = advice.known, advice.session
    shares = dict(advice.causes)
    changed = dict(weights)
    looks = {known.causes[c].words: found for c, found, _ in session.looked}
    info = {cause.words: cause for cause in known.causes}
    causes = tuple(
        CauseLine(
            words, shares[words], percent(shares[words]), info[words].how,
            minutes_words(info[words].look_minutes),
            {None: "", True: "found", False: "looked at, not it"}[looks.get(words)],
            changed.get(words, info[words].weight), words in changed,
        )
        for words, _ in advice.causes
    )  # fmt: skip
    following = _thing(advice, advice.next)
    expected = f"about {minutes_words(advice.expected_minutes)} to find it, on average"
    if session.found:
        said = sentence(f"Found: {session.found}")
    else:
        said = sentence(f"Next: {following.title.rstrip('?')}, {following.minutes}") + " "
        said += sentence(expected)
    begun = ""
    if session.begun is not None:
        begun = f"begun by {session.begun.by} on {session.begun.at[:16].replace('T', ' ')}"
    return FaultPage(
        head=head,
        symptom=known.symptom,
        title=known.title,
        symptoms=tuple((name, knowledge(name).title) for name in SYMPTOMS),
        under_way=session.under_way,
        begun=begun,
        found=session.found,
        sentence=said,
        cautions=known.cautions,
        next=following,
        expected=expected,
        also=tuple(_thing(advice, thing) for thing in advice.also),
        questions=tuple(
            ThingLine("ask", q.words, _capital(q.words), minutes_words(q.minutes), "", q.outcomes,
                      q.caution, number)
            for number, q in enumerate(known.questions, 1)
        ),
        causes=causes,
        unlisted=CauseLine(
            "something not in this list", advice.unlisted, percent(advice.unlisted), "",
            minutes_words(known.service_minutes), "", 0.0, False,
        ),
        proved=advice.proved,
        contradictions=advice.contradictions,
        answers=tuple(
            AnsweredLine(e.id, e.number, e.at, e.by, known.questions[q].words,
                         known.questions[q].outcomes[o])
            for q, o, e in session.answers
        ),
        looked=tuple(
            AnsweredLine(e.id, e.number, e.at, e.by, known.causes[c].words,
                         "found" if found else "looked at, not it")
            for c, found, e in session.looked
        ),
        weight_problem=weight_problem,
        source=_NEVER_ALL,
    )  # fmt: skip


def _thing(advice: FaultAdvice, thing: NextThing) -> ThingLine:
    number = 0
    if thing.kind == "ask":
        number = advice.known.question_index(thing.words) + 1
    return ThingLine(
        thing.kind, thing.words, _capital(f"{_KINDS[thing.kind]}{thing.words}"),
        minutes_words(thing.minutes), thing.how, thing.outcomes, thing.caution, number,
    )  # fmt: skip


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
