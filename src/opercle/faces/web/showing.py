"""One page from its template, and what every page is given.

Knows: the templates, their filters, and how a parameter of an address is read.
Refuses to know: which pages there are.
"""

import os
import re
from collections.abc import Mapping
from functools import cache
from typing import Any
from urllib.parse import urlencode

import jinja2
from markupsafe import Markup, escape
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from opercle.answers import Answer
from opercle.errors import UsageError
from opercle.faces.web import paths
from opercle.faces.web.asking import clipped

HERE = os.path.dirname(os.path.abspath(__file__))
_CODE = re.compile(r"``([^`<>]+)``")
_SPAN = re.compile(r"(?<=\d)-(?=\d)")


@cache
def environment() -> jinja2.Environment:
    """The templates: escaped everywhere, a missing field is an error."""
    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(os.path.join(HERE, "templates")),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= {
        "path": paths.path_of,
        "upper_first": lambda text: text[:1].upper() + text[1:],
        "dash": lambda text: _SPAN.sub("–", str(text)),
        "spaced": lambda text: str(text).replace("-", " "),
        "query": lambda pairs: urlencode(pairs, doseq=True),
        "inline": lambda svg: Markup(svg),
        "code": lambda text: Markup(_CODE.sub(r"<code>\1</code>", str(escape(text)))),
    }
    made.tests["reading"] = lambda line: "” is taken as the name of" in line
    return made


def page(
    request: Request,
    template: str,
    told: Mapping[str, Any],
    status: int = 200,
    headers: Mapping[str, str] | None = None,
) -> Response:
    """One page from its template."""
    look = request.app.state.lists
    base = {"here": request.url.path, "name_of": look.desk.label, "q": "", "nav": template}
    text = environment().get_template(template).render({**base, **told})
    return HTMLResponse(text, status, headers=dict(headers or {}))


def param(request: Request, name: str) -> str | None:
    """One parameter of the address; None if missing or empty."""
    return clipped(request.query_params.get(name))


def asked_of(request: Request, command: str, *args: Any, **options: Any) -> Answer:
    """What the one door answers."""
    answer: Answer = request.app.state.asking.ask(command, *args, **options)
    return answer


def need(request: Request, name: str) -> str:
    """One parameter of the address; UsageError if missing or empty."""
    value = param(request, name)
    if value is None:
        raise UsageError(f"“{name}” is missing.", request.url.path, "Fill in the form.")
    return value
