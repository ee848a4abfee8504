"""The bodily side of an account: counts, states, what tells it apart, sizes, waters.

Knows: values with the statements they rest on; sizes in both systems.
Refuses to know: names and their history.
"""

from collections.abc import Sequence
from typing import Any

from opercle.answers import listed
from opercle.counts import CountRange
from opercle.questions.account_facts import Bibliography, Fact, Facts, of_whom, whole
from opercle.questions.desk import Desk, node
from opercle.questions.features import Feature
from opercle.questions.units import inches, length, pounds, weight
from opercle.questions.values import Value, Values
from opercle.store import Row
from opercle.wording import count_range

_PRESENCE = ("native", "introduced", "disputed", "absent")


def numbers(
    values: Values, features: dict[str, Feature], facts: Facts, kind: str
) -> dict[str, dict[str, Any]]:
    """Counts (or proportions) by character: the range gone by, and every statement."""
    found = {}
    for key, value in values.of(facts.taxon).items():
        if key in features and features[key].kind == kind and value.range is not None:
            found[key] = _number(values, features[key], facts, value, value.range)
    order = list(features)
    return dict(sorted(found.items(), key=lambda kv: order.index(kv[0])))


def _number(
    values: Values, feature: Feature, facts: Facts, value: Value, reach: CountRange
) -> dict[str, Any]:
    return {
        "label": feature.character.label,
        "least": whole(reach.least),
        "most": whole(reach.most),
        "usual_least": whole(reach.usual_least),
        "usual_most": whole(reach.usual_most),
        "told": str(reach),
        "how": feature.how,
        "trust": feature.character.trust,
        "seen": feature.character.seen,
        **_shared(values, facts, value, feature.key),
    }


def _shared(values: Values, facts: Facts, value: Value, key: str) -> dict[str, Any]:
    statements = _statements(values, facts, value, key)
    bases = {s["basis"] for s in statements if s["used"]}
    inherited = value.holder != facts.taxon
    return {
        "of": values.desk.about(value.holder).get("name") if inherited else None,
        "basis": "read" if "read" in bases else "recalled",
        "refs": sorted({s["ref"] for s in statements if s["used"] and s["ref"]}),
        "statements": statements,
    }


def _statements(values: Values, facts: Facts, value: Value, key: str) -> list[dict[str, Any]]:
    """Those the value rests on, then those of one sex, stage or size, which it leaves out."""
    own = {f.statement: f for f in facts.all if f.one("op:onCharacter") == f"c:{key}"}
    rest = [f.statement for f in own.values() if f.statement not in value.statements]
    told = []
    for statement in (*value.statements, *rest):
        row = values.desk.words.statement(statement)
        if "op:doubted" in row:
            continue
        told.append(
            {
                "says": _says(values.desk, row),
                "verbatim": (row.get("op:verbatim") or [None])[0],
                "of_whom": of_whom(row),
                "used": statement in value.statements,
                **facts.books.cite(statement),
            }
        )
    return told


def _says(desk: Desk, row: Row) -> str:
    if "op:least" in row:
        return str(count_range(row))
    return listed(sorted(desk.label(s) for s in row.get("op:state", [])), "or")


def states(values: Values, features: dict[str, Feature], facts: Facts) -> dict[str, dict[str, Any]]:
    """States by character, those that mislead included and marked."""
    found = {}
    for key, feature in features.items():
        value = values.of(facts.taxon).get(key)
        if value is None or not value.states:
            continue
        labels = [label for s, label in feature.states if s in value.states]
        found[key] = {
            "label": feature.character.label,
            "states": [s.rpartition("_")[2] for s, _ in feature.states if s in value.states],
            "told": listed(labels, "or"),
            "usual": _usual(values.desk, value),
            "how": feature.how,
            "trust": feature.character.trust,
            "seen": feature.character.seen,
            **_shared(values, facts, value, key),
        }
    return found


def _usual(desk: Desk, value: Value) -> list[str]:
    found = {
        desk.label(u)
        for s in value.statements
        for u in desk.words.statement(s).get("op:usualState", [])
    }
    return sorted(found)


def tell_apart(desk: Desk, books: Bibliography, taxa: Sequence[str]) -> list[dict[str, Any]]:
    """What sources say of telling it, and the group it stands in, from look-alikes."""
    found = []
    for taxon in taxa:
        for row in desk.query("told_apart", t=node(taxon)):
            other = row["from"] if row["about"] == taxon else row["about"]
            if other in taxa or set(desk.lineage(other)) & {taxa[0]}:
                continue
            by = desk.words.statement(row["s"]).get("op:byCharacter", [])
            found.append(
                {
                    "from": desk.label(other),
                    "taxon": other,
                    "as": desk.about(taxon).get("name"),
                    "by": sorted(c.removeprefix("c:") for c in by),
                    "text": row["text"],
                    "by_water_alone": row["alone"],
                    **books.cite(row["s"]),
                }
            )
    return found


