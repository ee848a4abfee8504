"""Authors, years and meanings of scientific names in a text.

Knows: an author and year after a name, "described by Rafinesque in 1817", and "Ambloplites means
blunt armour", against the authorship and the etymologies recorded.
Refuses to know: a verdict on a meaning that is put in other words for a part of the name; then it
is not judged. A year in parentheses that agrees in nothing may cite a paper: not judged.
"""

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from opercle import reading
from opercle.questions.desk import node
from opercle.questions.proofread_names import Mention
from opercle.questions.proofread_scene import NOT_JUDGED, Finding, Scene, Shop
from opercle.questions.proofread_text import word_set

PUBLISHED = frozenset(("described", "named"))
MEANS = word_set("means meaning translates signifies greek latin stands")
_WHO = (
    r"[A-ZÀ-Þ][\w.'’-]+(?:\s+(?:in|de|von|&|and)\s+[A-ZÀ-Þ][\w.'’-]+|"
    r",\s+[A-ZÀ-Þ][\w.'’-]+|\s+et\s+al\.?)*"
)
_AFTER = re.compile(
    rf"[*_]{{0,3}}[ \n]{{1,8}}(?P<open>\()?(?P<who>{_WHO})(?P<comma>,)?"
    r"[ \n](?P<year>1[789]\d\d|20\d\d)\b(?P<close>\))?"
)
_TOLD = re.compile(
    rf"\b(?:first\s+|formally\s+)?(?:described|named)\s+(?:as a species\s+|"
    rf"the fish\s+)?(?:by\s+(?P<who>{_WHO})\s+)?"
    r"(?:[^.;\d]{0,30}?\b)?in\s+(?P<year>1[789]\d\d|20\d\d)\b"
    rf"|\b(?:described|named)\s+by\s+(?P<who2>{_WHO})(?!\w)"
)
_MEANS = re.compile(
    r"\b(?:means?|meaning|translates (?:as|to)|signif(?:ies|ying)|stands for|"
    r"(?:is|are|from|comes from)\s+(?:the\s+)?(?:Greek|Latin)(?:\s+words?)?(?:\s+for)?)\s+"
    r"(?:simply\s+|literally\s+|roughly\s+|"
    r"about\s+)?(?P<what>[\"“‘]?[^.;:\n()]{3,80}(?:\n[^.;:\n()]{1,60})?)",
    re.I,
)
_PASSIVE = re.compile(
    r"[*_)\s]*(?:\([^()]{0,60}\)\s*)?,?\s*(?:was|were|is|has been|it was)?\s*|"
    r".*[.!?]\s+it (?:was|has been)\s+",
    re.I | re.S,
)
_NEAR = 1000
_STOP = word_set(
    """the and for with from its his her that this which one who are was were has have fish fishes
    name word genus species means meaning latin greek both because when after very"""
)
_ALIKE = (
    "gill cover operculum opercle lid cap flap",
    "armour armor armature weapon armed shield",
    "small little tiny short",
    "large big great long huge",
    "spotted dotted speckled spot dot punctured",
    "humped hunch hump swollen humpback humpbacked",
    "trout salmon",
    "fin wing",
    "eared ear",
    "black dark dusky blackish",
    "yellow golden gold yellowish",
    "rock rocks stone rocky stones",
    "river rivers stream",
    "perch perke",
    "mouth mouthed maw",
    "red scarlet vermilion",
    "american america",
)
_OPPOSITE = (
    ("small little tiny short", "large big great long huge"),
    ("black dark dusky blackish", "white pale light silver silvery"),
    ("blunt dull", "sharp pointed"),
    ("yellow golden gold", "blue green red black white"),
    ("northern north", "southern south"),
    ("swift fast", "slow"),
    ("humble lowly", "proud noble"),
    ("gold golden", "silver silvery"),
    ("eye eyes", "mouth tail"),
    ("fin fins", "mouth tail"),
)


class Said(NamedTuple):
    """An authorship: surnames as keys, a year, and whether it stands in parentheses."""

    who: frozenset[str]
    year: int | None
    inside: bool


