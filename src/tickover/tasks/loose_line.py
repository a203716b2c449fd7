"""The open loose end somebody means by some of its words."""

from __future__ import annotations

from collections.abc import Sequence

from tickover.book.state import LooseEnd
from tickover.errors import InputError


def loose_end_meant(ends: Sequence[LooseEnd], words: str) -> LooseEnd:
    """The one open loose end that begins with these words, or else holds them.

    Parameters
    ----------
    ends : sequence of LooseEnd
        Those still open.
    words : str
        'oil line' for 'oil line off'; big and small letters are alike.

    Raises
    ------
    InputError
        None or several could be meant; says which are open.
    """
    said = " ".join(words.casefold().split())
    labels = [" ".join(end.opened.body.label.casefold().split()) for end in ends]
    begins = [end for end, label in zip(ends, labels, strict=True) if label.startswith(said)]
    holds = [end for end, label in zip(ends, labels, strict=True) if said in label]
    found = begins or holds
    if len(found) == 1 and said:
        return found[0]
    raise InputError(
        "Several loose ends could be meant" if found and said else "No such loose end is open",
        given=words,
        allowed="; ".join(end.opened.body.label for end in ends) or "none is open",
        instead="more of its words" if found and said else "",
    )
