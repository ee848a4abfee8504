"""Compiles the knowledge into a snapshot and opens it.

Knows: parsing, running the rules, the cache folder, and how to write so that nothing half done is
ever seen: built beside, flushed, renamed.
Refuses to know: what is asked of the snapshot.
"""

import json
import os
import sys
import time
import zlib
from collections.abc import Callable, Sequence
from typing import Any

import pyoxigraph as ox

from opercle import assets, held, reading
from opercle.errors import FileError, OpercleError
from opercle.store import Snapshot
from opercle.terms import OP, PREFIXES, shorten

VERSION = "0.1.0"
_FORM = "10"  # raise when the layout of a snapshot changes
_MANY = 500_000
"""Over so many triples the stages of the work are told as they come."""
_NUMBERS = ("least", "most", "usualLeast", "usualMost")

Tell = Callable[[str], None]


def notice(text: str) -> None:
    """Tell a person, on standard error, what is going on."""
    print(f"opercle: {text}", file=sys.stderr)


def cache_folder() -> str:
    """The folder for compiled knowledge: ``OPERCLE_CACHE``, else the user's cache folder."""
    own = os.environ.get("OPERCLE_CACHE")
    if own:
        return own
    base = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    return os.path.join(base or os.path.expanduser("~/.cache"), "opercle")


def open_snapshot(packs: Sequence[str] = (), tell: Tell = notice) -> Snapshot:
    """Open the knowledge, compiling it first where that has not been done.

    ``packs`` are Turtle files laid over it. Raises FileError for files that cannot be read or
    are damaged, RuleError for a broken rule.
    """
    sources = assets.files("ontology", ".ttl") + assets.files("ontology", ".rq")
    for pack in packs:
        if not os.path.isfile(pack):
            raise FileError("The pack cannot be read.", pack, "Check the path of --with.")
    folder = cache_folder()
    state = _state([*sources, *packs])
    stamp = os.path.join(folder, f"stamp-{zlib.crc32(state.encode()):08x}")
    digest = _stamped(stamp, state)
    fresh = digest is None
    if digest is None:
        digest = _digest(sources, packs)
    found = _open(os.path.join(folder, digest), tell)
    if found is None:
        found = _compile(folder, digest, packs, tell)
    if found.place and fresh:
        _write(stamp, digest + "\n" + state)
    return found


def reopen(place: str, tell: Tell = notice) -> Snapshot:
    """Open a snapshot where it lies (``Snapshot.place``), whatever its sources are by now.

    Raises FileError where it is gone.
    """
    found = _open(place, tell)
    if found is None:
        raise FileError("The compiled knowledge is gone.", place, "Start again.")
    return found


def _state(paths: Sequence[str]) -> str:
    """Path, size and time of every file: while it is the same, so is the content."""
    told = [VERSION, _FORM]
    for path in paths:
        found = os.stat(path)
        told.append(f"{path}:{found.st_size}:{found.st_mtime_ns}")
    return "\n".join(told)


def _digest(sources: Sequence[str], packs: Sequence[str]) -> str:
    """A hash of the content itself, with version and form."""
    import hashlib

    whole = hashlib.blake2b(f"{VERSION}/{_FORM}".encode(), digest_size=16)
    for path in [*sources, *packs]:
        name = os.path.basename(path)
        with open(path, "rb") as file:
            content = file.read()
        whole.update(f"\0{name}\0{len(content)}\0".encode())
        whole.update(content)
    return whole.hexdigest()


def _stamped(path: str, state: str) -> str | None:
    """The hash that a stamp gives for just this state of the files."""
    try:
        with open(path, encoding="utf-8") as file:
            digest, _, held = file.read().partition("\n")
    except (OSError, ValueError):
        return None
    return digest if held == state else None


def _write(path: str, text: str) -> None:
    """Write beside and rename; a folder that cannot be written is no fault here."""
    beside = f"{path}.{os.getpid()}"
    try:
        with open(beside, "w", encoding="utf-8") as file:
            file.write(text)
        os.replace(beside, path)
    except OSError:
        pass


def _open(place: str, tell: Tell) -> Snapshot | None:
    """Open a compiled snapshot; None if there is none, or if it is damaged (said so)."""
    if not os.path.isdir(place):
        return None
    try:
        lock = held.Held(os.path.join(place, "facts.json"))
        with open(lock.path, encoding="utf-8") as file:
            facts = json.load(file)
        snapshot = Snapshot(ox.Store.read_only(os.path.join(place, "store")), facts, place)
        snapshot.held = lock
        if snapshot.ask("ASK { g:snapshot op:key ?made }"):
            return snapshot
    except (OSError, ValueError, RuntimeError):
        pass
    tell("the compiled knowledge is damaged; compiling it again")
    return None


