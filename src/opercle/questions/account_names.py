"""The naming side of an account: names, synonyms, type, meaning, history, members.

Knows: who called the fish what, where and when, and what the names mean.
Refuses to know: how the fish looks and lives.
"""

from typing import Any

from opercle.questions import subjects
from opercle.questions.account_facts import Bibliography, Fact, Facts
from opercle.questions.desk import Desk, node
from opercle.store import Row

_KINDS = ("standard", "group", "regional", "market", "old", "misapplied")


def uses(desk: Desk, taxon: str) -> list[Row]:
    """Every name use of the taxon, with its places."""
    where: dict[str, list[str]] = {}
    for row in desk.query("uses_places", t=node(taxon)):
        where.setdefault(row["use"], []).append(desk.label(row["where"]))
    return [{**r, "where": where.get(r["use"], [])} for r in desk.query("uses_of", t=node(taxon))]


def names(desk: Desk, books: Bibliography, taxon: str, rows: list[Row]) -> list[dict[str, Any]]:
    """The names people use, as bearer objects of the contract, standard ones first."""
    about = subjects.brief(desk, taxon)
    found: dict[tuple[Any, ...], dict[str, Any]] = {}
    for row in rows:
        kind = row["kind"].removeprefix("op:")
        if kind not in _KINDS or row.get("doubted"):
            continue
        same = (row["form"], kind, tuple(row["where"]), row.get("from"), row.get("until"))
        cited = books.cite(row["use"])
        if same in found:
            found[same]["also"].append(cited)
            continue
        found[same] = {
            **about,
            "vernacularName": row["form"],
            "name": row["form"],
            "language": row.get("lang") or "en",
            "kind": kind,
            "followed": bool(row.get("followed")),
            "where": row["where"],
            "from": row.get("from"),
            "until": row.get("until"),
            "in_list": desk.label(row["list"]) if "list" in row else None,
            "note": row.get("text"),
            "also": [],
            **cited,
        }
    return sorted(
        found.values(),
        key=lambda n: (_KINDS.index(n["kind"]), not n["followed"], n["language"], n["name"]),
    )


def synonyms(desk: Desk, books: Bibliography, rows: list[Row]) -> list[dict[str, Any]]:
    """Other scientific names that have been used for it, oldest first."""
    found: dict[tuple[str, str | None], dict[str, Any]] = {}
    for row in rows:
        if row["kind"] != "op:synonym" or row.get("doubted"):
            continue
        cited = books.cite(row["use"])
        same = (row["form"], authorship(row))
        if same in found:
            found[same]["also"].append(cited)
            continue
        found[same] = {
            "scientificName": row["form"],
            "scientificNameAuthorship": authorship(row),
            "year": row.get("year"),
            "original_genus": row.get("genus"),
            "note": row.get("text"),
            "also": [],
            **cited,
        }
    return sorted(found.values(), key=lambda s: (s["year"] or 9999, s["scientificName"]))


def authorship(row: Row) -> str | None:
    """Author and year, in parentheses where the species was first put in another genus."""
    if "authors" not in row:
        return None
    told = f"{row['authors']}, {row['year']}" if "year" in row else str(row["authors"])
    moved = "genus" in row and row["genus"] != str(row["form"]).split()[0]
    return f"({told})" if moved else told


def first_named(rows: list[Row]) -> dict[str, Any] | None:
    """Under what name the species was first published, as far as that is stated."""
    for row in rows:
        if row["kind"] != "op:scientific" or not row.get("followed") or "authors" not in row:
            continue
        genus, year = row.get("genus"), row.get("year")
        older = [
            r["form"]
            for r in rows
            if r["kind"] == "op:synonym"
            and r.get("year") == year
            and genus
            and str(r["form"]).startswith(f"{genus} ")
        ]
        by = f"by {row['authors']}" + (f" in {year}" if year else "")
        name = f"{genus} {row['original']}" if genus and "original" in row else None
        name = older[0] if older else name
        if name is None and genus == str(row["form"]).split()[0]:
            name = str(row["form"])
        if name:
            says = f"First named {name} {by}."
        else:
            says = f"First named {by}" + (f", in the genus {genus}." if genus else ".")
        return {"says": says, "year": year, "use": row["use"]}
    return None


def type_of(desk: Desk, facts: Facts) -> dict[str, Any] | None:
    """The type genus or species, with how it was fixed; every statement under ``statements``."""
    found = [_type(desk, facts, f) for f in facts.of("op:TypeFixation")]
    return {**found[0], "statements": found} if found else None


def _type(desk: Desk, facts: Facts, fact: Fact) -> dict[str, Any]:
    rows = desk.query("type_means", n=node(fact.one("op:typeName")))
    row = rows[0] if rows else {}
    means = row.get("t")
    return {
        "name": row.get("form"),
        "authorship": authorship(row) if row else None,
        "fixed_by": fact.one("op:fixedBy"),
        "note": fact.one("op:text"),
        "now": desk.about(means).get("name") if means else None,
        "taxon": means,
        **facts.books.cite(fact.statement),
    }


def types_borne(desk: Desk, books: Bibliography, taxon: str) -> list[dict[str, Any]]:
    """Groups of which a name of this taxon is the type."""
    return [
        {"of": desk.about(r["group"]).get("name"), "taxon": r["group"], **books.cite(r["s"])}
        for r in desk.query("type_of", t=node(taxon))
    ]


def etymology(desk: Desk, books: Bibliography, taxa: list[str]) -> list[dict[str, Any]]:
    """The meaning of the name part by part: the genus's parts before the species'."""
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for taxon in taxa:
        for fact in Facts(desk, taxon, books).of("op:Etymology"):
            cited = books.cite(fact.statement)
            same = (str(fact.one("op:part")), str(fact.one("op:meaning")))
            if same in found:
                found[same]["also"].append(cited)
                continue
            found[same] = {
                "part": fact.one("op:part"),
                "language": fact.one("op:language"),
                "means": fact.one("op:meaning"),
                "of": desk.about(taxon).get("name"),
                "also": [],
                **cited,
            }
    return list(found.values())


def history(desk: Desk, facts: Facts, rows: list[Row]) -> list[dict[str, Any]]:
    """First publication, earlier placements and names, then what sources tell of it."""
    told: list[dict[str, Any]] = []
    first = first_named(rows)
    if first:
        told.append(
            {"text": first["says"], "year": first["year"], **facts.books.cite(first["use"])}
        )
    for fact in facts.of("op:Placement"):
        if fact.one("op:followed"):
            continue
        within, until = desk.label(fact.one("op:within")), fact.one("op:until")
        says = f"Was placed in {within} until {until}." if until else f"Also placed in {within}."
        told.append({"text": says, "year": until, **facts.books.cite(fact.statement)})
    for topic in ("history", "naming"):
        told += [{**r, "year": None} for r in facts.remarks(topic)]
    return told


def members(desk: Desk, facts: Facts) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """What stands directly under the taxon, and how many members sources count."""
    rows = [subjects.brief(desk, r["m"]) for r in desk.query("members", t=node(facts.taxon))]
    counted = [
        {
            "count": f.one("op:memberCount"),
            "complete": bool(f.one("op:complete")),
            **facts.books.cite(f.statement),
        }
        for f in facts.of("op:MemberList")
    ]
    return sorted(rows, key=lambda m: (str(m["taxonRank"]), str(m["scientificName"]))), counted
