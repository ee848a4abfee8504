"""The couplets of a key in words.

Knows: numbering, how a lead is said, what else agrees with it, and how an honest end reads.
Refuses to know: how the fishes were cut.
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from opercle.answers import listed
from opercle.counts import CountRange, span
from opercle.questions import subjects
from opercle.questions.account_facts import Bibliography
from opercle.questions.desk import Desk, node
from opercle.questions.features import RATIO, STATE
from opercle.questions.key_splits import Cut, Fish, narrowed
from opercle.questions.values import EASE, Character, Value, Values, by_use, widened

if TYPE_CHECKING:
    from opercle.questions.key import Node

_ALSO = 2
_WATERS = 4
_SOURCES = 5
NOT_SEPARABLE = "not separable by these characters: see the water"
VARIABLE = "variable: look at more than one fish"


def couplets(desk: Desk, values: Values, books: Bibliography, tree: "Node") -> list[dict[str, Any]]:
    """The couplets in the order in which they are read, the first lead followed first."""
    made: list[dict[str, Any]] = []
    if tree.cut is not None:
        _number(desk, values, books, tree, None, made)
    return made


def _number(
    desk: Desk,
    values: Values,
    books: Bibliography,
    tree: "Node",
    come_from: int | None,
    made: list[dict[str, Any]],
) -> int:
    cut, ways = tree.cut, tree.ways
    assert cut is not None
    assert ways is not None
    number = len(made) + 1
    couplet: dict[str, Any] = {"number": number, "from": come_from}
    made.append(couplet)
    character = cut.feature.character
    sides = (
        [narrowed(f, cut, True) for f in (*cut.one, *cut.both, *cut.carried)],
        [narrowed(f, cut, False) for f in (*cut.two, *cut.both, *cut.carried)],
    )
    also = _also(values, cut) if cut.clean else []
    leads = []
    for i, (way, side) in enumerate(zip(ways, sides, strict=True)):
        lead = _lead(values, cut, side, [pair[i] for pair in also])
        lead["lead"] = "ab"[i]
        lead["to"] = None
        lead["taxa"], lead["note"], lead["where"] = [], None, {}
        if way.cut is not None:
            lead["to"] = _number(desk, values, books, way, number, made)
        else:
            _end(desk, lead, [f.taxon for f in way.fishes])
        lead["species"] = len(side)
        lead["genus"] = _genus(side)
        leads.append(lead)
    couplet |= {
        "character": character.key,
        "label": character.label,
        "trust": character.trust,
        "seen": character.seen,
        "how": f"{character.asks} {cut.feature.how}",
        "leads": leads,
        "stops": [subjects.brief(desk, f.taxon) for f in cut.stopped],
        "carried": [subjects.brief(desk, f.taxon) for f in cut.carried],
        "stops_say": _stops(desk, cut),
        "statements": _statements(tree.fishes, character.key),
        "refs": _refs(books, _statements(tree.fishes, character.key)),
    }
    return number


def _genus(side: Sequence[Fish]) -> str | None:
    genera = {f.genus for f in side}
    return genera.pop() if len(genera) == 1 and len(side) > 1 else None


def _lead(values: Values, cut: Cut, side: Sequence[Fish], also: Sequence[str]) -> dict[str, Any]:
    held = [f.values[cut.feature.key] for f in side if cut.feature.key in f.values]
    character = cut.feature.character
    lead: dict[str, Any] = {"character": character.key, "least": None, "most": None, "states": []}
    if cut.feature.kind == STATE:
        shown = {s for v in held for s in v.states}
        lead["states"] = [s for s, _ in cut.feature.states if s in shown]
        labels = [label for s, label in cut.feature.states if s in shown]
        says = f"{character.label}: {listed(labels, 'or')}"
    else:
        reach = _hull(held)
        lead["least"], lead["most"] = reach.least, reach.most
        about = "about " if cut.feature.kind == RATIO else ""
        says = f"{character.label} {about}{_spanned(reach)}"
    lead["also"] = list(also)
    lead["says"] = "; ".join([subjects.upper(says), *also])
    return lead


def _spanned(reach: CountRange) -> str:
    """A range in words; one that begins at nothing is told by its upper end."""
    if reach.least == 0 and reach.most:
        return f"{reach.most:g} or fewer"
    return span(reach.least, reach.most)


def _hull(held: Sequence[Value]) -> CountRange:
    hull: CountRange | None = None
    for value in held:
        if value.range is not None:
            hull = value.range if hull is None else hull.hull(value.range)
    assert hull is not None
    return CountRange(hull.least, hull.most)


def leads_on(lead: dict[str, Any], value: Value) -> bool:
    """True if a fish with this value may follow the lead."""
    if value.range is not None and lead["least"] is not None:
        return value.range.overlaps(CountRange(lead["least"], lead["most"]))
    return bool(widened(value.states) & set(lead["states"]))


def _also(values: Values, cut: Cut) -> list[tuple[str, str]]:
    """Further characters known of all these fishes that part them at the same place."""
    found: list[tuple[tuple[Any, ...], tuple[str, str]]] = []
    for key, character in values.characters.items():
        if key == cut.feature.key or character.trust == "misleading":
            continue
        if EASE.index(character.seen) > EASE.index("under a lens"):
            continue
        one = [f.values.get(key) for f in cut.one]
        two = [f.values.get(key) for f in cut.two]
        if not all(one) or not all(two):
            continue
        said = _apart(values, character, [v for v in one if v], [v for v in two if v])
        if said:
            found.append((by_use(character), said))
    return [said for _, said in sorted(found)[:_ALSO]]


def _apart(
    values: Values, character: Character, one: Sequence[Value], two: Sequence[Value]
) -> tuple[str, str] | None:
    label = character.label
    if all(v.range for v in (*one, *two)):
        a, b = _hull(one), _hull(two)
        if a.gap(b):
            return f"{label} {_spanned(a)}", f"{label} {_spanned(b)}"
        c, d = _hull([_usual(v) for v in one]), _hull([_usual(v) for v in two])
        if c.gap(d):
            return f"{label} usually {span(*c[:2])}", f"{label} usually {span(*d[:2])}"
        return None
    first, second = (frozenset().union(*(v.states for v in side)) for side in (one, two))
    if not first or not second or first & second:
        return None
    told = []
    for states in (first, second):
        labels = sorted(values.desk.label(s) for s in states)
        told.append(f"{label}: {listed(labels, 'or')}")
    return told[0], told[1]


def _usual(value: Value) -> Value:
    return value._replace(range=value.range.usual if value.range else None)


def _end(desk: Desk, lead: dict[str, Any], taxa: Sequence[str]) -> None:
    lead["taxa"] = [subjects.brief(desk, t) for t in taxa]
    if len(taxa) > 1:
        lead["note"] = NOT_SEPARABLE
        lead["where"] = {t: _waters(desk, t) for t in taxa}


def _waters(desk: Desk, taxon: str) -> list[str]:
    """Where the fish lives, as far as it helps to tell it: its limits, else its native waters."""
    limits = desk.query("limits", t=node(taxon))
    places = [r["inside"] for r in limits]
    if not places:
        rows = desk.query("ranges", t=node(taxon))
        places = [r["where"] for r in rows if r["presence"] == "op:native"]
    places.sort(key=lambda p: not p.startswith("w:"))
    labels = list(dict.fromkeys(desk.label(p) for p in places))
    more = [f"{len(labels) - _WATERS} more"] if len(labels) > _WATERS + 1 else []
    return labels[:_WATERS] + more if more else labels


def _stops(desk: Desk, cut: Cut) -> str | None:
    """What becomes of fishes whose value is not known."""
    if not cut.unknown:
        return None
    names = listed([desk.label(f.taxon) for f in cut.unknown])
    how = "Carried both ways" if cut.carried else "Not carried further"
    return f"{how}, since {cut.feature.character.label} is not known here: {names}."


def _statements(fishes: Sequence[Fish], key: str) -> list[str]:
    found: dict[str, None] = {}
    for fish in fishes:
        value = fish.values.get(key)
        for statement in value.statements if value else ():
            found.setdefault(statement)
    return list(found)


def _refs(books: Bibliography, statements: Sequence[str]) -> list[dict[str, Any]]:
    """A few numbered sources of a couplet, those read first; all statements stand beside them."""
    first: dict[str, tuple[bool, str]] = {}
    for statement in statements:
        cited = books.desk.words.citation(statement)
        if cited is not None:
            name = cited.iri or cited.source
            first[name] = min(
                first.get(name, (True, statement)), (cited.basis != "read", statement)
            )
    chosen = sorted(first.values(), key=lambda pair: pair[0])[:_SOURCES]
    cites = [books.cite(statement) for _, statement in chosen]
    return sorted(({"n": c["ref"], "basis": c["basis"]} for c in cites), key=lambda r: int(r["n"]))
