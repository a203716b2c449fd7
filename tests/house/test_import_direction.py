"""The house is read from top to bottom: nothing imports from below itself, inside functions too."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[2] / "src" / "tickover"
ROWS = (
    ("errors",),
    ("quantities", "cache"),
    ("engine",),
    ("physics",),
    ("decide",),
    ("book",),
    ("tasks",),
    ("plan",),
    ("demo",),
    ("pages",),
    ("web", "cli", "paper"),
)
ROW_OF = {name: row for row, names in enumerate(ROWS) for name in names}
FREE = {"__init__", "__main__"}
"""The package's own front doors may open any room."""
EDGES = set(ROWS[-1])
# The terminal starts the web server and prints sheets; nothing else crosses between edges.
CROSSINGS = {("cli", "web"), ("cli", "paper"), ("web", "paper")}
BLIND = {
    "cache": {"quantities"},
    "engine": {"cache"},
    "physics": {"engine", "book"},
    "decide": {"engine", "book", "physics", "cache"},
    "book": {"cache"},
}


def _part(module: str) -> str:
    return module.split(".")[1] if module.count(".") else ""


def _imports(path: Path) -> list[tuple[int, str]]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, f"{path}: a relative import hides where it goes"
            if node.module == "tickover":
                found += [(node.lineno, f"tickover.{alias.name}") for alias in node.names]
            else:
                found.append((node.lineno, node.module))
    return [(line, name) for line, name in found if name.split(".")[0] == "tickover"]


MODULES = sorted(SOURCE.rglob("*.py"))


@pytest.mark.parametrize("path", MODULES, ids=[str(p.relative_to(SOURCE)) for p in MODULES])
def test_imports_come_from_rows_above(path: Path) -> None:
    own = path.relative_to(SOURCE).parts[0].removesuffix(".py")
    if own in FREE:
        return
    assert own in ROW_OF, f"{own} has no row in the house"
    for line, name in _imports(path):
        part = _part(name)
        if part in ("", own, "__version__"):
            continue
        assert part in ROW_OF, f"{path}:{line} imports {name}, which has no row"
        crossing = own in EDGES and part in EDGES and (own, part) in CROSSINGS
        assert ROW_OF[part] < ROW_OF[own] or crossing, f"{path}:{line} imports {name} from below"
        assert part not in BLIND.get(own, set()), f"{path}:{line}: {own} knows no {part}"


def test_only_the_book_speaks_sql() -> None:
    speakers = {
        path.relative_to(SOURCE).parts[0]
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, (ast.Import, ast.ImportFrom))
        for name in (
            [alias.name for alias in node.names] if isinstance(node, ast.Import) else [node.module]
        )
        if name and name.split(".")[0] in ("sqlalchemy", "sqlite3", "psycopg")
    }
    assert speakers <= {"book"}


def test_only_the_cache_the_book_and_the_faces_reach_outside() -> None:
    """No task starts a process or leaves a file; recordings of telephones go through ffmpeg."""
    reaching = {
        path.relative_to(SOURCE).as_posix()
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Import)
        and {alias.name for alias in node.names} & {"subprocess", "tempfile", "shutil", "pickle"}
    }
    outside = {each for each in reaching if each.split("/")[0] not in EDGES | {"cache", "book"}}
    assert outside == {"tasks/listen/keeping.py"}


def test_direction_check_can_fail(tmp_path: Path) -> None:
    """An import from below inside a function is found."""
    bad = tmp_path / "bad.py"
    bad.write_text("def f():\n    from tickover.pages import valves\n    return valves\n")
    assert _imports(bad) == [(2, "tickover.pages")]
    assert ROW_OF["pages"] > ROW_OF["tasks"]
