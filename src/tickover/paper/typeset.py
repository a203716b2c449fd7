"""Turn a template and plain data into a PDF (or a picture of it)."""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Mapping
from contextlib import ExitStack
from datetime import datetime
from importlib import resources
from pathlib import Path
from typing import Any, Literal

from tickover.errors import InputError

SIZES = {"a4": "a4", "letter": "us-letter"}


def typeset(
    template: str,
    data: dict[str, Any],
    *,
    paper: str = "a4",
    printed_at: str = "",
    form: Literal["pdf", "png"] = "pdf",
    files: Mapping[str, bytes] | None = None,
    accessible: bool = True,
) -> bytes:
    """Set a template with its data.

    Parameters
    ----------
    template : str
        Name of a file in `tickover/paper/templates`, without its ending.
    data : dict
        JSON-able; the template reads it as `data`.
    paper : str
        'a4' or 'letter'.
    printed_at : str
        ISO 8601; printed in the foot and kept as the document's date.
    form : {'pdf', 'png'}
    files : mapping of str to bytes, optional
        Pictures by the name the template calls them; photographs are too large for `data`.
    accessible : bool
        Written as PDF/UA-1: a picture without words or a heading out of order is an error, ours.

    Returns
    -------
    bytes

    Raises
    ------
    InputError
        If the paper size is none we print on.
    """
    import typst  # loaded only when something is printed

    if paper not in SIZES:
        raise InputError("No such paper size", given=paper, allowed=", ".join(SIZES))
    folder = Path(str(resources.files(__package__)))
    moment = datetime.fromisoformat(printed_at) if printed_at else None
    inputs = {
        "data": json.dumps(data, ensure_ascii=False),
        "paper": SIZES[paper],
        "printed": printed_at[:10],
    }
    with ExitStack() as stack:
        templates = folder / "templates"
        if files:
            templates = Path(stack.enter_context(tempfile.TemporaryDirectory())) / "sheet"
            shutil.copytree(folder / "templates", templates)
            for name, content in files.items():
                (templates / name).write_bytes(content)
        result = typst.compile(
            str(templates / f"{template}.typ"),
            root=str(templates),
            font_paths=[str(folder / "font")],
            ignore_system_fonts=True,
            format=form,
            ppi=110.0 if form == "png" else None,
            sys_inputs=inputs,
            pdf_standards=["ua-1"] if accessible and form == "pdf" else [],
            timestamp=int(moment.timestamp()) if moment else None,
        )
    if isinstance(result, list):  # several pages as pictures: the first is shown
        result = result[0]
    assert isinstance(result, bytes)
    return result
