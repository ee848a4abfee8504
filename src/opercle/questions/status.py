"""What the knowledge holds, and how much of it was read.

Knows: counts, shares, versions.
Refuses to know: whether that is enough.
"""

from typing import Any

from opercle.answers import Answer
from opercle.questions.desk import Desk


def ask(desk: Desk) -> Answer:
    """Answer ``status``: ready, with versions, counts and shares of read and recalled."""
    facts = desk.snapshot.facts
    by_kind: dict[str, dict[str, int]] = {}
    for row in desk.query("statement_counts"):
        kind = by_kind.setdefault(row["kind"].removeprefix("op:"), {"read": 0, "recalled": 0})
        kind[row["basis"].removeprefix("op:")] += row["n"]
    read = sum(k["read"] for k in by_kind.values())
    total = read + sum(k["recalled"] for k in by_kind.values())
    counts = {r["what"]: r["n"] for r in desk.query("counts")}
    families = {r["family"]: {"read": r["read"], "all": r["n"]} for r in desk.query("shares")}
    share = read / total if total else 0.0
    fields: dict[str, Any] = {
        "version": facts["version"],
        "snapshot": facts.get("hash"),
        "stated_triples": facts["stated"],
        "derived_triples": facts["derived"],
        "counts": counts,
        "statements": {"all": total, "read": read, "recalled": total - read, "by_kind": by_kind},
        "read_share": round(share, 3),
        "count_shares": families,
        "rules": facts["by_rule"],
        "packs": facts.get("packs", []),
    }
    says = (
        f"Ready: {counts.get('species', 0)} species in {counts.get('families', 0)} families, "
        f"{total} statements, {share:.0%} of them read in their sources and the rest recalled."
    )
    return Answer({}, "ready", says, fields=fields)