@lru_cache(4096)
def authorship(written: str) -> Said:
    """``(Rafinesque, 1817)`` in its parts."""
    year = re.search(r"\b(1[789]\d\d|20\d\d)\b", written)
    names = re.split(r",|&|\band\b|\bin\b|\bet al\.?", re.sub(r"[()\d]", " ", written))
    who = frozenset(_surname(n) for n in names if n.strip(" .,"))
    return Said(who, int(year[1]) if year else None, written.startswith("("))


def _surname(name: str) -> str:
    return reading.normal(name).split()[-1] if reading.normal(name) else ""


def after(shop: Shop, scene: Scene, mention: Mention) -> Iterator[Finding]:
    """The author and year that stand after a scientific name."""
    match = _AFTER.match(scene.text, mention.end)
    if match is None or mention.short:
        return
    known, statement = _known(shop, mention)
    if known is None:
        says = f"authorship of {mention.name.form}: none is known here"
        yield Finding(match.start("who"), match.end("year"), NOT_JUDGED, says)
        return
    written = match[0].lstrip("*_ \n")
    said, told = authorship(written), authorship(known)
    if not said.who & told.who and said.year != told.year and not match["comma"]:
        says = (
            f"{written} may be the authorship of {mention.name.form}, which is {known}, or a paper"
        )
        yield Finding(match.start("who"), match.end("year"), NOT_JUDGED, says)
        return
    wrong = _differ(said, told, bool(match["open"] and match["close"]))
    if wrong:
        at = match.end() - len(written)
        cites, because = shop.cited([statement] if statement else [])
        says = f"{wrong}: {mention.name.form} {known} is right. {cites}"
        yield Finding(at, match.end(), "authority", says, known, because)


def _differ(said: Said, told: Said, inside: bool) -> str:
    if said.who != told.who and not (said.who and said.who < told.who and len(told.who) > 2):
        return "another author"
    if said.year != told.year and told.year is not None:
        return "another year"
    if inside != told.inside:
        return (
            "parentheses are missing: the species was first put in another genus"
            if told.inside
            else "the parentheses are wrong: the species still stands in its first genus"
        )
    return ""


def _known(shop: Shop, mention: Mention) -> tuple[str | None, str | None]:
    """The authorship of the name as written, and the statement that carries the name."""
    uses = mention.name.uses
    if mention.standing == "scientific" and mention.taxon:
        about = shop.desk.about(mention.taxon)
        use = next(u.use for u in uses if u.followed and u.kind == "scientific")
        return about.get("author"), use
    key = ("authors", uses[0].name)
    if key not in shop.kept:
        rows = shop.desk.query("proofread_authors", n=node(uses[0].name))
        whole = bool(rows) and "year" in rows[0]
        shop.kept[key] = f"{rows[0]['authors']}, {rows[0]['year']}" if whole else None
    return None, uses[0].use


def published(shop: Shop, scene: Scene, at: int) -> Iterator[Finding]:
    """Who is said to have described a fish, and when."""
    here = scene.sentence(at)
    for match in _TOLD.finditer(scene.text, here.start, here.end):
        who = scene.subject(*match.span())
        if who is None or who.mention.taxon is None:
            continue
        taxon = who.mention.taxon
        between = scene.text[who.mention.end : match.start()]
        if not (match["who"] or match["who2"]) and not _passive(between):
            continue
        known = shop.desk.about(taxon).get("author")
        if not known:
            says = f"who described {shop.called(taxon)}, and when, is not known here"
            yield Finding(*match.span(), NOT_JUDGED, says)
            continue
        if any(_agrees(match, shop.desk.about(t).get("author")) for t in (taxon, *who.others)):
            continue
        use = shop.desk.query("uses", key=_key(shop, taxon))
        statement = next((u["use"] for u in use if u.get("followed")), None)
        cites, because = shop.cited([statement] if statement else [])
        says = f"{shop.called(taxon)} was published by {known}. {cites}"
        yield Finding(*match.span(), "authority", says, known, because)


def _key(shop: Shop, taxon: str) -> object:
    from opercle.questions.desk import key_of

    return key_of(str(shop.desk.about(taxon).get("name")))


def _agrees(match: re.Match[str], known: str | None) -> bool:
    if not known:
        return False
    told = authorship(known)
    who = match["who"] or match["who2"]
    right = not who or bool(authorship(who).who & told.who)
    return right and (match["year"] is None or int(match["year"]) == told.year)


