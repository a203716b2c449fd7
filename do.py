#!/usr/bin/env python3
"""Everything a newcomer needs: `python3 do.py run`, `test`, `bench`, `check`.

Needs only Python 3.11 or newer. Makes the environment in `.venv`, installs from
`requirements.lock` (every file checked by its hash) and does the job.
"""

from __future__ import annotations

import glob
import hashlib
import os
import shutil
import subprocess
import sys
import time
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent
ENVIRONMENT = ROOT / ".venv"
LOCK = ROOT / "requirements.lock"
PYTHON = ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


PAUSE_S = 20  # before the one further try of a download


def call(*command: str | Path, **extra: str) -> int:
    """Run a command in the project's folder and return its exit code."""
    # text is UTF-8 whatever language the machine is set to
    told = {**os.environ, "PYTHONUTF8": "1", **extra}
    return subprocess.call([str(part) for part in command], cwd=ROOT, env=told)


def fetch(*command: str | Path, **extra: str) -> int:
    """Run a command that downloads; where it fails, once more after a pause."""
    failed = call(*command, **extra)
    if failed:
        print(f"That did not work; once more in {PAUSE_S} s ...", flush=True)
        time.sleep(PAUSE_S)
        failed = call(*command, **extra)
    return failed


def ensure_environment() -> None:
    """Make `.venv` from the lock, unless it stands and the lock has not changed."""
    stamp = ENVIRONMENT / "tickover-lock.sha256"
    wanted = hashlib.sha256(LOCK.read_bytes() + (ROOT / "pyproject.toml").read_bytes()).hexdigest()
    if PYTHON.exists() and stamp.exists() and stamp.read_text() == wanted:
        return
    print("Making the environment in .venv (once; a few minutes on a slow line) ...", flush=True)
    uv = shutil.which("uv")
    if not PYTHON.exists():
        make_environment(with_pip=not uv)
    if uv:
        install = [uv, "pip", "install", "--quiet", "--python", str(PYTHON)]
    else:
        install = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    if not uv and call(PYTHON, "-c", "import pip") != 0:
        call(PYTHON, "-m", "ensurepip", "--upgrade")  # made where uv was at hand, and now it is not
    if fetch(*install, "--require-hashes", "-r", LOCK) != 0:
        sys.exit("The packages of requirements.lock could not be installed; see the lines above.")
    link_package()
    # So that nobody waits for it later: the inner loops of the models, compiled once and kept.
    call(PYTHON, "-m", "tickover.web.warming")
    stamp.write_text(wanted)


def make_environment(*, with_pip: bool) -> None:
    """An empty `.venv`; one that was begun and not finished is not left behind."""
    try:
        venv.create(ENVIRONMENT, with_pip=with_pip, clear=True)
    except subprocess.CalledProcessError:
        shutil.rmtree(ENVIRONMENT, ignore_errors=True)
        sys.exit(
            "Python could not put its installer into .venv. On Debian and Ubuntu the package"
            " 'python3-venv' is missing; install it, then try again."
        )


def link_package() -> None:
    """Make the package importable where it stands, and its command callable from `.venv`."""
    site = subprocess.check_output(
        [str(PYTHON), "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"], text=True
    ).strip()
    Path(site, "tickover-here.pth").write_text(f"{ROOT / 'src'}\n")
    if os.name == "nt":
        (PYTHON.parent / "tickover.cmd").write_text(f'@"{PYTHON}" -m tickover %*\r\n')
        return
    command = PYTHON.parent / "tickover"
    command.write_text(f'#!/bin/sh\nexec "{PYTHON}" -m tickover "$@"\n')
    command.chmod(0o755)


TOOLS = {
    "chromium": ("chromium", "chromium-browser", "google-chrome"),
    "espeak-ng": ("espeak-ng",),
    "postgresql": ("/usr/lib/postgresql/*/bin/initdb", "initdb"),
}
"""Debian package to what shows that it is there: programs on the path, or files."""


def is_there(sign: str) -> bool:
    """Whether a program is on the path, or a file at an address with stars."""
    return bool(glob.glob(sign)) if "/" in sign else shutil.which(sign) is not None


def ensure_tools() -> None:
    """What the tests drive: a real browser, speech to refuse, a real server for the book."""
    missing = [name for name, signs in TOOLS.items() if not any(map(is_there, signs))]
    if missing and shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0:
        print(f"Installing for the tests: {', '.join(missing)} ...", flush=True)
        patient = ("-o", "DPkg::Lock::Timeout=300")  # another installation may be under way
        fetch("apt-get", *patient, "update", "-qq")
        for name in missing:
            fetch(
                "apt-get", *patient, "install", "-y", "-qq", name, DEBIAN_FRONTEND="noninteractive"
            )
        missing = [name for name in missing if not any(map(is_there, TOOLS[name]))]
    if "chromium" in missing:
        sys.exit("The page tests need Chromium: install the package 'chromium', then try again.")
    for name in missing:
        print(f"Without the package '{name}' the tests that need it are skipped.", flush=True)


def run(arguments: list[str]) -> int:
    """The demo build's whole story in the terminal, then the web pages on loopback."""
    return call(PYTHON, "-m", "tickover", "demo", *arguments)


MOST_WORKERS = 8
"""Each is a Python with the models loaded and a browser, about 1 GB."""


def workers() -> int:
    """How many tests to run at once: one for each core this process may use."""
    if hasattr(os, "sched_getaffinity"):
        cores = len(os.sched_getaffinity(0))
    else:
        cores = os.cpu_count() or 1
    try:  # a container may be given less than the machine has
        share, of = Path("/sys/fs/cgroup/cpu.max").read_text().split()
        cores = min(cores, max(1, round(int(share) / int(of))))
    except (OSError, ValueError):  # none such here, or no limit set
        pass
    return min(cores, MOST_WORKERS)


def test(arguments: list[str]) -> int:
    """The whole test suite on all cores."""
    ensure_tools()
    return call(PYTHON, "-m", "pytest", *(arguments or ["-n", str(workers())]))


def bench(arguments: list[str]) -> int:
    """Ratios and limits, measured side by side in one run."""
    return call(PYTHON, ROOT / "bench" / "run.py", *arguments)


def check(arguments: list[str]) -> int:
    """Format, lint and types."""
    failed = call(PYTHON, "-m", "ruff", "check", ".")
    failed = call(PYTHON, "-m", "ruff", "format", "--check", ".") or failed
    return call(PYTHON, "-m", "mypy", "src", "do.py") or failed


VERBS = {"run": run, "test": test, "bench": bench, "check": check}


def main() -> int:
    """Do what the first word says."""
    if sys.version_info < (3, 11):
        sys.exit(f"Tickover needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    if len(sys.argv) < 2 or sys.argv[1] not in VERBS:
        lines = (f"  python3 do.py {verb:6} {task.__doc__}" for verb, task in VERBS.items())
        print("Say what to do:", *lines, sep="\n")
        return 0 if sys.argv[1:] in ([], ["--help"], ["-h"]) else 2
    ensure_environment()
    return VERBS[sys.argv[1]](sys.argv[2:])


if __name__ == "__main__":
    sys.exit(main())
