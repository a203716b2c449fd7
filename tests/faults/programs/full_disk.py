"""Write until the disk is full, see that all is as acknowledged, make room, go on.

full_disk.py FOLDER limit     the size of files is limited for this process
full_disk.py FOLDER tmpfs     FOLDER lies on a file system of its own, a small one
"""

import resource
import sys
from collections.abc import Callable
from pathlib import Path

from tickover.book.entries import Note
from tickover.book.exchange import export_build
from tickover.book.store import Store
from tickover.errors import BookUnwritable

AT = "2031-04-05T18:30:00Z"


def fill(store: Store, build: str) -> tuple[int, str]:
    """Append until it is refused; the number acknowledged last and what was said."""
    last = store.last_number(build)
    for _ in range(2000):
        try:
            last = store.append(build, [Note("x" * 3000)] * 3, at=AT, by="Ada")[-1].number
        except BookUnwritable as error:
            return last, str(error)
    raise AssertionError("the disk never filled up")


def refused(doing: Callable[[], object]) -> bool:
    try:
        doing()
    except BookUnwritable:
        return True
    return False


def main(folder: Path, how: str) -> None:
    ballast = folder / "ballast"
    with Store.open(folder / "book.sqlite") as store:
        build = store.create_build("b", "a = 1", AT, "Ada").id
        if how == "tmpfs":
            ballast.write_bytes(bytes(120_000))
        else:
            soft = (folder / "book.sqlite").stat().st_size + 200_000
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, resource.RLIM_INFINITY))
        last, said = fill(store, build)
        assert "cannot be written" in said, said
        assert "Nothing was kept" in said, said
        assert store.last_number(build) == last, "half written"
        assert len(store.state(build).entries) == last
        assert refused(lambda: store.put_blob(bytes(range(256)) * 4000))
        assert refused(lambda: store.create_build("c", "x = '" + "y" * 400_000 + "'", AT, "Ada"))
        with Store.open(folder / "book.sqlite") as other:
            other.verify()
            assert other.last_number(build) == last
            assert len(other.builds()) == 1
        export = folder / "export.zip"
        if how == "tmpfs":
            (folder / "rest").write_bytes(b"")
            with (folder / "rest").open("ab", buffering=0) as rest:
                try:
                    while rest.write(bytes(512)):
                        pass
                except OSError:
                    pass
            assert refused(lambda: export_build(store, build, export))
            assert not export.exists()
            assert len(list(folder.iterdir())) == 3, list(folder.iterdir())
            (folder / "rest").unlink()
            ballast.unlink()
        else:
            resource.setrlimit(
                resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY)
            )
        kept = store.append(build, Note("room again"), at=AT, by="Ada")
        assert kept[0].number == last + 1
        store.verify()
    print(how, last)


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])
