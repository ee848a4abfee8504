"""The knowledge written out for others: RDF, SKOS, a Darwin Core archive, tables.

Knows: which form is written by what, and under which name.
Refuses to know: how a form is shown or served.
"""

import os
from collections.abc import Callable
from typing import Any, NamedTuple

from opercle.answers import Answer
from opercle.errors import UsageError
from opercle.exports.writing import Heard
from opercle.questions.desk import Desk


class Form(NamedTuple):
    """A form of export: the name written by default, what it is, and what it carries."""

    file: str
    what: str
    carries: str


FORMS = {
    "turtle": Form("opercle.ttl", "Turtle", "every stated triple"),
    "jsonld": Form("opercle.jsonld", "JSON-LD", "every stated triple"),
    "nquads": Form(
        "opercle.nq", "N-Quads", "every stated triple, in the graph of the file it comes from"
    ),
    "skos": Form(
        "opercle-skos.ttl",
        "SKOS with SKOS-XL",
        "taxa with parents, ranks and names that are not doubted; characters with their states; "
        "not where, when and by whom a name is used, nor any other statement",
    ),
    "dwca": Form(
        "opercle-dwca.zip",
        "a Darwin Core archive",
        "taxa and synonyms; common names; ranges; counts, proportions, states, sizes and range "
        "limits; references; each with its citation and basis; not doubted statements, remarks, "
        "contrasts, words or etymologies",
    ),
    "tables": Form(
        "opercle-tables",
        "flat tables",
        "every statement and thing, one table a kind, each row with its citation and basis",
    ),
    "void": Form("void.ttl", "a VoID and DCAT description", "counts, licence, forms and version"),
}


def ask(
    desk: Desk,
    form: str,
    out: str | None = None,
    *,
    inferred: bool = False,
    table_form: str = "parquet",
    heard: Heard = lambda stage, done, of: None,
) -> Answer:
    """Write one form; the answer's ``files`` are the paths and ``wrote`` how much of what.

    ``out`` is a file, or a folder for the file (for ``tables`` the folder itself); ``inferred``
    adds what rules derived, for Turtle, JSON-LD and N-Quads. Raises UsageError, FileError.
    """
    if form not in FORMS:
        raise UsageError(f"There is no form “{form}”.", "--to", f"Use {', '.join(FORMS)}.")
    if inferred and form not in ("turtle", "jsonld", "nquads"):
        raise UsageError(
            f"{FORMS[form].what} has a fixed content; --inferred does not apply.",
            "--inferred",
            "Leave it out, or use --to turtle, jsonld or nquads.",
        )
    path = _path(form, out)
    wrote = _WRITERS[form](desk, path, inferred, table_form, heard)
    carries = FORMS[form].carries
    if inferred:
        carries += ", and what the rules derived, with the aids for looking up names"
    files = [path]
    if form == "tables":
        files = [os.path.join(path, f"{name}.{table_form}") for name in wrote]
    fields: dict[str, Any] = {
        "files": files,
        "wrote": wrote,
        "carries": carries,
        "inferred": inferred,
        "snapshot": desk.snapshot.facts.get("hash"),
    }
    told = ", ".join(f"{n:,} {what.replace('_', ' ')}" for what, n in wrote.items())
    if form == "tables":
        told = f"{len(wrote)} tables with {sum(wrote.values()):,} rows"
    says = f"Written as {FORMS[form].what}: {told}. It carries {carries}."
    return Answer({"to": form, "out": path}, "written", says, fields=fields)


def _path(form: str, out: str | None) -> str:
    """Where it goes: a folder that stands, or is meant, takes the file under its default name."""
    name = FORMS[form].file
    if not out:
        return name
    meant = out.endswith(("/", os.sep)) or os.path.isdir(out)
    if form == "tables":
        if os.path.exists(out) and not os.path.isdir(out):
            raise UsageError(f"Tables are written into a folder; {out} is a file.", "-o")
        return out.rstrip("/" + os.sep) or out
    return os.path.join(out, name) if meant else out


def _turtle(desk: Desk, path: str, inferred: bool, _: str, heard: Heard) -> dict[str, int]:
    from opercle.exports import graph

    return {"triples": graph.turtle(desk, path, inferred, heard)}


def _jsonld(desk: Desk, path: str, inferred: bool, _: str, heard: Heard) -> dict[str, int]:
    from opercle.exports import graph

    return {"triples": graph.jsonld(desk, path, inferred, heard)}


def _nquads(desk: Desk, path: str, inferred: bool, _: str, heard: Heard) -> dict[str, int]:
    from opercle.exports import graph

    return {"quads": graph.nquads(desk, path, inferred, heard)}


def _skos(desk: Desk, path: str, _: bool, __: str, heard: Heard) -> dict[str, int]:
    from opercle.exports import skos

    return skos.write(desk, path, heard)


def _dwca(desk: Desk, path: str, _: bool, __: str, heard: Heard) -> dict[str, int]:
    from opercle.exports import checklist

    return checklist.write(desk, path, heard)


def _tables(desk: Desk, path: str, _: bool, form: str, heard: Heard) -> dict[str, int]:
    from opercle.exports import tables

    return tables.write(desk, path, form, heard)


def _void(desk: Desk, path: str, _: bool, __: str, heard: Heard) -> dict[str, int]:
    from opercle.exports import void

    return void.write(desk, path)


_WRITERS: dict[str, Callable[[Desk, str, bool, str, Heard], dict[str, int]]] = {
    "turtle": _turtle,
    "jsonld": _jsonld,
    "nquads": _nquads,
    "skos": _skos,
    "dwca": _dwca,
    "tables": _tables,
    "void": _void,
}
