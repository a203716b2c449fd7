"""One shopping list over all tasks of a build, ticked off as things arrive."""

from __future__ import annotations

from dataclasses import dataclass

from tickover.pages.head import Head


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
