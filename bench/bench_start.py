"""The day of the first start: what advice saves with the real knowledge, and how quick pages are.

Failures are drawn from the knowledge itself or, more sternly, from a world whose weights are off by
up to three times either way while the advice goes on believing its own. Every way of looking meets
the same failures, answers and luck.
"""

from __future__ import annotations

import asyncio
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import httpx
import numpy as np

from tickover.book.bodies import Reading, Work
from tickover.book.store import Store
from tickover.decide.simulation import Policy, advised, checklist, simulate
from tickover.decide.troubleshoot import Done, Model, Observation, Step, next_step
from tickover.pages.building import (
    build_page_of,
    checks_page_of,
    engine_of,
    fault_page_of,
    fit_page_of,
    loose_page_of,
    runin_page_of,
    shopping_page_of,
    start_card_of,
    states_of,
)
from tickover.plan.faultfinding import fault_advice, knowledge
from tickover.plan.faultfinding.knowledge import SYMPTOMS, fault_model
from tickover.web.app import create_app

FAILURES = 5000
MANY = 10_000
AT = "2031-04-05T18:30:00Z"
EXAMPLE = Path(__file__).parents[1] / "examples" / "engines" / "triple-240.toml"
_WEIGHTS_OFF = 3.0


def _row(claim: str, ours: float, other: float, limit: float | None) -> dict[str, Any]:
    ratio = ours / other
    met = None if limit is None else ratio <= limit
    return {"claim": claim, "ours": ours, "other": other, "ratio": ratio, "limit": limit,
            "met": met}  # fmt: skip


def _within(claim: str, ours_ms: float, limit: float | None) -> dict[str, Any]:
    met = None if limit is None else ours_ms <= limit
    return {"claim": claim, "ours_ms": ours_ms, "limit": limit, "met": met}


def _trade_order(model: Model) -> list[int]:
    """Electrics, then compression and valves, then fuel and air, as the trade goes through them.

    Common practice, no source: spark before oil flow before compression before fuel.
    """
    spark = ("stop switch", "side stand", "battery", "main fuse", "no spark", "weak spark",
             "plugs", "leads", "timing")  # fmt: skip
    squeeze = ("low compression", "valve held", "cam timing")
    rank = [spark, squeeze]

    def place(words: str) -> int:
        return next((i for i, group in enumerate(rank) if words.startswith(group)), len(rank))

    return sorted(range(len(model.causes)), key=lambda i: place(model.causes[i]))


def _believing(own: Model) -> Policy:
    def policy(world: Model, seen: tuple[Observation, ...], done: tuple[Done, ...]) -> Step:
        return advised(own, seen, done)

    return policy


def saving_rows() -> list[dict[str, Any]]:
    """Minutes to find simulated faults, advised and by one list for all."""
    rows = []
    for symptom in SYMPTOMS:
        known = knowledge(symptom)
        model = fault_model(known)

        def minutes(policy: Policy, world: Model) -> float:
            return float(simulate(world, np.random.default_rng(1), FAILURES, policy).minutes.mean())

        lists: list[tuple[str, list[int], float | None]] = [
            ("as listed", list(range(len(model.causes))), 0.7),
            ("likeliest first", sorted(range(len(model.causes)),
                                       key=lambda i: -known.causes[i].weight), 0.7),
            # This one was made with the model's own odds over minutes: the best list there is.
            ("the best there is", list(next_step(model).plan), 1.0),
        ]  # fmt: skip
        if symptom == "will not start":
            lists.insert(1, ("spark, squeeze, fuel", _trade_order(model), 0.7))
        ours = minutes(advised, model)
        for name, order, limit in lists:
            other = minutes(checklist(order), model)
            rows.append(_row(f"{symptom}: minutes to find, list {name}", ours, other, limit))
        factors = _WEIGHTS_OFF ** np.random.default_rng(2).uniform(-1, 1, len(known.causes))
        off = tuple((c.words, c.weight * float(f)) for c, f in
                    zip(known.causes, factors, strict=True))  # fmt: skip
        world = fault_model(known, (), off)
        ours = minutes(_believing(model), world)
        other = minutes(checklist(range(len(model.causes))), world)
        rows.append(_row(f"{symptom}: the same, our weights off by 3 times", ours, other, 0.7))
    return rows


