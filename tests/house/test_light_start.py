"""Help and import are quick: nothing heavy is loaded before it is needed."""

from __future__ import annotations

import subprocess
import sys

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
