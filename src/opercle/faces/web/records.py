"""The page on which a file of records is dropped, settled, and taken away again.

Knows: what may be uploaded, how far it is, and which files can be taken away.
Refuses to know: how a row is settled, and any path: files are chosen by number from those made.
"""

import os
from typing import Any
from urllib.parse import urlsplit

from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route
from starlette.types import Message

from opercle.faces.web import showing, visits
from opercle.faces.web.asking import clipped

COLUMNS = {"name": "Name of the fish", "water": "Water", "state": "State", "date": "Date"}
SHEET_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox"
_KINDS = ("csv", "parquet", "dwca")
_PIECE = 1 << 20
_PRIVATE = {"Cache-Control": "no-store"}
_TOLD = {
    "-settled.csv": "The records, every row with its outcome and reason",
    "-settled.parquet": "The records, every row with its outcome and reason",
    "-settled.parquet.zip": "The records as Parquet, in parts",
    "-dwca.zip": "The records as a Darwin Core archive",
    "-rejects.csv": "Rows that could not be read, each with its line and reason",
    "decisions.csv": "Names left open, to be decided by you and sent along next time",
    "summary.html": "The summary as one page",
    "summary.json": "The summary for programs",
    "manifest.json": "What was made from what, with hashes",
}


class TooLarge(Exception):
    """The upload is larger than a file may be."""


def _held(request: Request) -> visits.Visits:
    held: visits.Visits = request.app.state.visits
    return held


def shown(request: Request, fault: str = "", status: int = 200) -> Response:
    """The form."""
    told = {
        "title": "Records",
        "fault": fault,
        "bounds": _held(request).bounds,
        "columns": COLUMNS,
    }
    return showing.page(request, "records.html", told, status, _PRIVATE)


async def dropped(request: Request) -> Response:
    """Take a file in, start settling it, and lead to the page that tells how far it is."""
    if not _own(request):
        return shown(request, "A file is taken only from this page.", 403)
    held, client = _held(request), request.client.host if request.client else ""
    try:
        visit = held.begin(client)
    except visits.Full:
        says = "Too many files are held just now. Take away yours, or come back in a few minutes."
        return shown(request, says, 503)
    try:
        options = await _taken(request, visit, held.bounds.size)
    except TooLarge:
        visit.end()
        says = f"The file is larger than {held.bounds.size // 1_000_000} MB. Split it."
        return shown(request, says, 413)
    except (MultiPartException, HTTPException, ValueError) as error:
        visit.end()
        says = str(error) if isinstance(error, ValueError) else "The form could not be read."
        return shown(request, says, 400)
    except BaseException:
        visit.end()
        raise
    held.settle(visit, client, options)
    return RedirectResponse(f"/records/{visit.token}", 303, headers=_PRIVATE)


def _own(request: Request) -> bool:
    """Whether a form was sent from a page of this server, as far as the browser says."""
    site = request.headers.get("sec-fetch-site")
    if site is not None:
        return site in ("same-origin", "none")
    origin = request.headers.get("origin")
    return origin is None or urlsplit(origin).netloc == request.headers.get("host")


async def _taken(request: Request, visit: visits.Visit, most: int) -> dict[str, Any]:
    """The upload laid down under a fixed name; the options of the form."""
    if int(request.headers.get("content-length") or 0) > most + _PIECE:
        raise TooLarge
    taken = 0

    async def counted() -> Message:
        nonlocal taken
        message = await request.receive()
        taken += len(message.get("body", b""))
        if taken > most + _PIECE:
            raise TooLarge
        return message

    form = await Request(request.scope, counted).form(max_files=2, max_fields=30)
    try:
        if not await _laid(form, "file", visit.path(visits.UPLOAD)):
            raise ValueError("No file was chosen, or it is empty.")
        await _laid(form, "decisions", visit.path(visits.DECISIONS))
        return _options(form)
    finally:
        await form.close()


async def _laid(form: FormData, field: str, path: str) -> bool:
    """Whether a file was sent in the field; it then lies at the path, which is ours."""
    sent = form.get(field)
    if not isinstance(sent, UploadFile) or not sent.size:
        return False
    with open(path, "wb") as file:
        while piece := await sent.read(_PIECE):
            file.write(piece)
    return True


def _options(form: FormData) -> dict[str, Any]:
    """The options of one call of ``settle`` that a visitor may choose."""

    def field(name: str) -> str | None:
        value = form.get(name)
        return clipped(value) if isinstance(value, str) else None

    columns = {role: v for role in COLUMNS if (v := field(f"column-{role}"))}
    kind = field("to")
    return {
        "to": kind if kind in _KINDS else None,
        "names_by": field("names-by"),
        "columns": columns,
        "spreadsheet_safe": field("spreadsheet-safe") is not None,
    }


def _found(request: Request) -> visits.Visit:
    visit = _held(request).find(request.path_params["token"])
    if visit is None:
        raise HTTPException(404, "These records are not held here; they are deleted after a visit.")
    return visit


def visited(request: Request) -> Response:
    """How far it is, or what came out and what can be taken away."""
    visit = _found(request)
    state = visit.state()
    told = {
        "title": "Records",
        "token": visit.token,
        "state": state,
        "share": _share(state),
        "files": _files(state),
        "kept": _held(request).bounds.kept // 60,
    }
    return showing.page(request, "visit.html", told, headers=_PRIVATE)


def told(request: Request) -> Response:
    """How far it is, for the script of the page."""
    state = _found(request).state()
    parts = {k: state.get(k, "") for k in ("how", "stage")}
    return JSONResponse({**parts, "share": _share(state)}, headers=_PRIVATE)


def _share(state: dict[str, Any]) -> float | None:
    of = state.get("of") or 0
    return round(min(1.0, state["done"] / of), 3) if of else None


def _files(state: dict[str, Any]) -> list[dict[str, Any]]:
    files = []
    for number, path in enumerate(state.get("files", [])):
        name = os.path.basename(path)
        says = next((s for end, s in _TOLD.items() if name.endswith(end)), "")
        files.append({"number": number, "name": name, "says": says})
    return files


def taken_away(request: Request) -> Response:
    """One of the files made; the summary is shown, the others are saved."""
    visit = _found(request)
    files, number = visit.state().get("files", []), request.path_params["number"]
    if number >= len(files):
        raise HTTPException(404, "There is no such file.")
    name = os.path.basename(files[number])
    headers = {**_PRIVATE, "Content-Security-Policy": SHEET_POLICY}
    kind = "inline" if name == "summary.html" else "attachment"
    return FileResponse(
        os.path.join(visit.folder, files[number]),
        filename=name,
        content_disposition_type=kind,
        headers=headers,
    )


def ended(request: Request) -> Response:
    """Delete everything of a visit now."""
    if not _own(request):
        raise HTTPException(403, "A visit is ended only from its page.")
    _found(request).end()
    return showing.page(request, "visit_ended.html", {"title": "Records"}, headers=_PRIVATE)


ROUTES = [
    Route("/records", shown, methods=["GET"]),
    Route("/records", dropped, methods=["POST"]),
    Route("/records/{token:str}", visited),
    Route("/records/{token:str}/state", told),
    Route("/records/{token:str}/end", ended, methods=["POST"]),
    Route("/records/{token:str}/{number:int}", taken_away),
]