def _ms(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return 1e3 * (time.perf_counter() - begun)


def _p95(times: list[float]) -> float:
    return statistics.quantiles(times, n=20)[-1]


def _bodies(count: int) -> list[Reading | Work]:
    places = [f"{kind}{n}" for n in (1, 2, 3) for kind in ("in", "ex")]
    made: list[Reading | Work] = []
    for i in range(count):
        place = places[i % 6]
        low = (0.10 if place.startswith("in") else 0.15) * 1e-3
        if i % 50 == 0:
            made.append(Work("valve or seat work", (place,)))
        else:
            made.append(Reading("valve clearance", place, low, low + 1e-5, "m", "",
                                "feeler blades", {"engine": "cold"}))  # fmt: skip
    return made


def page_rows(folder: Path) -> list[dict[str, Any]]:
    """Pages of a book with ten thousand entries."""
    today = date(2031, 4, 6)
    rows = []
    with Store.open(folder / "long.sqlite") as store:
        made = store.create_build("Invented triple", EXAMPLE.read_text(encoding="utf-8"), AT, "b")
        store.append(made.id, _bodies(MANY), at=AT, by="bench")

        def look() -> None:
            build, state = store.build(made.id), store.state(made.id)
            for page in (build_page_of, checks_page_of, fit_page_of, start_card_of, fault_page_of,
                         shopping_page_of, loose_page_of):  # fmt: skip
                page(build, state)
            runin_page_of(build, state, today)

        first = _ms(look)
        rows.append(_within("every page object of the day, first asked [ms]", first, None))
        same = _p95([_ms(look) for _ in range(200)])
        rows.append(_within("the same when nothing changed, p95 [ms]", same, 50.0))
        grown = []
        for body in _bodies(21)[1:]:
            store.append(made.id, body, at=AT, by="bench")
            grown.append(_ms(lambda: build_page_of(store.build(made.id), store.state(made.id))))
        rows.append(
            _within("build page object after one entry [ms]", statistics.median(grown), None)
        )
        rows.append(_within("build page over HTTP, p95 [ms]", _served(store, made.id), 50.0))
        state = store.state(made.id)
        engine, states = engine_of(state), states_of(state)
        for symptom in SYMPTOMS:
            known = knowledge(symptom)
            fault_advice(engine, state, known, (), states)
            spent = [_ms(lambda known=known: fault_advice(engine, state, known, (), states))
                     for _ in range(30)]  # type: ignore[misc]  # fmt: skip
            rows.append(_within(f"{symptom}: next thing [ms]", statistics.median(spent), 50.0))
    return rows


def _served(store: Store, build_id: str) -> float:
    """One build page again and again, through the whole web face but for the socket."""

    async def ask() -> list[float]:
        transport = httpx.ASGITransport(app=create_app(store))
        async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
            times = []
            for _ in range(102):
                begun = time.perf_counter()
                answer = await client.get(f"/builds/{build_id}")
                times.append(1e3 * (time.perf_counter() - begun))
                assert answer.status_code == 200, answer.status_code
            return times[2:]

    return _p95(asyncio.run(ask()))


def rows() -> list[dict[str, Any]]:
    """One row for each claim about the day of the first start."""
    with tempfile.TemporaryDirectory(prefix="bench-") as name:
        return [*page_rows(Path(name)), *saving_rows()]


if __name__ == "__main__":
    for row in rows():
        print({k: round(v, 3) if isinstance(v, float) else v for k, v in row.items()})
