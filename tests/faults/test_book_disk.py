"""Full disks, read-only places: a clear message, nothing lost, nothing half written."""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

PROGRAMS = Path(__file__).parent / "programs"
posix = pytest.mark.skipif(os.name != "posix", reason="needs a POSIX system")


def run(*command):
    return subprocess.run(
        [str(part) for part in command], capture_output=True, text=True, timeout=300, check=False
    )


@posix
def test_a_file_that_may_not_grow_is_a_full_disk(tmp_path):
    """By limiting the size of files for one process; works for everybody."""
    done = run(sys.executable, PROGRAMS / "full_disk.py", tmp_path, "limit")
    assert done.returncode == 0, done.stderr
    how, last = done.stdout.split()
    print(f"disk made full by {how}; {last} entries kept until then")
    assert int(last) > 10


def test_a_full_file_system(tmp_path):
    """By a file system of 400 kB in a namespace of its own; needs Linux and its permission."""
    if not shutil.which("unshare"):
        pytest.skip("no 'unshare' here to mount a small file system without privileges")
    mounted = ["unshare", "-rm", "sh", "-c", 'mount -t tmpfs -o size=400k none "$0" && exec "$@"']
    if run(*mounted, tmp_path, "true").returncode != 0:
        pytest.skip("this system lets nobody mount a small file system in a namespace")
    done = run(*mounted, tmp_path, sys.executable, PROGRAMS / "full_disk.py", tmp_path, "tmpfs")
    assert done.returncode == 0, done.stderr
    how, last = done.stdout.split()
    print(f"disk made full by {how}; {last} entries kept until then")
    assert int(last) > 10


@posix
def test_a_book_that_may_only_be_read_is_read_and_never_written():
    folder = Path(tempfile.mkdtemp())  # not below pytest's folder, which is closed to others
    try:
        folder.chmod(0o755)
        done = run(sys.executable, PROGRAMS / "read_only.py", folder)
        assert done.returncode == 0, done.stderr
        assert "cannot be written" in done.stdout
        assert "No book can be made" in done.stdout
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)
