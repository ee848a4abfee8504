"""The account of a family, genus or species: all that is known here, every fact cited.

Knows: what an account is made of and in which order.
Refuses to know: how it is printed. Doubted statements are told as doubted, never as values.
"""

from typing import Any

from opercle.answers import Answer, Reason, listed
from opercle.questions import account_body as body
from opercle.questions import account_names as naming
from opercle.questions import subjects
from opercle.questions.account_facts import Bibliography, Facts, joined
from opercle.questions.desk import Desk, node
from opercle.questions.features import COUNT, RATIO, features
from opercle.questions.values import Values

FOUND = "found"
_REASONED = ("counts", "proportions", "states")


def ask(desk: Desk, taxon: str) -> Answer:
    """Answer ``account``: found, or open where a name means several. Raises UnknownError."""
    question = {"taxon": " ".join(taxon.split())}
    taxa = subjects.meant(desk, taxon)
    if len(taxa) > 1:
        return subjects.several(desk, question, taxon, taxa, {})
    one = taxa[0]
    books = Bibliography(desk)
    facts = Facts(desk, one, books)
    fields = _fields(desk, books, facts)
    return Answer(
        question=question,
        outcome=FOUND,
        answer=_sentence(desk, one, fields),
        because=_because(desk, one, fields),
        cautions=desk.passed_over(taxon, one) + desk.cautions([one]),
        fields={**fields, "sources": books.sources()},
    )


def _fields(desk: Desk, books: Bibliography, facts: Facts) -> dict[str, Any]:
    taxon = facts.taxon
    values = Values(desk)
    known = features(desk, values)
    rows = naming.uses(desk, taxon)
    genus = _genus(desk, taxon)
    members, counted = naming.members(desk, facts)
    states = body.states(values, known, facts)
    return {
        **subjects.brief(desk, taxon),
        "lineage": [str(desk.about(t).get("name", t)) for t in reversed(desk.lineage(taxon))],
        "placement": _placement(desk, facts),
        "type": naming.type_of(desk, facts),
        "type_of": naming.types_borne(desk, books, taxon),
        "members": members,
        "member_counts": counted,
        "etymology": naming.etymology(desk, books, [*genus, taxon]),
        "history": naming.history(desk, facts, rows),
        "names": naming.names(desk, books, taxon, rows),
        "synonyms": naming.synonyms(desk, books, rows),
        "counts": body.numbers(values, known, facts, COUNT),
        "proportions": body.numbers(values, known, facts, RATIO),
        "states": states,
        "tell_apart": body.tell_apart(desk, books, [taxon, *genus]),
        "not_to_trust": body.not_to_trust(desk, known, states, taxon),
        "waters": body.waters(desk, facts),
        **_life(facts),
        "sizes": body.sizes(facts),
        "hybrids": _hybrids(desk, taxon),
        "doubted": facts.doubted(),
    }


def _genus(desk: Desk, taxon: str) -> list[str]:
    return [t for t in desk.lineage(taxon) if desk.rank(t) == "genus"]


def _placement(desk: Desk, facts: Facts) -> dict[str, Any] | None:
    for fact in facts.of("op:Placement"):
        if fact.one("op:followed"):
            within = fact.one("op:within")
            return {
                "within": desk.label(within),
                "taxon": within,
                **facts.books.cite(fact.statement),
            }
    return None


def _life(facts: Facts) -> dict[str, Any]:
    """Habitat and food as running text, and every remark by topic with its source."""
    topics = ("description", "habitat", "food", "breeding", "character")
    remarks = {topic: facts.remarks(topic) for topic in topics}
    return {
        "habitat": joined(remarks["habitat"]),
        "food": joined(remarks["food"]),
        "breeding": joined(remarks["breeding"]),
        "remarks": remarks,
    }


def _hybrids(desk: Desk, taxon: str) -> list[dict[str, Any]]:
    rows = desk.query("crosses_under", group=node(taxon))
    return [subjects.brief(desk, r["t"]) for r in rows]


def _sentence(desk: Desk, taxon: str, fields: dict[str, Any]) -> str:
    rank, family = fields["taxonRank"], fields["family"]
    told = desk.label(taxon)
    author = str(fields["scientificNameAuthorship"] or "").strip("()")
    if author:
        by, _, year = author.rpartition(", ")
        told += f", named by {by} in {year}" if by and year.isdigit() else f", named by {author}"
        told += ","
    told += f" is {'an' if str(rank)[:1] in 'aeiou' else 'a'} {rank}"
    if family and rank != "family":
        told += f" of the family {family}"
    if fields["members"]:
        kinds: dict[str, int] = {}
        for member in fields["members"]:
            kinds[str(member["taxonRank"])] = kinds.get(str(member["taxonRank"]), 0) + 1
        counts = [f"{n} {_plural(kind, n)}" for kind, n in kinds.items()]
        told += f" with {listed(counts)} here"
    anal = fields["counts"].get("anal-spines")
    dorsal = fields["counts"].get("dorsal-spines")
    shown = [f"{c['label']} {c['told']}" for c in (dorsal, anal) if c and not c["of"]]
    told += f": {listed(shown)}" if shown else ""
    largest = [fields["sizes"].get(k) for k in ("largest_length", "largest_weight")]
    grown = [s["told"] for s in largest if s]
    told += f". The largest known here: {listed(grown)}" if grown else ""
    return subjects.upper(told) + "."


def _plural(kind: str, n: int) -> str:
    if n == 1:
        return kind
    forms = {"genus": "genera", "family": "families", "species": "species"}
    return forms.get(kind, kind + "s")


def _because(desk: Desk, taxon: str, fields: dict[str, Any]) -> list[Reason]:
    """Placement, then the statements that counts and states rest on, each once."""
    lines: list[Reason] = []
    family = desk.about(taxon).get("family")
    if family and family != taxon:
        says = f"{desk.label(taxon)} is of the family {desk.label(family)}"
        lines.append(
            Reason(says, "inferred", rule="in-family", triple=(taxon, "op:inFamily", family))
        )
    if fields["placement"]:
        lines.append(desk.words.reason(fields["placement"]["statement"]))
    for part in _REASONED:
        for entry in fields[part].values():
            lines += [
                desk.words.reason(s["statement"]) for s in entry["statements"] if s.get("used")
            ]
    return list(dict.fromkeys(lines))
