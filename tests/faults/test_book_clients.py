"""Twenty clients of one server write and read at the same time."""

import threading

from tickover.book.entries import Draft, Note, new_id
from tickover.book.store import Store

AT = "2031-04-05T18:30:00Z"
CLIENTS, EACH = 20, 6


def test_twenty_clients_at_once_lose_and_double_nothing(tmp_path):
    problems, seen = [], []
    with Store.open(tmp_path / "book.sqlite", patience_s=60.0) as store:
        builds = [store.create_build(f"b{n}", "", AT, "Ada").id for n in range(2)]

        def client(number):
            try:
                last = 0
                for turn in range(EACH):
                    build = builds[(number + turn) % 2]
                    draft = Draft(Note(f"{number} {turn}"), id=new_id())
                    first = store.append(build, draft, at=AT, by=f"client {number}")
                    again = store.append(build, draft, at=AT, by=f"client {number}")
                    assert first == again
                    state = store.state(build)
                    assert state.entry(draft.id) == first[0]
                    last += 1
                seen.append(last)
            except Exception as error:  # noqa: BLE001 (a thread's error must reach the test)
                problems.append(error)

        threads = [threading.Thread(target=client, args=(n,)) for n in range(CLIENTS)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert problems == []
        assert seen == [EACH] * CLIENTS
        texts = []
        for build in builds:
            entries = store.entries(build)
            assert [e.number for e in entries] == list(range(1, len(entries) + 1))
            texts += [e.body.text for e in entries]
        assert sorted(texts) == sorted(f"{n} {t}" for n in range(CLIENTS) for t in range(EACH))
