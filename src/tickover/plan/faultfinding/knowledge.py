"""What may be wrong, what to ask, and which proofs speak against what: read from TOML once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

from tickover.decide.troubleshoot import Action, Model, Question
from tickover.engine.suggest import nearest_word
from tickover.errors import InputError

SYMPTOMS = {"will not start": "will-not-start.toml", "runs, but": "runs-but.toml"}

_FINDS = 0.97
"""Probability that looking in the described way finds and settles the cause if it is the one."""
_GOOD_OTHERWISE = 0.97
"""Probability that a check is found good when none of the causes it speaks against is at work."""


@dataclass(frozen=True, slots=True)
class CauseInfo:
    """One cause: its words, weight, and how to look for it in so many minutes."""

    words: str
    weight: float
    look_minutes: float
    how: str


@dataclass(frozen=True, slots=True)
class QuestionInfo:
    """One question with its outcomes and P(outcome | cause)."""

    words: str
    minutes: float
    outcomes: tuple[str, ...]
    usual: tuple[float, ...]
    when: Mapping[str, tuple[float, ...]]
    caution: str


@dataclass(frozen=True, slots=True, eq=False)
class Knowledge:
    """Everything known about one symptom; one object for each, so that models are kept by it."""

    symptom: str
    title: str
    service_minutes: float
    cautions: tuple[str, ...]
    causes: tuple[CauseInfo, ...]
    questions: tuple[QuestionInfo, ...]
    proofs: Mapping[str, Mapping[str, float]]
    """Check name to {cause: P(check found good | that cause at work)}."""

    def cause_index(self, words: str) -> int:
        """Place of a cause, by its words."""
        for index, cause in enumerate(self.causes):
            if cause.words == words:
                return index
        near = nearest_word(words, (c.words for c in self.causes))
        raise InputError(
            "No such cause", given=words, allowed="; ".join(c.words for c in self.causes),
            instead=f"'{near}' (did you mean that?)" if near else "",
        )  # fmt: skip

    def question_index(self, words: str) -> int:
        """Place of a question, by its words."""
        for index, question in enumerate(self.questions):
            if question.words.rstrip("?").casefold() == words.strip().rstrip("?").casefold():
                return index
        near = nearest_word(words, (q.words for q in self.questions))
        raise InputError(
            "No such question", given=words, allowed="; ".join(q.words for q in self.questions),
            instead=f"'{near}' (did you mean that?)" if near else "",
        )  # fmt: skip


@lru_cache(maxsize=4)
def knowledge(symptom: str) -> Knowledge:
    """The knowledge about a symptom.

    Raises
    ------
    InputError
        If nothing is known about it.
    """
    if symptom not in SYMPTOMS:
        raise InputError("Nothing is known about this", given=symptom, allowed=", ".join(SYMPTOMS))
    text = resources.files(__package__).joinpath(SYMPTOMS[symptom]).read_text(encoding="utf-8")
    data = tomllib.loads(text)
    return Knowledge(
        symptom=data["symptom"],
        title=data["title"],
        service_minutes=float(data["service_minutes"]),
        cautions=tuple(data["cautions"]),
        causes=tuple(
            CauseInfo(words, float(row["weight"]), float(row["look"]), row["how"])
            for words, row in data["causes"].items()
        ),
        questions=tuple(
            QuestionInfo(
                words,
                float(row["minutes"]),
                tuple(row["outcomes"]),
                tuple(map(float, row["usual"])),
                {cause: tuple(map(float, odds)) for cause, odds in row["when"].items()},
                row.get("caution", ""),
            )
            for words, row in data["questions"].items()
        ),
        proofs={name: dict(row) for name, row in data["proofs"].items()},
    )


@lru_cache(maxsize=32)
def fault_model(
    known: Knowledge,
    proofs: tuple[tuple[str, float], ...] = (),
    weights: tuple[tuple[str, float], ...] = (),
) -> Model:
    """The model for `decide.troubleshoot`; the same object for the same question.

    Parameters
    ----------
    known : Knowledge
    proofs : tuple of (check name, minutes)
        Checks with something to say; they become questions after the knowledge's own.
    weights : tuple of (cause, weight)
        Weights a person changed.

    Raises
    ------
    InputError
        An unknown cause (says the nearest), a weight that is none.
    """
    changed = dict(weights)
    for name, weight in changed.items():
        known.cause_index(name)
        if not 0 < weight <= 1000:
            raise InputError(f"The weight of '{name}' cannot be that", given=str(weight),
                             allowed="above 0, up to 1000")  # fmt: skip
    questions = [
        Question(
            q.words,
            q.minutes,
            q.outcomes,
            [
                [q.when.get(cause.words, q.usual)[o] for cause in known.causes] + [q.usual[o]]
                for o in range(len(q.outcomes))
            ],
        )
        for q in known.questions
    ]
    for name, minutes in proofs:
        good = [known.proofs[name].get(c.words, _GOOD_OTHERWISE) for c in known.causes]
        good.append(_GOOD_OTHERWISE)
        questions.append(
            Question(name, max(minutes, 0.1), ("good", "not good"), [good, [1 - p for p in good]])
        )
    size = len(known.causes)
    actions = tuple(
        Action(cause.words, cause.look_minutes, [_FINDS if j == i else 0.0 for j in range(size)])
        for i, cause in enumerate(known.causes)
    )
    return Model(
        tuple(cause.words for cause in known.causes),
        [changed.get(cause.words, cause.weight) for cause in known.causes],
        tuple(questions),
        actions,
        known.service_minutes,
    )
