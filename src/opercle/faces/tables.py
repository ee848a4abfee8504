"""The educator's answers as tables for a terminal.

Knows: which columns suit an account, a comparison, an identification and a key.
Refuses to know: what the answers mean.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from opercle.answers import Answer

Rows = list[list[str]]
Made = tuple[str, Sequence[str], Rows]
_MANY = 25


def tables(command: str, answer: Answer) -> list[Made]:
    """Headed tables for one answer; empty for a command that is not the educator's."""
    makers = {"account": _account, "compare": _compare, "identify": _identify, "key": _key}
    if command == "proofread":
        return _proofread(answer.fields)
    if command not in makers:
        return []
    if answer.outcome == "open" and answer.fields.get("bearers"):
        rows = [
            [b["scientificName"] or "", b["vernacularName"] or "", b["family"] or ""]
            for b in answer.fields["bearers"]
        ]
        return [("It can mean", ("scientific name", "name", "family"), rows)]
    return makers[command](answer.fields)


def _ref(entry: Mapping[str, Any]) -> str:
    """``3 read`` or, for several, ``1, 4 recalled``."""
    refs = entry.get("refs") or ([entry["ref"]] if entry.get("ref") else [])
    return " ".join(p for p in (", ".join(str(r) for r in refs), entry.get("basis") or "") if p)


# ---- account -------------------------------------------------------------------------------


def _account(fields: Mapping[str, Any]) -> list[Made]:
    if "counts" not in fields:
        return []
    made: list[Made] = [("", ("", ""), _heading(fields))]
    made.append(_texts("Meaning of the name", _meanings(fields)))
    made.append(_texts("How it got its name", [[h["text"], _ref(h)] for h in fields["history"]]))
    made.append(("Names", ("name", "kind", "where", "source"), _names(fields)))
    made.append(
        (
            "Other scientific names",
            ("name", "author", "source"),
            [
                [s["scientificName"], s["scientificNameAuthorship"] or "", _ref(s)]
                for s in fields["synonyms"]
            ],
        )
    )
    values = [*fields["counts"].values(), *fields["proportions"].values()]
    made.append(("Counts and proportions", ("", "", "of", "source"), [_value(v) for v in values]))
    kept = [s for s in fields["states"].values() if s["trust"] != "misleading"]
    made.append(("Marks", ("", "", "of", "source"), [_value(v) for v in kept]))
    told = [[t["from"], t["text"], _ref(t)] for t in fields["tell_apart"]]
    made.append(("Told apart", ("from", "by", "source"), told))
    bad = [[n["what"], n["text"], _ref(n)] for n in fields["not_to_trust"]]
    made.append(("Not to trust", ("", "", "source"), bad))
    made += _waters(fields["waters"])
    for topic in ("habitat", "food", "breeding", "description"):
        lines = [[r["text"], _ref(r)] for r in fields["remarks"][topic]]
        made.append(_texts(topic.capitalize(), lines))
    sizes = [
        [s["extent"], s["dimension"].replace("-", " "), s["told"], s["of_whom"] or "", _ref(s)]
        for s in fields["sizes"]["statements"]
    ]
    made.append(("Sizes", ("", "", "", "of", "source"), sizes))
    doubted = [[d["says"], d["doubted"], _ref(d)] for d in fields["doubted"]]
    made.append(("Doubted, and not used", ("said", "doubt", "source"), doubted))
    made.append(("Sources", ("", "", ""), [_source(s) for s in fields["sources"]]))
    return made


def _texts(heading: str, rows: Rows) -> Made:
    return heading, ("", "source"), rows


def _heading(fields: Mapping[str, Any]) -> Rows:
    rows = [["stands in", " > ".join(fields["lineage"])]]
    kind = fields["type"]
    if kind:
        now = f", now {kind['now']}" if kind["now"] and kind["now"] != kind["name"] else ""
        rows.append(["type", f"{kind['name']}{now}, by {kind['fixed_by']} ({_ref(kind)})"])
    if fields["members"]:
        names = ", ".join(_called(m) for m in fields["members"])
        rows.append(["members", names])
    return rows


def _called(taxon: Mapping[str, Any]) -> str:
    name, common = taxon.get("scientificName"), taxon.get("vernacularName")
    return f"{common} ({name})" if common else str(name)


def _meanings(fields: Mapping[str, Any]) -> Rows:
    return [
        [f"{e['part']}: {e['language']}, “{e['means']}” (in {e['of']})", _ref(e)]
        for e in fields["etymology"]
    ]


def _names(fields: Mapping[str, Any]) -> Rows:
    rows = []
    for n in fields["names"]:
        years = "-".join(str(y) for y in (n["from"], n["until"]) if y)
        tongue = "" if n["language"] == "en" else f" ({n['language']})"
        where = ", ".join(n["where"][:5]) + (" …" if len(n["where"]) > 5 else "")
        told = "; ".join(p for p in (where, years, n["note"] or "") if p)
        rows.append([n["name"] + tongue, n["kind"], told, _ref(n)])
    return rows


def _value(entry: Mapping[str, Any]) -> list[str]:
    return [entry["label"], entry["told"], entry["of"] or "", _ref(entry)]


