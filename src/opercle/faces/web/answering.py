"""The answers in the browser: what a sentence asks, the answer, its reasons and their proofs.

Knows: which parameters each answer takes, and which lines are shown with their proof at once.
Refuses to know: any answer.
"""

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from opercle.answers import Answer, Reason
from opercle.errors import OpercleError
from opercle.faces.web import asked, pictures
from opercle.faces.web.showing import asked_of, need, page, param

_PROVED = 12
Fields = list[tuple[str, str | None, str]]
Drawn = tuple[list[dict[str, str]], list[Mapping[str, Any]]]


def ask(request: Request) -> Response:
    """Read a plain question and lead to its answer; say so where it is not understood."""
    text = param(request, "q")
    if text is None:
        return RedirectResponse("/", 303)
    read = asked.read(text)
    if read is None:
        return page(request, "not_read.html", {"title": "Not understood", "q": text})
    parts = dict(read.parts)
    if read.kind == "name" and "where" in parts:
        written = parts.pop("where")
        article = f" in the {written}".casefold() in text.casefold()
        parts[request.app.state.lists.place_kind(written, article)] = written
    return RedirectResponse(asked.Read(read.kind, {**parts, "q": text}, "").path, 303)


def answer_name(request: Request) -> Response:
    """What a name means."""
    name = need(request, "name")
    options = {k: param(request, k) for k in ("water", "state", "year")}
    answer = asked_of(request, "name", name, **options)
    where = [f"in {v}" for v in (options["water"], options["state"], options["year"]) if v]
    says = f"Which fish does the name “{' '.join([name + '”', *where])} mean?"
    labels = {"water": "Water", "state": "State or place", "year": "Year"}
    places = [(k, options[k], label) for k, label in labels.items()]
    fields: Fields = [("name", name, "Name"), *places]
    return _answered(request, answer, says, fields, pictures.of_name(answer))


def answer_really(request: Request) -> Response:
    """Whether a fish is what its name says."""
    name, word = need(request, "name"), param(request, "word")
    answer = asked_of(request, "really", name, word=word)
    says = f"Is “{name}” really what the word “{answer.fields.get('word') or word}” means?"
    fields: Fields = [("name", name, "Name"), ("word", word, "Group word, such as bass")]
    return _answered(request, answer, says, fields, pictures.of_really(answer))


def answer_why(request: Request) -> Response:
    """Why a fish stands here and not there."""
    taxon, other = need(request, "taxon"), need(request, "not")
    answer = asked_of(request, "why", taxon, rather_than=other)
    says = f"Why is “{taxon}” placed where it is, and not with “{other}”?"
    fields: Fields = [("taxon", taxon, "Fish"), ("not", other, "Not to")]
    return _answered(request, answer, says, fields, pictures.of_why(answer))


def _answered(
    request: Request, answer: Answer, says: str, fields: Fields, drawn: Drawn
) -> Response:
    told = {
        "figures": drawn[0],
        "bare": drawn[1],
        "title": says,
        "says": says,
        "answer": answer,
        "f": answer.fields,
        "reasons": reasons(request, answer),
        "fields": fields,
        "q": param(request, "q") or "",
    }
    return page(request, "answer.html", told)


def reasons(request: Request, answer: Answer) -> list[dict[str, Any]]:
    """The lines of why; derived ones with the tree of their proof, the first of them at once."""
    told: list[dict[str, Any]] = []
    aside = {row["says"] for row in answer.fields.get("set_aside") or []}
    proved = 0
    for reason in answer.because:
        if any(reason.says.startswith("set aside") and says in reason.says for says in aside):
            continue
        line: dict[str, Any] = {"r": reason, "tree": None, "prove": None}
        if reason.triple and reason.basis == "inferred":
            names = ("subject", "predicate", "object")
            line["prove"] = "/prove?" + urlencode(dict(zip(names, reason.triple, strict=True)))
            if proved < _PROVED:
                line["tree"] = _tree(request, reason)
                proved += 1
        told.append(line)
    return told


def _tree(request: Request, reason: Reason) -> Any:
    try:
        return asked_of(request, "prove", *(reason.triple or ())).fields.get("tree")
    except OpercleError:
        return None


def prove(request: Request) -> Response:
    """One proof by itself."""
    parts = [param(request, k) for k in ("subject", "predicate", "object")]
    answer = asked_of(request, "prove", *[p for p in parts if p]) if all(parts) else None
    told = {"title": "Proof", "answer": answer, "parts": [p or "" for p in parts]}
    return page(request, "prove.html", told)


ROUTES = [
    Route("/ask", ask),
    Route("/answer/name", answer_name),
    Route("/answer/really", answer_really),
    Route("/answer/why", answer_why),
    Route("/prove", prove),
]
