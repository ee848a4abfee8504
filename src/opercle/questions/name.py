"""What a name means, here and then.

Knows: how place, year, spelling and rank settle a name, and when they do not.
Refuses to know: guessing. What is left open is said to be open, with what would settle it.
"""

from collections.abc import Sequence
from itertools import combinations
from typing import Any, NamedTuple

from opercle.answers import Answer, Reason, listed
from opercle.errors import UsageError
from opercle.questions.authorities import Authorities, Authority
from opercle.questions.bearers import (
    ASTRAY,
    ELSEWHERE,
    LIVES_THERE,
    OUT,
    PLACELESS,
    SAID_THERE,
    Bearer,
    Judge,
    told,
)
from opercle.questions.desk import Desk, Found, year_of
from opercle.questions.places import Places
from opercle.questions.values import Values, by_use

_MOST_ASKED = 4
_SETTLING = ("water", "state", "coast", "year", "authority")


class Settled(NamedTuple):
    """Which bearers are left, which were set aside, and what settled it."""

    left: list[Bearer]
    aside: list[Bearer]
    by: list[str]
    group: str | None


def ask(
    desk: Desk,
    name: str,
    water: str | None = None,
    state: str | None = None,
    year: str | int | None = None,
    according_to: str | None = None,
    coast: str | None = None,
) -> Answer:
    """Answer ``name``: settled or open. Raises UnknownError, UsageError.

    ``according_to`` is the work whose names the record follows; ``coast`` is coast or inland.
    """
    when = year_of(year)
    question = {"name": " ".join(name.split()), "water": water, "state": state, "year": when}
    question |= {k: v for k, v in (("according_to", according_to), ("coast", coast)) if v}
    found = desk.find(name)
    places = []
    for written, look in ((water, desk.water), (state, desk.state)):
        if written is None:
            continue
        meant = look(written)
        if len(meant) > 1:
            return _which_water(desk, question, written, meant)
        places += meant
    authority = _authority(desk, according_to)
    inland, sea = _coast(desk, coast, places)
    judge = Judge(desk, [*sea, *places], when, authority, inland)
    settled = settle(desk, judge, found)
    return _answer(desk, question, found, settled, judge)


def _authority(desk: Desk, written: str | None) -> Authority | None:
    """The work that a record follows. UsageError where nothing is known of it, not even a year."""
    found = Authorities(desk).read(written or "")
    if found is not None and not found.known:
        raise UsageError(
            f"No work or names list “{found.written}” is known.",
            "--according-to",
            "Give its author and year, such as “Page et al. 2013”, or a list, such as afs-2023.",
        )
    return found


def _coast(desk: Desk, coast: str | None, places: Sequence[str]) -> tuple[bool, list[str]]:
    """Whether the fish was taken inland, and the sea where it was taken on a coast."""
    if coast not in (None, "coast", "inland"):
        raise UsageError(f"“{coast}” is neither coast nor inland.", "--coast", "Write one of them.")
    sea = Places(desk).coast(places) if coast == "coast" else None
    held = [p for p in places if p.startswith("w:")]
    return coast == "inland", [sea] if sea and not held else []


def settle(desk: Desk, judge: Judge, found: Found) -> Settled:
    """Weigh every use of the name and see what is left."""
    weighed = judge.weighed(judge.bearers(found))
    out = [b for b in weighed if b.standing == OUT]
    pool = [b for b in weighed if b.standing != OUT]
    weaker = _weaker(pool)
    out += [b for b in pool if b.standing in weaker]
    pool = [b for b in pool if b.standing not in weaker]
    if len({b.taxon for b in weighed}) > 1 and all(b.standing == ELSEWHERE for b in pool):
        out, pool = out + pool, []
    left_taxa = {b.taxon for b in pool}
    aside = [b for b in out if b.taxon not in left_taxa]
    narrowed = desk.narrow(sorted(left_taxa), [b.use for b in pool])
    group = narrowed[0] if len(narrowed) == 1 and len(left_taxa) > 1 else None
    by = ["spelling"] if found.read_as else []
    by += [k for k in _SETTLING if any(b.by == k for b in aside)]
    by += ["rank"] if group else []
    return Settled(_one_each(pool), _one_each(aside), by or ["name"], group)


def _weaker(pool: Sequence[Bearer]) -> tuple[int, ...]:
    """The standings that yield to a use recorded there, and further to a standard name there."""
    said = [b for b in pool if b.standing == SAID_THERE]
    if any(b.use["kind"] in ("op:standard", "op:scientific") for b in said):
        return (ELSEWHERE, ASTRAY, LIVES_THERE, PLACELESS)
    return (ELSEWHERE, ASTRAY) if said else ()


def _one_each(pool: Sequence[Bearer]) -> list[Bearer]:
    """One bearer a taxon, the best standing first, then by kind and name."""
    order = (
        "standard",
        "scientific",
        "group",
        "synonym",
        "regional",
        "market",
        "old",
        "misapplied",
    )
    ranked = sorted(
        pool,
        key=lambda b: (
            b.standing,
            order.index(b.use["kind"].removeprefix("op:")),
            "until" in b.use,
            b.taxon,
        ),
    )
    kept: dict[str, Bearer] = {}
    for bearer in ranked:
        kept.setdefault(bearer.taxon, bearer)
    return list(kept.values())


