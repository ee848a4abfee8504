"""An answer in a notebook: a sentence, its tables, why, cautions and a drawing; and as data frames.

Knows: HTML without scripts or addresses to load, and the two libraries of data frames by name.
Refuses to know: any question; it shows the fields that an answer has.
"""

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from opercle.errors import OpercleError, UsageError

TABLES = {
    "bearers": ("scientificName", "vernacularName", "family", "kind", "where", "source", "basis"),
    "candidates": ("scientificName", "vernacularName", "standing", "lives_there"),
    "next": ("label", "how", "seen"),
    "rows": (),
    "characters": (
        "character",
        "subject_state",
        "placed_in_state",
        "rather_than_state",
        "verdict",
        "trust",
    ),
    "names": ("name", "kind", "where", "from", "until", "source", "basis"),
    "synonyms": ("scientificName", "scientificNameAuthorship", "source", "basis"),
    "couplets": ("number", "label", "leads", "how"),
    "word_meanings": ("as", "taxon", "by", "since", "source", "basis"),
    "findings": ("line", "column", "kind", "text", "says", "suggest"),
    "set_aside": ("scientificName", "vernacularName", "says"),
}
"""The lists that are shown as tables, with the columns shown; the first one is the main one."""
_FEW, _LINES = 15, 12
_INNER = ("cells", "pairs", "verdict", "how", "character")


def html(answer: Mapping[str, Any], drawing: str = "") -> str:
    """An answer's dictionary, and an SVG drawing or nothing, as a piece of HTML."""
    parts = [f"<p><strong>{escape(str(answer['answer']))}</strong></p>"]
    if answer["cautions"]:
        told = "".join(f"<li>{escape(str(c))}</li>" for c in answer["cautions"])
        parts.append(f"<p>Take care:</p><ul>{told}</ul>")
    parts.append(drawing)
    parts += [_table(name, answer[name]) for name in TABLES if _is_table(answer.get(name))]
    parts.append(_because(answer["because"]))
    return f'<div class="opercle">{"".join(parts)}</div>'


def _is_table(value: Any) -> bool:
    return isinstance(value, (list, tuple)) and bool(value) and isinstance(value[0], Mapping)


def _table(name: str, rows: Sequence[Mapping[str, Any]]) -> str:
    columns = TABLES[name] or [k for k in rows[0] if k not in _INNER]
    shown = [c for c in columns if any(row.get(c) not in (None, "", []) for row in rows)]
    head = "".join(f'<th scope="col">{escape(c.replace("_", " "))}</th>' for c in shown)
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(_cell(row.get(c)))}</td>" for c in shown) + "</tr>"
        for row in rows[:_FEW]
    )
    more = f"<p>and {len(rows) - _FEW} more</p>" if len(rows) > _FEW else ""
    caption = escape(name.replace("_", " "))
    return f"<table><caption>{caption}</caption><tr>{head}</tr>{body}</table>{more}"


def _because(reasons: Sequence[Mapping[str, Any]]) -> str:
    if not reasons:
        return ""
    lines = "".join(
        f"<li>{escape(r['says'])} <em>({escape(_said_by(r))})</em></li>" for r in reasons[:_LINES]
    )
    more = f"<p>and {len(reasons) - _LINES} more</p>" if len(reasons) > _LINES else ""
    return f"<details><summary>Because</summary><ol>{lines}</ol>{more}</details>"


def _said_by(reason: Mapping[str, Any]) -> str:
    told = [reason["source"], reason["page"], reason["basis"], reason["rule"]]
    return ", ".join(str(t) for t in told if t)


def _cell(value: Any) -> str:
    """A value as one line of text: lists joined, an object by its plain values."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return ", ".join(_cell(v) for v in value.values() if v not in (None, "", [], {}))
    if isinstance(value, (list, tuple)):
        return "; ".join(_cell(v) for v in value)
    return str(value)


def records(answer: Mapping[str, Any], table: str | None) -> list[dict[str, Any]]:
    """The rows of one table of an answer, nested values as text; UsageError if there is none.

    Without ``table`` the main one: the first that the answer has, else its reasons.
    """
    held = [name for name in (*TABLES, "because") if _is_table(answer.get(name))]
    held += [k for k, v in answer.items() if k not in held and _is_table(v)]
    if table is None and not held:
        return []
    name = held[0] if table is None else table
    if name not in held and answer.get(name) != []:
        raise UsageError(
            f"The answer has no table “{name}”.", "table", f"It has {', '.join(held) or 'none'}."
        )
    rows = answer.get(name) or []
    return [{k: _flat(v) for k, v in row.items()} for row in rows]


def _flat(value: Any) -> Any:
    return _cell(value) if isinstance(value, (Mapping, list, tuple)) else value


def frame(library: str, rows: list[dict[str, Any]]) -> Any:
    """Rows as a data frame of pandas or polars; UsageError where that is not installed."""
    import importlib

    try:
        module = importlib.import_module(library)
    except ImportError:
        raise UsageError(
            f"{library} is not installed.", f"to_{library}", f"pip install {library}"
        ) from None
    if library == "polars":
        return module.DataFrame(rows, infer_schema_length=None, strict=False)
    return module.DataFrame(rows)


def drawn(make: Any) -> str:
    """The SVG that a drawing gives, without what only a whole file has; empty where it fails."""
    try:
        svg = str(make())
    except OpercleError:
        return ""
    return svg[svg.find("<svg") :] if "<svg" in svg else ""
