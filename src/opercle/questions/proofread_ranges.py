"""Where a text says that a fish lives, against where it is known to.

Knows: "native to the Coosa", "found in Ohio and Kentucky", "introduced to", "absent from".
Refuses to know: absence where nobody states it. A place is denied only where a source says the
fish is absent, or confines it elsewhere; "native" also where it is stated to have been brought.
"""

import re
from collections.abc import Iterator

from opercle import reading
from opercle.questions.proofread_scene import NOT_JUDGED, Finding, Scene, Shop
from opercle.questions.proofread_text import word_set
from opercle.questions.residents import INTRODUCED, NATIVE, NOT_KNOWN, Residents, Stay
from opercle.store import Row

CUES = word_set(
    """native found lives live occurs occur inhabits introduced stocked absent ranges swims
    endemic confined"""
)
_SAID = re.compile(
    r"\b(?:(?P<native>(?:native|endemic|indigenous|confined)\s+(?:only\s+)?(?:to|in))|"
    r"(?P<lives>(?:found|lives?|occurs?|swims|common|caught)\s+(?:wild\s+|only\s+|"
    r"naturally\s+|also\s+|widely\s+)?"
    r"(?:in|throughout|across)|inhabits|ranges\s+(?:from|through|over))|"
    r"(?P<brought>(?:introduced|stocked)\s+(?:in)?to|(?:introduced|stocked)\s+in)|"
    r"(?P<absent>absent\s+from))\s+",
    re.I,
)
_KIND = r"(?:rivers?|lakes?|basins?|systems?|drainages?|watersheds?|creeks?)"
_PLACE = re.compile(
    r"(?:only\s+|both\s+|also\s+|parts of\s+|much of\s+|most of\s+|all of\s+|northern\s+|"
    r"southern\s+|eastern\s+|"
    r"western\s+|upper\s+|lower\s+|central\s+|streams of\s+|waters of\s+|rivers of\s+|lakes of\s+)*"
    r"(?P<the>the\s+)?(?:state of\s+|upper\s+|lower\s+)?"
    r"(?P<name>[A-Z][\w.'’-]*(?:\s+(?:of\s+(?:the\s+)?)?[A-Z][\w.'’-]*){0,4})"
    rf"(?P<kind>\s+{_KIND}\b)?(?:\s+{_KIND}\b)?"
)
_LINK = re.compile(
    r"\s*(?:,\s*(?:and\s+|or\s+)?|\s+and\s+|\s+or\s+|\s+to\s+|\s+nor\s+)(?:in\s+|from\s+|to\s+)?"
)
_NOT = re.compile(r"\b(?:not|never|nor|no longer)\s+(?:\w+\s+)?$|n['’]t\s+(?:\w+\s+)?$", re.I)


def claims(shop: Shop, scene: Scene, at: int) -> Iterator[Finding]:
    """The ranges told in the sentence at a place that the knowledge denies."""
    here = scene.sentence(at)
    for said in _SAID.finditer(scene.text, here.start, here.end):
        who = scene.subject(*said.span())
        if who is None:
            continue
        negative = bool(_NOT.search(scene.text[max(here.start, said.start() - 24) : said.start()]))
        for start, end, places in _listed(shop, scene.text, said.end(), here.end):
            if who.mention.taxon is None:
                told = scene.page.text[start:end]
                says = f"{told}: “{who.mention.name.form}” means several fishes, so not compared"
                yield Finding(start, end, NOT_JUDGED, says)
                continue
            taxa = [who.mention.taxon, *(() if who.direct else who.others)]
            yield from _judged(shop, scene, said, negative, taxa, (start, end, places))


def _listed(
    shop: Shop, text: str, start: int, end: int
) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """The places named one after another: the Coosa, Tallapoosa and Cahaba rivers."""
    comma = False  # after a water and a bare comma a state only says where the water is
    for _ in range(12):
        match = _PLACE.match(text, start, end)
        if match is None:
            return
        found, stop = _known(shop, match)
        held = comma and bool(found) and found[0].startswith("pl:")
        if found and not held:
            yield match.start("name"), stop, found
        link = _LINK.match(text, max(stop, match.end()) if found else match.end(), end)
        if link is None:
            return
        comma = link[0].strip() == "," and bool(found) and found[0].startswith("w:")
        start = link.end()