def _answer(
    desk: Desk, question: dict[str, Any], found: Found, settled: Settled, judge: Judge
) -> Answer:
    taxa = [b.taxon for b in settled.left]
    done = len(taxa) == 1 or settled.group is not None
    head = settled.group or (taxa[0] if len(taxa) == 1 else None)
    sentence = _sentence(desk, question, found, settled, head)
    fields: dict[str, Any] = {
        "bearers": [told(desk, b) for b in settled.left],
        "set_aside": [_set_aside(desk, b) for b in settled.aside],
        "settled_by": settled.by if done else [],
        "read_as": found.read_as,
        "ask": [] if done else asks(desk, settled.left, judge),
    }
    if head:
        about = desk.about(head)
        fields["settled_as"] = {
            "taxon": head,
            "scientificName": about.get("name"),
            "taxonRank": about.get("rank"),
            "family": about.get("familyName"),
        }
    return Answer(
        question=question,
        outcome="settled" if done else "open",
        answer=sentence,
        because=_because(desk, found, settled),
        cautions=desk.cautions([head] if head else taxa[:6]),
        fields=fields,
    )


def _set_aside(desk: Desk, bearer: Bearer) -> dict[str, Any]:
    about = desk.about(bearer.taxon)
    cited = desk.words.citation(bearer.statement or bearer.use["use"])
    return {
        "scientificName": about.get("name"),
        "vernacularName": about.get("common"),
        "taxon": bearer.taxon,
        "says": bearer.says,
        "source": cited.source if cited else None,
        "page": cited.page if cited else None,
        "basis": cited.basis if cited else None,
    }


def _sentence(
    desk: Desk, question: dict[str, Any], found: Found, settled: Settled, head: str | None
) -> str:
    place = listed([str(question[k]) for k in ("water", "state") if question[k]])
    there = (f" in {place}" if place else "") + (
        f" in {question['year']}" if question["year"] else ""
    )
    name = found.read_as["name"] if found.read_as else found.written
    start = f"“{found.written}” is read as “{name}”. " if found.read_as else ""
    if not settled.left:
        return f"{start}No fish that bears the name “{name}” is known{there}."
    if head and settled.group:
        members = listed([desk.label(b.taxon) for b in settled.left if b.taxon != head])
        return f"{start}“{name}”{there} means the whole group {desk.label(head)}: {members}."
    if head:
        family = desk.about(head).get("familyName")
        of = f", of the family {family}" if family else ""
        return f"{start}“{name}”{there} means {desk.label(head)}{of}."
    names = listed([desk.label(b.taxon) for b in settled.left], "or")
    return f"{start}“{name}”{there} is open: it can mean {names}."


def _because(desk: Desk, found: Found, settled: Settled) -> list[Reason]:
    told_lines = []
    if found.read_as:
        read, score = found.read_as["name"], found.read_as["score"]
        says = f"“{found.written}” is spelt most like “{read}” (likeness {score})"
        told_lines.append(Reason(says, "inferred", rule="nearest-spelling"))
    for bearer in settled.left:
        told_lines.append(_use_reason(desk, bearer))
        if bearer.statement and bearer.statement != bearer.use["use"]:
            told_lines.append(desk.words.reason(bearer.statement))
    for bearer in settled.aside:
        cited = desk.words.reason(bearer.statement or bearer.use["use"])
        says = f"set aside: {desk.label(bearer.taxon)}, {bearer.says}; {cited.says}"
        told_lines.append(cited._replace(says=says))
    return list(dict.fromkeys(told_lines))


def _use_reason(desk: Desk, bearer: Bearer) -> Reason:
    return desk.words.reason(bearer.use["use"], (bearer.use["use"], "op:means", bearer.taxon))


def _which_water(
    desk: Desk, question: dict[str, Any], written: str, meant: Sequence[str]
) -> Answer:
    waters = [{"water": w, "name": desk.label(w)} for w in meant]
    names = listed([str(w["name"]) for w in waters], "or")
    return Answer(
        question,
        "open",
        f"“{written}” is the name of several waters: {names}. Which one is meant?",
        [],
        [],
        {
            "waters": waters,
            "bearers": [],
            "set_aside": [],
            "settled_by": [],
            "read_as": None,
            "ask": [{"ask": "water", "how": f"Say which: {names}."}],
        },
    )


def asks(desk: Desk, left: Sequence[Bearer], judge: Judge) -> list[dict[str, Any]]:
    """What would settle it, best first: the place, the year, or a character to look at."""
    found: list[dict[str, Any]] = []
    placed = any(b.where or judge.limits(b.taxon) or judge.ranges(b.taxon) for b in left)
    if placed and not any(p.startswith("w:") for p in judge.asked):
        at_least = "" if judge.asked else ", or at least in which state"
        found.append({"ask": "water", "how": f"In which water{at_least}?"})
    if judge.year is None and any("from" in b.use or "until" in b.use for b in left):
        found.append({"ask": "year", "how": "In which year was it recorded?"})
    return found + _characters(desk, [b.taxon for b in left])


def _characters(desk: Desk, taxa: Sequence[str]) -> list[dict[str, Any]]:
    values = Values(desk)
    scored = []
    for key, character in values.characters.items():
        if character.trust != "dependable":
            continue
        have = {t: values.of(t)[key] for t in taxa if key in values.of(t)}
        parted = sum(a.cannot_meet(b) for a, b in combinations(have.values(), 2))
        if parted:
            scored.append((-parted, by_use(character), character, have))
    scored.sort(key=lambda x: x[:2])
    return [
        {
            "ask": character.key,
            "how": character.asks,
            "seen": character.seen,
            "tells": {desk.label(t): values.told(v) for t, v in have.items()},
        }
        for _, _, character, have in scored[:_MOST_ASKED]
    ]
