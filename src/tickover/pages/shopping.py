"""One shopping list over all tasks of a build, ticked off as things arrive."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.engine import EngineFile
from tickover.errors import InputError
from tickover.pages.head import Head
from tickover.pages.wording import count_words, money, sentence
from tickover.plan.shopping import Line, ShoppingList, Want
from tickover.quantities import show


@dataclass(frozen=True, slots=True)
class ShopLine:
    """One thing to buy, or one that came. `key` names it in forms; `id` is '' when computed."""

    key: str
    id: str
    item: str
    size: str
    count: int
    arrived: int
    still: int
    price: str
    total: str
    why: str
    task: str
    by: str
    settled: bool


@dataclass(frozen=True, slots=True)
class ShoppingPage:
    """Everything the shopping list shows."""

    head: Head
    title: str
    sentence: str
    to_buy: tuple[ShopLine, ...]
    settled: tuple[ShopLine, ...]
    total: str
    notes: tuple[str, ...]
    conflicts: tuple[str, ...]


def shopping_page(engine: EngineFile, found: ShoppingList, head: Head) -> ShoppingPage:
    """The list in words and money."""
    lines = [shop_line(engine, number, line) for number, line in enumerate(found.lines, 1)]
    to_buy = tuple(line for line in lines if not line.settled)
    came = tuple(
        ShopLine(
            "", entry.id, entry.body.item,
            size_words(engine, entry.body.item, entry.body.size, entry.body.unit),
            entry.body.change, entry.body.change, 0,
            money(entry.body.price) if entry.body.price is not None else "", "",
            "", "", entry.by, True,
        )
        for entry in found.others
    )  # fmt: skip
    if to_buy:
        things = sum(line.still for line in to_buy)
        said = sentence(f"{count_words(things)} to buy")
    else:
        said = "Nothing is to be bought."
    notes = []
    if found.unpriced:
        word = "line has" if found.unpriced == 1 else "lines have"
        notes.append(sentence(f"{count_words(found.unpriced)} {word} no price, not counted"))
    return ShoppingPage(
        head=head,
        title="Shopping list",
        sentence=said,
        to_buy=to_buy,
        settled=(*(line for line in lines if line.settled), *came),
        total=money(found.total) if found.total else "",
        notes=tuple(notes),
        conflicts=tuple(
            f"Entry {entry.number} ({entry.by}) says {entry.body.change} x {entry.body.item} "
            "arrived, more than was wanted: perhaps noted twice; strike one out."
            for entry in found.surplus
        ),
    )  # fmt: skip


def shop_line(engine: EngineFile, number: int, line: Line) -> ShopLine:
    """One want in words; `number` is its place on the list."""
    want = line.want
    one = want.price
    return ShopLine(
        key=want_key(want), id=want.entry, item=want.item,
        size=size_words(engine, want.item, want.size, want.unit), count=want.count,
        arrived=line.arrived, still=line.still,
        price=money(one) if one is not None else "price not known",
        total=money(one * line.still) if one is not None else "",
        why=want.why, task=want.task, by=want.by, settled=line.still == 0,
    )  # fmt: skip


def want_key(want: Want) -> str:
    """The name of a want in a form: its entry, or what it is.

    >>> want_key(Want("shim", 0.00265, "m", 1, None, "", "valves"))
    'shim|0.00265|m'
    """
    size = "" if want.size is None else f"{want.size:.9g}"
    return want.entry or f"{want.item}|{size}|{want.unit}"


def find_want(found: ShoppingList, key: str) -> Want:
    """The want of this key, or the only one whose words begin like it.

    Raises
    ------
    InputError
        None, or several.
    """
    exact = [line.want for line in found.lines if want_key(line.want) == key]
    near = [
        line.want
        for line in found.lines
        if key.strip() and f"{line.want.item} {line.want.why}".casefold().startswith(key.casefold())
    ]
    fits = exact or near
    if len(fits) != 1:
        names = "; ".join(f"{line.want.item} {line.want.why}".strip() for line in found.lines)
        raise InputError("No single thing on the list is called like this", given=key,
                         allowed=names or "the list is empty")  # fmt: skip
    return fits[0]


def size_words(engine: EngineFile, item: str, size: float | None, unit: str) -> str:
    """A size as a shop understands it."""
    if size is None:
        return ""
    if unit == "m":
        kind = "shim" if item == "shim" else "length"
        return show(size, engine.show.unit(kind), kind)
    return f"{size:g} {unit}".strip()