# ---- meanings ------------------------------------------------------------------------------


def _passive(between: str) -> bool:
    """True if "was described by" follows its fish at once; a long stretch between is none."""
    return len(between) < _NEAR and bool(_PASSIVE.fullmatch(between))


def meanings(shop: Shop, scene: Scene, at: int) -> Iterator[Finding]:
    """What a scientific name is said to mean."""
    here = scene.sentence(at)
    for match in _MEANS.finditer(scene.text, here.start, here.end):
        named = _named(shop, scene, here.start, match.start())
        if named is None:
            continue
        label, rows = named
        said = match["what"].strip(' \n"”“’‘*_,')
        if not rows:
            says = f"the meaning of {label} is not known here"
            yield Finding(*match.span("what"), NOT_JUDGED, says)
            continue
        verdict = _fits(said, tuple(r[1] for r in rows))
        told, because = shop.cited([r[0] for r in rows], 3)
        if verdict is False:
            meant = " + ".join(f"“{r[1]}”" for r in rows)
            says = f"{label} means {meant}. {told}"
            yield Finding(*match.span("what"), "meaning", says, meant, because)
        elif verdict is None:
            says = f"whether {label} means “{said}” cannot be judged by the words. {told}"
            yield Finding(*match.span("what"), NOT_JUDGED, says)


def _named(
    shop: Shop, scene: Scene, start: int, end: int
) -> tuple[str, list[tuple[str, str]]] | None:
    """The name that is explained: the last scientific name or epithet before the word 'means'."""
    by_taxon, by_part = _recorded(shop)
    near = [m for m in scene.between(start, end) if m.scientific]
    last = near[-1] if near else None
    tail = scene.text[last.end if last else max(start, end - 60) : end]
    for word in reversed(re.findall(r"[A-Za-z-]{4,}", tail)):
        if word.lower().strip("-") in by_part:
            return word, by_part[word.lower().strip("-")]
    if last is None or last.taxon is None:
        return None
    if len(tail) > 60:
        return None
    return last.name.form, by_taxon.get(last.taxon, [])


def _recorded(
    shop: Shop,
) -> tuple[dict[str, list[tuple[str, str]]], dict[str, list[tuple[str, str]]]]:
    if "meanings" not in shop.kept:
        by_taxon: dict[str, list[tuple[str, str]]] = {}
        by_part: dict[str, list[tuple[str, str]]] = {}
        for row in shop.desk.query("proofread_meanings"):
            by_taxon.setdefault(row["t"], []).append((row["s"], row["meaning"]))
        for taxon, rows in by_taxon.items():
            name = str(shop.desk.about(taxon).get("name", "")).split()
            if len(name) == 2:
                by_part.setdefault(name[1].lower(), []).extend(rows)
        shop.kept["meanings"] = (by_taxon, by_part)
    found: tuple[dict[str, list[tuple[str, str]]], dict[str, list[tuple[str, str]]]]
    found = shop.kept["meanings"]
    return found


@lru_cache(4096)
def _fits(said: str, parts: tuple[str, ...]) -> bool | None:
    return fits(said, list(parts))


def fits(said: str, parts: list[str]) -> bool | None:
    """True if the words of a claim cover each part's meaning, False if none or the opposite."""
    words = _stems(said)
    known = [_wide(_stems(p)) for p in parts]
    hit = [bool(words & k) for k in known]
    every = frozenset().union(*known)
    stray = words - every
    for one, other in _OPPOSITE:
        a, b = _stems(one), _stems(other)
        if (every & a and stray & b) or (every & b and stray & a):
            return False
    if not any(hit):
        return False
    return True if all(hit) or not stray or len(set(parts)) > 2 else None


@lru_cache(4096)
def _stems(text: str) -> frozenset[str]:
    return frozenset(
        w[:5] for w in re.findall(r"[a-z]{3,}", reading.normal(text)) if w not in _STOP
    )


@lru_cache(4096)
def _wide(stems: frozenset[str]) -> frozenset[str]:
    found = set(stems)
    for line in _ALIKE:
        group = _stems(line)
        if stems & group:
            found |= group
    return frozenset(found)
