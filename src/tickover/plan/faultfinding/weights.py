"""Weights of causes that a person changed in the engine file."""

from __future__ import annotations

from tickover.engine import EngineFile
from tickover.engine.suggest import nearest_word
from tickover.errors import InputError
from tickover.plan.faultfinding.knowledge import SYMPTOMS, Knowledge, knowledge


def changed_weights(engine: EngineFile, known: Knowledge) -> tuple[tuple[str, float], ...]:
    """The weights of the engine file that concern a symptom.

    Parameters
    ----------
    engine : EngineFile
    known : Knowledge
        About the symptom.

    Returns
    -------
    tuple of (cause, weight)
        In the order of the file; weights of causes of other symptoms are left out.

    Raises
    ------
    InputError
        A cause that no symptom has; says the nearest.
    """
    own = {cause.words for cause in known.causes}
    every = sorted({cause.words for name in SYMPTOMS for cause in knowledge(name).causes})
    for words, _ in engine.fault_weights.weights():
        if words not in every:
            near = nearest_word(words, every)
            raise InputError(
                "[fault_weights] names a cause that is not known", given=words,
                allowed="; ".join(every),
                instead=f'"{near}" (did you mean that?)' if near else "",
            )  # fmt: skip
    return tuple(row for row in engine.fault_weights.weights() if row[0] in own)
