"""The pictures in README and guide are made anew and still show what the pages show."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

ROOT = Path(__file__).resolve().parents[2]
SHOWN = ROOT / "docs" / "pictures"
BLOCK = 12  # [px] letters drawn a little otherwise by another browser fall into the same block
SAME = 4.0  # [levels of 255] mean over all blocks; a line of text moved by its height gives over 10


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder: Path = tmp_path_factory.mktemp("pictures")
    done = subprocess.run(
        [sys.executable, str(ROOT / "docs" / "make_pictures.py"), str(folder)],
        capture_output=True,
        text=True,
        timeout=900,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return folder


def test_every_picture_of_readme_and_guide_is_made_and_none_lies_about(made: Path) -> None:
    words = [ROOT / "README.md", *(ROOT / "docs").glob("*.md")]
    shown = {
        name
        for file in words
        for name in re.findall(r"pictures/([a-z-]+\.png)", file.read_text(encoding="utf-8"))
    }
    assert shown == {picture.name for picture in made.iterdir()}
    assert shown == {picture.name for picture in SHOWN.iterdir()}


def test_the_pictures_still_show_what_the_pages_show(made: Path) -> None:
    wrong = [
        f"{picture.name}: {off:.1f}"
        for picture in sorted(made.iterdir())
        if (off := apart(picture, SHOWN / picture.name)) > SAME
    ]
    assert wrong == [], "run python docs/make_pictures.py, and look at them"


def test_the_measure_sees_a_line_of_text_that_moved(made: Path, tmp_path: Path) -> None:
    picture = made / "valves-phone.png"
    with Image.open(picture) as image:
        moved = Image.new(image.mode, image.size, "white")
        moved.paste(image, (0, 30))
    moved.save(tmp_path / "moved.png")
    assert apart(picture, picture) == 0.0
    assert apart(picture, tmp_path / "moved.png") > SAME


def apart(one: Path, other: Path) -> float:
    """Mean difference of two pictures, block by block, in levels of grey."""
    grey = []
    for file in (one, other):
        with Image.open(file) as image:
            small = (max(image.width // BLOCK, 1), max(image.height // BLOCK, 1))
            grey.append(np.asarray(image.convert("L").resize(small, Image.Resampling.BOX), float))
    if grey[0].shape != grey[1].shape:
        return 255.0
    return float(np.abs(grey[0] - grey[1]).mean())
