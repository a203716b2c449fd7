"""Kill whoever makes a new book, half way; the next one must find no half book.

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
    for number in range(kills):
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
        made += book.exists()
        with Store.open(book) as store:
            store.create_build("b", "a = 1", AT, "Ada")
            assert store.verify() == 1
    print(kills, made)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