def _known(shop: Shop, match: re.Match[str]) -> tuple[tuple[str, ...], int]:
    """The places that a name can mean, the longest name that means any; and where it ends."""
    keys = _places(shop)
    words = match["name"].split()
    for length in range(len(words), 0, -1):
        name = " ".join(words[:length]).rstrip(".,'’")
        whole = length == len(words)
        stop = match.start("name") + len(re.match(r"\s*\S+" * length, match["name"])[0])  # type: ignore[index]
        forms = [name]
        if whole and match["kind"]:
            singular = match["kind"].strip().lower().rstrip("s")
            forms = [f"{name} {singular}", f"{name} river", name]
            stop = match.end()
        elif match["the"]:
            forms = [f"{name} river", name]
        for form in forms:
            found = keys.get(reading.key_of(form))
            if found and not (match["the"] and not whole and form == name):
                return tuple(found), match.start("name") + len(
                    match.string[match.start("name") : stop].rstrip(".,'’ ")
                )
    return (), match.end()


def _places(shop: Shop) -> dict[str, list[str]]:
    if "places" not in shop.kept:
        found: dict[str, list[str]] = {}
        for row in shop.desk.query("proofread_places"):
            found.setdefault(row["key"], []).append(row["x"])
        shop.kept["places"] = found
    keys: dict[str, list[str]] = shop.kept["places"]
    return keys


def _judged(
    shop: Shop,
    scene: Scene,
    said: re.Match[str],
    negative: bool,
    taxa: list[str],
    place: tuple[int, int, tuple[str, ...]],
) -> Iterator[Finding]:
    start, end, places = place
    verdicts = [[_stay(shop, t, p) for p in places] for t in taxa]
    how = next(k for k in ("native", "lives", "brought", "absent") if said[k])
    away = negative or how == "absent"
    wrong = [[_wrong(shop, how, away, t, p, s) for p, s in zip(places, ss, strict=True)]
             for t, ss in zip(taxa, verdicts, strict=True)]  # fmt: skip
    told = " ".join(scene.page.text[start:end].split())
    if all(all(w) for w in wrong):
        says, statement = wrong[0][0] or ("", None)
        cites, because = shop.cited([statement]) if statement else ("", ())
        yield Finding(
            start, end, "range", f"{shop.called(taxa[0])}: {says}. {cites}", None, because
        )
    elif all(s.lives == NOT_KNOWN for s in verdicts[0]) and not away:
        says = f"{shop.called(taxa[0])} in {told}: neither recorded nor denied here"
        yield Finding(start, end, NOT_JUDGED, says)


def _stay(shop: Shop, taxon: str, place: str) -> Stay:
    key = ("stay", taxon, place)
    if key not in shop.kept:
        shop.kept[key] = _residents(shop, place).stay(taxon)
    stay: Stay = shop.kept[key]
    return stay


def _residents(shop: Shop, place: str) -> Residents:
    """One judge for all places, so that ranges are read once."""
    judge = shop.kept.get("residents")
    if judge is None:
        judge = shop.kept["residents"] = Residents(shop.desk, [place])
        judge.places = shop.places
    judge.asked = [place]
    found: Residents = judge
    return found


def _wrong(
    shop: Shop, how: str, away: bool, taxon: str, place: str, stay: Stay
) -> tuple[str, str | None] | None:
    """What is wrong with one claim of one place, and the statement that says so."""
    there = shop.desk.label(place)
    rows = _residents(shop, place).ranges(taxon)
    if away:
        if how == "native" and stay.lives != NATIVE:
            return None
        sure = stay.lives in (NATIVE, INTRODUCED) and stay.statement is not None
        own = any(r["where"] == place and r["presence"] != "op:absent" for r in rows)
        return (f"it lives in {there}", stay.statement) if sure and own else None
    if stay.excluded:
        return stay.excluded, stay.statement
    if how == "native" and stay.lives == INTRODUCED and not _maybe(shop, rows, place, "op:native"):
        return f"it was brought to {there}", stay.statement
    own = any(r["where"] == place and r["presence"] == "op:native" for r in rows)
    if how == "brought" and own and not _maybe(shop, rows, place, "op:introduced"):
        return f"it is native to {there}", stay.statement
    return None


def _maybe(shop: Shop, rows: list[Row], place: str, presence: str) -> bool:
    """True if a statement of that presence, or a dispute, shares ground with the place."""
    kinds = (presence, "op:disputed")
    return any(r["presence"] in kinds and shop.places.together(place, r["where"]) for r in rows)
