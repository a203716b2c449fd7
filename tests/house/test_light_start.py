"""Help and import are quick: nothing heavy is loaded before it is needed."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

HEAVY = ("numpy", "scipy", "numba", "pint", "pydantic", "sqlalchemy", "starlette", "typst",
         "vl_convert", "jinja2", "PIL")  # fmt: skip


def _loaded_after(code: str) -> set[str]:
    script = f"{code}\nimport sys\nprint(','.join(sorted(sys.modules)))"
    out = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    ).stdout
    return set(out.strip().splitlines()[-1].split(","))


def test_importing_the_package_loads_nothing_heavy() -> None:
    assert not _loaded_after("import tickover").intersection(HEAVY)


def test_help_loads_nothing_heavy() -> None:
    code = (
        "from tickover.cli import group\n"
        "try:\n    group.main(['--help'], standalone_mode=False)\n"
        "except SystemExit:\n    pass"
    )
    assert not _loaded_after(code).intersection(HEAVY)


def test_a_question_asked_again_loads_no_solver_and_no_compiler(tmp_path: Path) -> None:
    book = tmp_path / "book.sqlite"
    code = (
        "import sys\n"
        "from tickover.cli import main\n"
        "try:\n    main(sys.argv[1:])\n"
        "except SystemExit:\n    pass\n"
        "print(','.join(sorted(sys.modules)))"
    )

    def loaded(*words: str) -> set[str]:
        out = subprocess.run(
            [sys.executable, "-c", code, *words, "--where", str(book)],
            env={**os.environ, "TICKOVER_ANSWERS": str(tmp_path / "answers")},
            capture_output=True, text=True, check=True,
        ).stdout  # fmt: skip
        return set(out.strip().splitlines()[-1].split(","))

    loaded("demo", "--no-serve")
    first = loaded("fit", "--build", "Lane")
    again = loaded("fit", "--build", "Lane")
    assert {"scipy", "numba"} <= first
    assert not again.intersection({"scipy", "numba"})