def _compile(folder: str, digest: str, packs: Sequence[str], tell: Tell) -> Snapshot:
    tell("compiling the knowledge; this is done once")
    store, facts, lists = compiled(packs, tell)
    facts["hash"] = digest
    _describe(store, facts)
    place = _freeze(folder, digest, store, facts, lists)
    if place is None:
        tell("the cache folder cannot be written; working from memory")
        return Snapshot(store, {**facts, **lists}, None)
    opened = _open(place, tell)
    return opened if opened is not None else Snapshot(store, {**facts, **lists}, None)


def compiled(
    packs: Sequence[str] = (), tell: Tell = notice
) -> tuple[ox.Store, dict[str, Any], dict[str, Any]]:
    """Parse everything, run the rules, and return the store, its facts and its look-up lists."""
    from opercle import rules

    store = ox.Store()
    root = os.path.dirname(assets.folder("ontology"))
    seen: set[ox.Triple] = set()
    for path in assets.files("ontology", ".ttl"):
        load(store, path, os.path.relpath(path, root).replace(os.sep, "/"), seen)
    for path in packs:
        _lay(store, path, seen, tell)
    stated = len(store)
    keys = _index(store)
    _brief(store)
    book = rules.read_all()
    made = rules.run(store, book, tell if stated > _MANY else lambda _: None)
    _brief_of_taxa(store)
    store.add(
        ox.Quad(
            ox.NamedNode(PREFIXES["g"] + "snapshot"),
            ox.NamedNode(OP.key),
            ox.Literal(VERSION),
            ox.NamedNode(PREFIXES["g"] + "index"),
        )
    )
    facts = {
        "version": VERSION,
        "stated": stated,
        "derived": sum(made.values()),
        "by_rule": made,
        "packs": [os.path.basename(p) for p in packs],
    }
    lists = {"rules": [rule._asdict() for rule in book], "keys": keys}
    return store, facts, lists


def _lay(store: ox.Store, path: str, seen: set[ox.Triple], tell: Tell) -> None:
    """Lay a pack over the store, if it only adds and keeps the shapes; FileError if not."""
    from opercle import check
    from opercle import packs as laid

    before, core = len(seen), laid.subjects(store)
    fresh = load(store, path, laid.graph_name(path), seen)
    if len(seen) - before > _MANY:
        tell(f"the pack {os.path.basename(path)} states {len(seen) - before:,} triples")
    laid.judge(path, fresh, core)
    laid.keeps(path, check.findings(check.ground([path])))


def load(store: ox.Store, path: str, name: str, seen: set[ox.Triple]) -> set[ox.Triple]:
    """Parse one Turtle file into a graph of its own; FileError tells file, line and remedy.

    Returns what was new.

    A triple that an earlier file states too (``seen``) is kept once, so that no answer is doubled.
    """
    graph = ox.NamedNode(PREFIXES["g"] + name)
    try:
        with open(path, "rb") as file:
            content = file.read()
        quads = list(ox.parse(content, format=ox.RdfFormat.TURTLE))
    except SyntaxError as error:
        line = getattr(error, "lineno", None)
        raise FileError(
            f"The Turtle is malformed: {error.msg}",
            f"{path}, line {line}" if line else path,
            "Mend that line; a statement ends in a full stop and strings in quotes.",
        ) from None
    except OSError as error:
        raise FileError(f"The file cannot be read: {error.strerror}", path) from None
    fresh = {q.triple for q in quads} - seen
    seen |= fresh
    store.extend(ox.Quad(t.subject, t.predicate, t.object, graph) for t in fresh)
    return fresh


_NAMED = """SELECT ?x ?f { { ?x skosxl:literalForm ?f } UNION
  { VALUES ?kind { op:Water op:Place op:GroupWord }
    ?x a ?kind ; skos:prefLabel|skos:altLabel ?f } }"""


def _index(store: ox.Store) -> list[str]:
    """Give every name, water, place and word its key; return the keys of names."""
    graph = ox.NamedNode(PREFIXES["g"] + "index")
    key = ox.NamedNode(OP.key)
    names: set[str] = set()
    found: Any = store.query(_NAMED, prefixes=PREFIXES, use_default_graph_as_union=True)
    for solution in list(found):
        told = solution["f"].value
        store.add(ox.Quad(solution["x"], key, ox.Literal(reading.key_of(told)), graph))
        if solution["x"].value.startswith(PREFIXES["n"]):
            names.add(reading.normal(told))
    return sorted(names)


_GIVEN = """SELECT ?s ?about ?c ?least ?most ?usualLeast ?usualMost ?state ?varies WHERE {
  ?s op:onCharacter ?c ; op:about ?about .
  OPTIONAL { ?c op:varies ?varies }
  OPTIONAL { ?s op:least ?least } OPTIONAL { ?s op:most ?most }
  OPTIONAL { ?s op:usualLeast ?usualLeast } OPTIONAL { ?s op:usualMost ?usualMost }
  OPTIONAL { ?s op:state ?state } } ORDER BY ?s ?state"""


