"""Feed every parser spoilt food for a time, led by the code each input reaches (atheris).

    python bench/fuzz.py 60        each parser for 60 s
    python bench/fuzz.py 60 track  only one

Needs atheris (`pip install atheris`); it is no dependency of tests or product. Prints one line for
each parser: inputs tried, faults found. Exit code 1 when there was one; its input is shown.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tests")]


def one(name: str, seconds: int, folder: Path) -> None:
    """Fuzz one parser in this process; atheris ends it."""
    import atheris

    with atheris.instrument_imports(include=["tickover"]):
        from support_parsers import PARSERS, feed
    corpus = folder / "corpus"
    corpus.mkdir()
    for number, sample in enumerate(PARSERS[name].samples()):
        (corpus / str(number)).write_bytes(sample)
    limits = [f"-max_total_time={seconds}", "-max_len=4096", "-rss_limit_mb=4096"]
    told = [f"-artifact_prefix={folder}/", "-print_final_stats=1"]
    arguments = [sys.argv[0], str(corpus), *limits, *told]
    atheris.Setup(arguments, lambda data: feed(name, data))
    atheris.Fuzz()


def main() -> int:
    """Each parser in a process of its own."""
    from support_parsers import PARSERS

    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    wanted = sys.argv[2:] or list(PARSERS)
    faults = 0
    print(f"{'parser':24}{'inputs':>10}{'faults':>8}")
    for name in wanted:
        with tempfile.TemporaryDirectory() as folder:
            command = [sys.executable, __file__, "--one", name, str(seconds), folder]
            found = subprocess.run(command, capture_output=True, text=True, errors="replace")
            said = found.stderr + found.stdout
            tried = re.search(r"number_of_executed_units: (\d+)", said)
            spoilt = [p for p in Path(folder).iterdir() if p.is_file()]
            bad = len(spoilt) or int(found.returncode != 0)
            faults += bad
            print(f"{name:24}{tried.group(1) if tried else '?':>10}{bad:>8}", flush=True)
            if bad:
                print(said[-3000:])
            for each in spoilt:
                print(each.name, repr(each.read_bytes()))
    return 1 if faults else 0


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        one(sys.argv[2], int(sys.argv[3]), Path(sys.argv[4]))
    sys.exit(main())