def _waters(waters: Mapping[str, Any]) -> list[Made]:
    made: list[Made] = []
    for presence in ("native", "introduced", "disputed", "absent"):
        rows = [[", ".join(w["name"] for w in waters[presence])]] if waters[presence] else []
        made.append((f"Waters and places: {presence}", ("",), rows))
    limits = [[", ".join(limit["inside"]), _ref(limit)] for limit in waters["limits"]]
    made.append(("Known only from", ("", "source"), limits))
    return made


def _source(entry: Mapping[str, Any]) -> list[str]:
    title = f"{entry['source']}: {entry['title']}" if entry["title"] else entry["source"]
    return [str(entry["number"]), title, " and ".join(entry["basis"])]


# ---- compare -------------------------------------------------------------------------------


def _compare(fields: Mapping[str, Any]) -> list[Made]:
    if "taxa" not in fields:
        return []
    names = [str(t["vernacularName"] or t["scientificName"]) for t in fields["taxa"]]
    rows = [
        [
            r["label"],
            *(c["state"] or "not known" for c in r["cells"]),
            r["verdict"] + ("" if r["trust"] == "dependable" else f" ({r['trust']})"),
            r["seen"],
        ]
        for r in fields["rows"]
        if r["tells_apart"]
    ]
    made: list[Made] = [("What tells them apart", ("", *names, "", "seen"), rows)]
    said = [[c["says"], c["source"] or "", c["basis"] or ""] for c in fields["contrasts"]]
    made.append(("What sources say", ("", "source", "basis"), said))
    alike = [r["label"] for r in fields["rows"] if r["verdict"] == "agrees with both"]
    silent = [r["label"] for r in fields["rows"] if r["verdict"] == "silent"]
    rest = [["alike, or overlapping", ", ".join(alike)], ["not known of all", ", ".join(silent)]]
    made.append(("The rest", ("", ""), [r for r in rest if r[1]]))
    return made


# ---- identify ------------------------------------------------------------------------------


def _identify(fields: Mapping[str, Any]) -> list[Made]:
    kept = [c for c in fields["candidates"] if c["standing"] != "against"]
    names = ["", "standing", "lives there", "for", "against or at the edge"]
    names += ["HermiT"] if "logic" in fields else []
    rows = [_candidate(c) for c in kept[:_MANY]]
    if len(kept) > _MANY:
        rows.append([f"and {len(kept) - _MANY} more", *([""] * (len(names) - 1))])
    made: list[Made] = [("Left", names, rows)]
    aside = [[_called(a), a["says"]] for a in fields["set_aside"] if a["standing"] != "against"]
    made.append(("Set aside by place", ("", ""), aside[:_MANY]))
    out = [c for c in fields["candidates"] if c["standing"] == "against"]
    near = [
        [
            _called(c),
            "; ".join(x["says"] for x in c["against"] if x["weight"] == "rules out"),
            *_logic(c),
        ]
        for c in out[:3]
    ]
    heading = f"Ruled out: {len(out)}; the nearest of them"
    made.append((heading, ("", "", "HermiT")[: 3 if "logic" in fields else 2], near))
    return made


def _logic(candidate: Mapping[str, Any]) -> list[str]:
    """HermiT's verdict and reason, where it was asked."""
    if "logic" not in candidate:
        return []
    told = candidate["logic"]
    differs = "" if told["agrees"] else " (the rules say otherwise)"
    return [": ".join(p for p in (told["verdict"], "; ".join(told["because"])) if p) + differs]


def _candidate(candidate: Mapping[str, Any]) -> list[str]:
    return [
        _called(candidate),
        candidate["standing"],
        candidate["lives_there"],
        "; ".join(_said(x) for x in candidate["for"]),
        "; ".join(_said(x) for x in candidate["against"]),
        *_logic(candidate),
    ]


def _said(line: Mapping[str, Any]) -> str:
    return str(line["says"]) + (f" ({line['basis']})" if line["basis"] else "")


# ---- key -----------------------------------------------------------------------------------


def _key(fields: Mapping[str, Any]) -> list[Made]:
    rows = []
    for couplet in fields.get("couplets", []):
        for lead in couplet["leads"]:
            number = f"{couplet['number']}{lead['lead']}"
            back = f" ({couplet['from']})" if lead["lead"] == "a" and couplet["from"] else ""
            rows.append([number + back, lead["says"], _goes(lead)])
        if couplet["stops_say"]:
            rows.append(["", couplet["stops_say"], ""])
    made: list[Made] = [("Key", ("", "", "go to"), rows)]
    out = [[_called(t), t["says"]] for t in fields.get("left_out", [])]
    made.append(("Left out", ("", ""), out))
    return made


def _goes(lead: Mapping[str, Any]) -> str:
    if lead["to"] is not None:
        return str(lead["to"])
    names = ", ".join(_called(t) for t in lead["taxa"])
    return names + (f": {lead['note']}" if lead["note"] else "")


# ---- proofread -----------------------------------------------------------------------------


def _proofread(fields: Mapping[str, Any]) -> list[Made]:
    rows = {True: [], False: []}  # type: dict[bool, Rows]
    for f in fields["findings"]:
        place = f"{f['line']}:{f['column']}"
        put = f["says"] + (f" Put: {f['suggest']}" if f["suggest"] else "")
        rows[f["kind"] == "not-judged"].append([place, f["kind"], f["text"], put])
    names = ("at", "kind", "text", "says")
    return [("Faults", names, rows[False]), ("Not judged", names, rows[True])]