def _brief(store: ox.Store) -> None:
    """Give every statement on a character its values in one line, for one look-up each."""
    found: Any = store.query(_GIVEN, prefixes=PREFIXES, use_default_graph_as_union=True)
    lines: dict[ox.NamedNode, tuple[list[str], list[str], str]] = {}
    for row in found:
        numbers = [row[n].value if row[n] else "" for n in _NUMBERS]
        head = [shorten(row["about"].value), shorten(row["c"].value).removeprefix("c:"), *numbers]
        single = "1" if row["varies"] and numbers[0] and numbers[0] == numbers[1] else ""
        states = lines.setdefault(row["s"], (head, [], single))[1]
        if row["state"]:
            states.append(shorten(row["state"].value))
    graph, brief = ox.NamedNode(PREFIXES["g"] + "index"), ox.NamedNode(OP.brief)
    store.extend(
        ox.Quad(s, brief, ox.Literal("\t".join([*head, " ".join(states), single])), graph)
        for s, (head, states, single) in lines.items()
    )


_HELD = """SELECT ?t ?how ?s ?brief WHERE {
  VALUES ?how { op:goesBy op:gathers } ?t ?how ?s . ?s op:brief ?brief }"""
_CHARACTERS = """SELECT ?c ?label ?trust ?seen ?asks ?order WHERE {
  ?c op:trust ?trust ; skos:prefLabel ?label ; op:seen ?seen ; op:asks ?asks ; op:order ?order .
} ORDER BY ?order"""


def _brief_of_taxa(store: ox.Store) -> None:
    """Give every taxon the briefs it goes by, and the snapshot those of the characters."""
    held: dict[ox.NamedNode, set[str]] = {}
    found: Any = store.query(_HELD, prefixes=PREFIXES, use_default_graph_as_union=True)
    for row in found:
        told = (shorten(row["how"].value), shorten(row["s"].value), row["brief"].value)
        held.setdefault(row["t"], set()).add("\t".join(told))
    found = store.query(_CHARACTERS, prefixes=PREFIXES, use_default_graph_as_union=True)
    characters = ["\t".join(term.value for term in row) for row in found]
    graph, brief = ox.NamedNode(PREFIXES["g"] + "index"), ox.NamedNode(OP.brief)
    lines = {taxon: sorted(told) for taxon, told in held.items()}
    lines[ox.NamedNode(PREFIXES["g"] + "snapshot")] = list(dict.fromkeys(characters))
    store.extend(
        ox.Quad(thing, brief, ox.Literal("\n".join(told)), graph) for thing, told in lines.items()
    )


def _describe(store: ox.Store, facts: dict[str, Any]) -> None:
    """Let the snapshot say of itself what was found out, for who asks it over the net."""
    graph, json_type = PREFIXES["g"] + "index", ox.NamedNode(PREFIXES["rdf"] + "JSON")
    told = ox.Literal(json.dumps(facts), datatype=json_type)
    it = ox.NamedNode(PREFIXES["g"] + "snapshot")
    described = ox.NamedNode(PREFIXES["dcterms"] + "description")
    store.add(ox.Quad(it, described, told, ox.NamedNode(graph)))


def _freeze(
    folder: str, digest: str, store: ox.Store, facts: dict[str, Any], lists: dict[str, Any]
) -> str | None:
    """Write the snapshot beside its place and rename it there; None if that cannot be done."""
    import shutil

    place = os.path.join(folder, digest)
    work = os.path.join(folder, f"building-{digest}-{os.getpid()}-{time.monotonic_ns()}")
    try:
        os.makedirs(work)
        disk = ox.Store(os.path.join(work, "store"))
        disk.bulk_extend(store)  # sorted and packed; optimize() would unpack what is over 1e6 quads
        disk.flush()
        del disk
        for name, value in {**lists, "facts": facts}.items():
            with open(os.path.join(work, name + ".json"), "w", encoding="utf-8") as file:
                json.dump(value, file)
                file.flush()
                os.fsync(file.fileno())
        _put(work, place)
        held.prune(folder, place)
        return place
    except OSError:
        shutil.rmtree(work, ignore_errors=True)
        return None


def _put(work: str, place: str) -> None:
    """Rename into place; a sound snapshot put there meanwhile by another process is kept."""
    import shutil

    try:
        os.rename(work, place)
        return
    except OSError:
        if not os.path.isdir(place):
            raise
    if _open(place, lambda _: None) is not None:
        shutil.rmtree(work, ignore_errors=True)
        return
    aside = f"{place}-damaged-{os.getpid()}"
    os.rename(place, aside)
    os.rename(work, place)
    shutil.rmtree(aside, ignore_errors=True)


def listed(snapshot: Snapshot, name: str) -> Any:
    """A look-up list of the snapshot (``rules`` or ``keys``), read when first asked for."""
    if snapshot.place is None:
        return snapshot.facts[name]
    try:
        with open(os.path.join(snapshot.place, name + ".json"), encoding="utf-8") as file:
            return json.load(file)
    except (OSError, ValueError):
        raise OpercleError(
            "The compiled knowledge is damaged.", snapshot.place, "Delete that folder."
        ) from None
