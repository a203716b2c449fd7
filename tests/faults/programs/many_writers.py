"""Several processes keep entries in one build at once.

many_writers.py BOOK BUILD PROCESSES APPENDS
"""

import os
import sys

from tickover.book.entries import Note
from tickover.book.store import Store

AT = "2031-04-05T18:30:00Z"


def main(book: str, build: str, processes: int, appends: int) -> None:
    children = []
    for process in range(processes):
        child = os.fork()
        if child == 0:
            code = 1
            try:
                with Store.open(book, patience_s=60.0) as store:
                    for number in range(appends):
                        bodies = [Note(f"{process} {number} {part}") for part in range(2)]
                        kept = store.append(build, bodies, at=AT, by=f"process {process}")
                        assert kept[1].number == kept[0].number + 1
                        assert store.state(build).last_number >= kept[1].number
                code = 0
            finally:
                os._exit(code)
        children.append(child)
    codes = [os.waitpid(child, 0)[1] for child in children]
    assert codes == [0] * processes, codes


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]), int(sys.argv[4]))
