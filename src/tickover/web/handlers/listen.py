"""Listening: a recording sent in, what it says, which cylinder the weak slot is, deleting it."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response

from tickover.errors import FileError, InputError
from tickover.pages.building import engine_of
from tickover.pages.hearing import hear, heard_page, keep_heard, kept_page
from tickover.pages.listen import (
    SYNTHETIC,
    ListenPage,
    order_rows,
    speed_drawing,
    waterfall_drawing,
    wheel_drawing,
)
from tickover.quantities import parse
from tickover.tasks.listen.in_book import (
    REFERENCE_CAUTIONS,
    WAYS,
    KeptRecording,
    deleted_entry,
    find_recording,
    heard_idle,
    names_of,
    recordings,
    reference_entry,
)
from tickover.tasks.listen.listening import CAUTIONS
from tickover.web.forms import Form
from tickover.web.once import kept_already
from tickover.web.opened import Opened, draw, open_build
from tickover.web.pictures import both_widths
from tickover.web.refusals import MissingError
from tickover.web.render import see

FIELD = "recording"
ACCEPTED = "audio/*,.m4a,.wav,.flac,.ogg,.mp3"


def show(request: Request) -> Response:
    """GET /builds/{build}/listen: the latest recording, or ?entry= which."""
    opened = open_build(request)
    return _draw(request, opened, chosen=_chosen(opened, request.query_params.get("entry", "")))


def _chosen(opened: Opened, wanted: str) -> KeptRecording | None:
    if wanted:
        try:
            return find_recording(opened.state, wanted)
        except InputError as error:
            raise MissingError(f"There is no recording '{wanted[:40]}' in this build") from error
    every = recordings(opened.state)
    return every[-1] if every else None


def _draw(
    request: Request,
    opened: Opened,
    status: int = 200,
    *,
    chosen: KeptRecording | None = None,
    refused: ListenPage | None = None,
    typed: Form | None = None,
    error: InputError | None = None,
    name_error: InputError | None = None,
    delete_error: InputError | None = None,
) -> Response:
    found = kept_page(opened.row, opened.state, chosen) if chosen is not None else None
    engine = engine_of(opened.state)
    store = opened.bench.store
    held = chosen is not None and chosen.deleted is None and store.has_blob(chosen.sha256)
    return draw(
        request,
        opened,
        "listen.html",
        status,
        found=found,
        chosen=chosen,
        refused=refused,
        here=f"{opened.home}/listen",
        held=held,
        shared=store.others_naming(opened.row.id, chosen.sha256) if chosen and held else (),
        kept=tuple(reversed(recordings(opened.state))),
        named=chosen is not None and bool(names_of(engine, chosen)),
        cylinders=[str(number) for number in range(1, engine.engine.cylinders + 1)],
        ways=WAYS,
        reference_cautions=REFERENCE_CAUTIONS,
        cautions=CAUTIONS,
        synthetic=SYNTHETIC,
        idle=heard_idle(opened.state),
        speeds=both_widths(lambda width: speed_drawing(found, width=width)) if found else (),
        falls=_falls(found),
        wheel=wheel_drawing(found) if found is not None else "",
        orders=order_rows(found) if found is not None else (),
        why_href=f"{opened.home}/why?{urlencode({'symptom': 'runs, but'})}",
        accepted=ACCEPTED,
        typed=typed,
        error=error,
        name_error=name_error,
        delete_error=delete_error,
    )


def _falls(found: ListenPage | None) -> tuple[tuple[str, str], ...]:
    if found is None or found.waterfall is None:
        return ()
    return both_widths(lambda width: waterfall_drawing(found, width=width))


def keep(request: Request, form: Form) -> Response:
    """POST /builds/{build}/listen: a recording; kept where it says something, else told why not."""
    opened = open_build(request)
    before = kept_already(request)
    if before is not None:  # listening takes seconds
        return _see(opened, before.number)
    chosen = _chosen(opened, "")
    try:
        sent = form.files.get(FIELD)
        if sent is None:
            raise FileError("No recording came along, or an empty one",
                            instead="20 seconds of idling")  # fmt: skip
        about = form.get("about")
        rpm = (
            60.0 * parse(about, "speed", "rpm", "The rough idle speed").value_si if about else None
        )
        heard = hear(opened.engine_file, sent.data, sent.name, rpm)
    except InputError as error:
        return _draw(request, opened, 422, chosen=chosen, typed=form, error=error)
    if heard.listening.refused is not None:
        told = heard_page(opened.engine_file, heard)
        return _draw(request, opened, 422, chosen=chosen, typed=form, refused=told)
    bench = opened.bench
    entry = keep_heard(bench.store, opened.row.id, heard, at=bench.clock(), by=bench.by)
    return _see(opened, entry.number)


def _see(opened: Opened, number: int) -> Response:
    return see(f"{opened.home}/listen?{urlencode({'entry': number})}#main")


def name_weak(request: Request, form: Form) -> Response:
    """POST /builds/{build}/listen/weak: the cylinder found to be the weak slot, and how."""
    opened = open_build(request)
    kept = _chosen(opened, form.get("entry"))
    if kept is None:
        raise MissingError("There is no recording in this build")
    try:
        body = reference_entry(opened.engine_file, kept, form.get("cylinder"), form.get("way"))
        opened.keep(body)
    except InputError as error:
        return _draw(request, opened, 422, chosen=kept, typed=form, name_error=error)
    return _see(opened, kept.entry.number)


def delete(request: Request, form: Form) -> Response:
    """POST /builds/{build}/listen/delete: the sound goes, what was heard stays."""
    opened = open_build(request)
    kept = _chosen(opened, form.get("entry"))
    if kept is None:
        raise MissingError("There is no recording in this build")
    bench = opened.bench
    try:
        if form.get("sure") != "yes":
            raise InputError("The sound is gone for good when it is deleted",
                             instead="a tick in the box")  # fmt: skip
        body = deleted_entry(kept, form.get("reason"))
        bench.store.forget_blob(
            opened.row.id, kept.sha256, body, at=bench.clock(), by=bench.by
        )  # fmt: skip
    except InputError as error:
        return _draw(request, opened, 422, chosen=kept, typed=form, delete_error=error)
    return _see(opened, kept.entry.number)


def sound(request: Request) -> Response:
    """GET /builds/{build}/listen/{entry}.flac: the sound of a recording, to save."""
    opened = open_build(request)
    kept = _chosen(opened, request.path_params["entry"])
    if kept is None or kept.deleted is not None:
        raise MissingError("This recording is deleted")
    try:
        data = opened.bench.store.get_blob(kept.sha256)
    except InputError as error:
        raise MissingError("The book names this recording but does not hold it") from error
    label = "synthetic-" if kept.synthetic else ""
    name = f"{label}recording-{kept.entry.number}.flac"
    return Response(
        data, media_type="audio/flac",
        headers={"content-disposition": f'attachment; filename="{name}"'},
    )  # fmt: skip
