"""Kill whoever makes a new book, half way; the next one must find no half book.

How long to wait before the kill is learned from kill to kill, so that on any machine some come
before the book is made and some after; it goes on until both have been seen.

killed_makers.py FOLDER KILLS SEED
"""

import os
import random
import signal
import sys
import time
from pathlib import Path

from tickover.book.store import Store

AT = "2031-04-05T18:30:00Z"


def main(folder: Path, kills: int, seed: int) -> None:
    random.seed(seed)
    made = 0
    start = time.perf_counter()
    Store.open(folder / "first.sqlite").close()
    takes = time.perf_counter() - start
    number = 0
    while number < kills or (made in (0, number) and number < 20 * kills):
        book = folder / f"book{number}.sqlite"
        child = os.fork()
        if child == 0:
            try:
                Store.open(book).close()
            finally:
                os._exit(0)
        time.sleep(random.uniform(0.0, 2.0 * takes))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        number += 1
        made += book.exists()
        takes *= 0.7 if book.exists() else 1.4
        with Store.open(book) as store:
            store.create_build("b", "a = 1", AT, "Ada")
            assert store.verify() == 1
    print(number, made)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