def not_to_trust(
    desk: Desk, features: dict[str, Feature], shown: dict[str, dict[str, Any]], taxon: str
) -> list[dict[str, Any]]:
    """Marks that mislead, and names that do."""
    told: list[dict[str, Any]] = []
    for key, state in shown.items():
        if state["trust"] == "misleading":
            cited: dict[str, Any] = next((s for s in state["statements"] if s["ref"]), {})
            told.append(
                {
                    "what": state["label"],
                    "text": f"{state['told']}. {features[key].how}",
                    **{k: cited.get(k) for k in ("source", "page", "basis", "ref")},
                }
            )
    shared: dict[str, list[str]] = {}
    for row in desk.query("shared_names", t=node(taxon)):
        if taxon in desk.lineage(row["other"]) or row["other"] in desk.lineage(taxon):
            continue
        shared.setdefault(row["form"], []).append(desk.label(row["other"]))
    for name, others in shared.items():
        told.append(_name(f"“{name}”", f"is also a name of {_few(others)}."))
    by_word: dict[str, list[str]] = {}
    for row in desk.query("misleading_names", t=node(taxon)):
        by_word.setdefault(desk.label(row["w"]).strip("“”"), []).append(f"“{row['form']}”")
    for word, forms in by_word.items():
        verb = "says" if len(forms) == 1 else "say"
        says = f"{verb} {word}, but the fish is of no group strictly called so."
        told.append(_name(listed(forms), says))
    return told


def _name(name: str, says: str) -> dict[str, Any]:
    return {
        "what": f"the name {name}",
        "text": says,
        "source": None,
        "page": None,
        "basis": "inferred",
        "ref": None,
    }


def _few(labels: Sequence[str]) -> str:
    told = list(dict.fromkeys(labels))
    return listed(told if len(told) < 5 else [*told[:3], f"{len(told) - 3} more"])


def waters(desk: Desk, facts: Facts) -> dict[str, list[dict[str, Any]]]:
    """Native, introduced, disputed and absent waters and places, and limits."""
    found: dict[str, list[dict[str, Any]]] = {p: [] for p in _PRESENCE}
    for fact in facts.of("op:RangeStatement"):
        presence = str(fact.one("op:presence")).removeprefix("op:")
        place = fact.one("op:where")
        same = next((w for w in found[presence] if w["where"] == place), None)
        cited = facts.books.cite(fact.statement)
        if same is not None:
            same["also"].append(cited)
            continue
        row = {"name": desk.label(place), "where": place, "note": of_whom(fact.row)}
        found[presence].append({**row, "also": [], **cited})
    for rows in found.values():
        rows.sort(key=lambda w: (not str(w["where"]).startswith("w:"), w["name"]))
    found["limits"] = [
        {
            "inside": [desk.label(p) for p in f.row.get("op:inside", [])],
            **facts.books.cite(f.statement),
        }
        for f in facts.of("op:RangeLimit")
    ]
    return found


def sizes(facts: Facts) -> dict[str, Any]:
    """The largest and the usual sizes in both systems, and every statement."""
    stated = [_size(facts, f) for f in facts.of("op:SizeStatement")]
    found: dict[str, Any] = {"statements": stated}
    for extent in ("largest", "usual"):
        for what, heavy in (("length", False), ("weight", True)):
            fit = [
                s for s in stated if s["extent"] == extent and (s["dimension"] == "weight") == heavy
            ]
            if fit:
                best = max(fit, key=lambda s: (s["most"], s["basis"] == "read"))
                found[f"{extent}_{what}"] = best if extent == "largest" else _span(fit, heavy)
    return found


def _size(facts: Facts, fact: Fact) -> dict[str, Any]:
    least = float(fact.one("op:least"))
    most = float(fact.one("op:most") or least)
    heavy = fact.one("op:dimension") == "weight"
    return {
        "dimension": str(fact.one("op:dimension")),
        "extent": str(fact.one("op:extent")),
        "least": least,
        "most": most,
        **_both(least, most, heavy),
        "verbatim": fact.one("op:verbatim"),
        "of_whom": of_whom(fact.row),
        **facts.books.cite(fact.statement),
    }


def _span(fit: Sequence[dict[str, Any]], heavy: bool) -> dict[str, Any]:
    """What several sources call usual, taken together."""
    least, most = min(s["least"] for s in fit), max(s["most"] for s in fit)
    return {
        "dimension": listed(sorted({s["dimension"].replace("-", " ") for s in fit}), "or"),
        "extent": "usual",
        "least": least,
        "most": most,
        **_both(least, most, heavy),
        "basis": "read" if any(s["basis"] == "read" for s in fit) else "recalled",
        "refs": sorted({s["ref"] for s in fit if s["ref"]}),
    }


def _both(least: float, most: float, heavy: bool) -> dict[str, Any]:
    """The metric and the customary figures, rounded to two places."""
    names = ("kg", "pounds") if heavy else ("cm", "inches")
    other = pounds if heavy else inches
    metric: Any = whole(most) if least == most else [whole(least), whole(most)]
    custom = [round(other(v), 2) for v in (least, most)]
    tell = weight if heavy else length
    told = tell(most) if least == most else _range_told(least, most, heavy)
    return {names[0]: metric, names[1]: custom[1] if least == most else custom, "told": told}


def _range_told(least: float, most: float, heavy: bool) -> str:
    other = pounds if heavy else inches
    a, b = ("kg", "lb") if heavy else ("cm", "in")
    low, high = (f"{round(v, 2):g}" for v in (least, most))
    one, two = (f"{round(other(v), 1):g}" for v in (least, most))
    return f"{low}-{high} {a} ({one}-{two} {b})"
