"""A book whose file or folder may only be read: reading works, writing is refused.

    read_only.py FOLDER

Root may write everywhere, so a root process becomes nobody first.
"""

import os
import sys
from pathlib import Path

from tickover.book.entries import Note
from tickover.book.store import Store
from tickover.errors import BookUnwritable

AT = "2031-04-05T18:30:00Z"
NOBODY = 65534


def main(folder: Path) -> None:
    book = folder / "book.sqlite"
    with Store.open(book) as store:
        build = store.create_build("b", "a = 1", AT, "Ada").id
        before = book.read_bytes()
        book.chmod(0o444)
        folder.chmod(0o555)
    if os.getuid() == 0:
        os.setgid(NOBODY)
        os.setuid(NOBODY)
    with Store.open(book) as store:
        assert store.state(build).engine_text == "a = 1"
        try:
            store.append(build, Note("x"), at=AT, by="Ada")
        except BookUnwritable as error:
            print(error)
        else:
            raise AssertionError("written where nothing may be written")
        assert store.verify() == 1
    try:
        Store.open(folder / "new.sqlite")
    except BookUnwritable as error:
        print(error)
    else:
        raise AssertionError("a new book where nothing may be written")
    assert book.read_bytes() == before


if __name__ == "__main__":
    main(Path(sys.argv[1]))
