"""Kill writers in the middle of their work and see that nothing acknowledged is lost.

    killed_writers.py BOOK BUILD KILLS SEED

Each round forks a writer that keeps entries and says so through a pipe only after the store has
returned; after a random time it is killed for good. Then the book is opened as anybody would.
"""

import os
import random
import select
import signal
import sys
import time

from tickover.book.entries import Note
from tickover.book.store import Store

AT = "2031-04-05T18:30:00Z"


def write_until_killed(book: str, build: str, pipe: int) -> None:
    with Store.open(book) as store:
        while True:
            texts = [Note("x" * random.randint(1, 6000)) for _ in range(random.randint(1, 4))]
            kept = store.append(build, texts, at=AT, by=str(os.getpid()))
            os.write(pipe, b"".join(b"%d %s\n" % (e.number, e.id.encode()) for e in kept))


def one_round(book: str, build: str, checked: int) -> tuple[int, int]:
    read_end, write_end = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(read_end)
            write_until_killed(book, build, write_end)
        finally:
            os._exit(3)  # a writer that stops by itself did not do its job
    os.close(write_end)
    if random.random() < 0.8:  # else it may be killed while it opens the book
        select.select([read_end], [], [], 300.0)
    time.sleep(random.uniform(0.0, 0.060))
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), f"the writer stopped by itself with {status}"
    said = b""
    while chunk := os.read(read_end, 65536):
        said += chunk
    os.close(read_end)
    acknowledged = dict(line.split() for line in said.splitlines())
    with Store.open(book) as store:
        there = {b"%d" % e.number: e.id.encode() for e in store.entries(build, after=checked)}
        for number, name in acknowledged.items():
            assert there.get(number) == name, f"entry {number!r} was acknowledged and is lost"
        return store.last_number(build), len(acknowledged)


def main(book: str, build: str, kills: int, seed: int) -> None:
    random.seed(seed)
    checked, acknowledged = 0, 0
    for _ in range(kills):
        checked, new = one_round(book, build, checked)
        acknowledged += new
    with Store.open(book) as store:
        store.verify()
        numbers = [e.number for e in store.entries(build)]
    assert numbers == list(range(1, len(numbers) + 1)), "the numbers have a gap"
    print(kills, acknowledged, len(numbers))


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4]))
