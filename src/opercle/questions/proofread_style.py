"""How names are written: italics, capitals, and names that changed or mean several fishes.

Knows: genus and species in italics (Markdown); capital genus, small epithet; a common name's own
capitals; one way of capitals in one text; synonyms, old names, nicknames.
Refuses to know: whether common names take capitals at all; only that a text should not mix.
"""

import re
from collections.abc import Iterator

from opercle.answers import listed
from opercle.questions.desk import node
from opercle.questions.proofread_names import Mention, italic_name
from opercle.questions.proofread_scene import NOT_JUDGED, Finding, Scene, Shop
from opercle.questions.proofread_text import MARKDOWN, word_set

_SMALL = re.compile(r"(?<![\w.])([a-z])\. ([a-z]{5,})\b")
_COLOURS = word_set(
    """red orange black white green blue yellow brown silver grey gray golden pink spotted striped
    big large small little"""
)
_LOOSE = re.compile(r"\b(?:an?|to|and|or)\s+(?:[a-z-]+\s+){0,3}(?:[a-z]+-)?$", re.I)
_PAIR = re.compile(r"[*_]{0,3}\s{0,2}[(,]\s{0,2}[*_]{0,3}$")


def scientific(shop: Shop, scene: Scene, mention: Mention) -> Iterator[Finding]:
    """How a scientific name is written."""
    written = scene.text[mention.start : mention.end]
    if not italic_name(mention.name) or written.isupper() or " x " in mention.name.form:
        return
    right = mention.name.form
    words = written.split()
    if len(words) > 1 and not mention.short:
        if written[0].islower():
            says = (
                "the genus begins with a capital (International Code of Zoological "
                "Nomenclature, article 28)"
            )
            yield Finding(mention.start, mention.end, "style", says, right)
        elif any(w[0].isupper() for w in words[1:]):
            says = (
                "the epithet begins with a small letter (International Code of "
                "Zoological Nomenclature, article 28)"
            )
            yield Finding(mention.start, mention.end, "style", says, right)
    page = scene.page
    if page.form == MARKDOWN and not page.within(page.italics, mention.start, mention.end):
        right = written if mention.short else right
        says = (
            "the names of genera and species stand in italics (International Code of "
            "Zoological Nomenclature, appendix B6)"
        )
        yield Finding(mention.start, mention.end, "style", says, f"*{right}*")


def common(scene: Scene, mention: Mention) -> Iterator[Finding]:
    """A common name's own capitals: Roanoke bass, not roanoke bass."""
    if mention.name.form.islower():
        return
    own = mention.name.form.split()
    written = scene.text[mention.start : mention.end].split()
    if len(own) != len(written) or len(own) < 2:
        return
    lost = [o for o, w in zip(own, written, strict=True) if o[0].isupper() and w[0].islower()]
    if lost:
        says = f"{lost[0]} is a proper name and keeps its capital in a fish's name"
        yield Finding(mention.start, mention.end, "style", says, " ".join(own))


def capitals(scene: Scene, mention: Mention) -> bool | None:
    """True if a common name of several words is written in capitals, False if small, else None."""
    page = scene.page
    if page.within(page.headings, mention.start, mention.end):
        return None
    pairs = zip(
        mention.name.form.split()[1:],
        scene.text[mention.start : mention.end].split()[1:],
        strict=False,
    )
    told = [w[0].isupper() for o, w in pairs if o[0].islower()]
    if not told or scene.text[mention.start : mention.end].isupper():
        return None
    return all(told) and scene.text[mention.start].isupper()


def mixed(upper: list[Mention], lower: list[Mention]) -> Iterator[Finding]:
    """Findings on the rarer way where a text writes common names both ways."""
    few, many = sorted((upper, lower), key=len)
    if not few or len(few) == len(many):
        return
    for mention in few:
        form = mention.name.form
        right = form if few is upper else " ".join(w[0].upper() + w[1:] for w in form.split())
        says = "common names are written in two ways in this text, with and without capitals"
        yield Finding(mention.start, mention.end, "style", says, right)


# ---- which name ----------------------------------------------------------------------------


def which(shop: Shop, scene: Scene, mention: Mention, before: Mention | None) -> Iterator[Finding]:
    """A name that changed, that means several fishes, or that disagrees with its neighbour."""
    if (
        mention.scientific
        and before is not None
        and not before.scientific
        and _PAIR.fullmatch(scene.text, before.end, mention.start)
    ):
        found = list(_pair(shop, before, mention))
        if found and not scene.of_the_past(mention):
            yield from found
            return
    if not mention.scientific and _described(scene, mention):
        return
    if mention.standing in ("synonym", "old") and not mention.short:
        if scene.of_the_past(mention) or (not mention.scientific and scene.told_as_name(mention)):
            return
        yield from _changed(shop, mention)
    elif mention.standing in ("nickname", "group") and not mention.scientific:
        yield from _nickname(shop, scene, mention)


def _described(scene: Scene, mention: Mention) -> bool:
    """True if a name may be but a description: a long dull red rockfish."""
    if mention.standing not in ("old", "nickname"):
        return False
    written = scene.text[mention.start : mention.end].lower().split()
    if len(written) != 2 or written[0] not in _COLOURS:
        return False
    return bool(_LOOSE.search(scene.text[max(0, mention.start - 30) : mention.start]))


def _fishes(shop: Shop, taxa: tuple[str, ...], most: int = 5) -> str:
    """Names of fishes in a sentence, and how many more there are past ``most``."""
    names = sorted(shop.called(t) for t in taxa)
    if len(names) <= most + 1:
        return listed(names)
    return f"{', '.join(names[:most])} and {len(names) - most} more"


def _changed(shop: Shop, mention: Mention) -> Iterator[Finding]:
    if mention.taxon is None:
        names = _fishes(shop, mention.taxa)
        says = f"“{mention.name.form}” is no longer in use, and has been used for {names}"
        yield Finding(mention.start, mention.end, "name-changed", says)
        return
    if not mention.scientific and mention.name.group_word:
        return
    about = shop.desk.about(mention.taxon)
    now = str(about.get("name") if mention.scientific else about.get("common") or about.get("name"))
    if now.lower() == mention.name.form.lower():
        return
    told, because = shop.cited(
        [use.use for use in mention.name.uses if use.taxon == mention.taxon][:1]
    )
    old = "an old name" if mention.standing == "old" else "a former or other scientific name"
    says = f"“{mention.name.form}” is {old} of {shop.called(mention.taxon)}. {told}"
    yield Finding(mention.start, mention.end, "name-changed", says, now, because)


def _pair(shop: Shop, common_name: Mention, latin: Mention) -> Iterator[Finding]:
    """Whether a common name and the scientific one beside it mean one fish."""
    meant = set(common_name.taxa)
    if common_name.standing != "standard":
        meant |= {u.taxon for u in common_name.name.uses}
    if not meant or not latin.taxa:
        return
    desk = shop.desk
    for one in latin.taxa:
        above = set(desk.lineage(one))
        if one in meant or meant & above or any(one in desk.lineage(m) for m in meant):
            return
    other = [u for u in latin.name.uses if u.kind == "synonym" and u.taxon in meant]
    if other:
        about = desk.about(other[0].taxon)
        told, because = shop.cited([other[0].use])
        says = f"{shop.called(other[0].taxon)} is no longer called {latin.name.form}. {told}"
        yield Finding(latin.start, latin.end, "name-changed", says, about.get("name"), because)
        return
    if common_name.standing != "standard":
        return
    told, because = shop.cited([u.use for u in common_name.name.uses if u.kind == "standard"][:1])
    now = desk.about(common_name.taxa[0]).get("name")
    says = f"{common_name.name.form} and {latin.name.form} are two fishes. {told}"
    yield Finding(latin.start, latin.end, "names-disagree", says, now, because)


def _nickname(shop: Shop, scene: Scene, mention: Mention) -> Iterator[Finding]:
    taxa = _several(shop, mention)
    if len(taxa) < 2 or scene.told_as_name(mention) or scene.named_before(mention):
        return
    if re.match(
        r"[*_\"”]{0,3}\s{0,2}[(,]\s{0,2}[*_]{0,3}[A-Z][a-z]+ [a-z]+",
        scene.text[mention.end : mention.end + 60],
    ):
        return
    names = _fishes(shop, taxa)
    uses: dict[str, str] = {}
    for use in mention.name.uses:
        uses.setdefault(use.taxon, use.use)
    told, because = shop.cited([uses[t] for t in taxa], 2)
    says = f"“{mention.name.form}” is a nickname of {len(taxa)} fishes: {names}. {told}"
    yield Finding(mention.start, mention.end, "nickname", says, "say which fish is meant", because)


def _several(shop: Shop, mention: Mention) -> tuple[str, ...]:
    """The fishes that a nickname means; none for a group's name that holds everywhere.

    A group's name that is recorded only for certain places (goggle-eye) is a nickname elsewhere.
    """
    name = mention.name
    if name.group_word:
        return ()
    if mention.standing == "nickname":
        return mention.taxa if mention.taxon is None else ()
    key = ("several", name.form)
    if key not in shop.kept:
        groups = [u for u in name.uses if u.kind == "group"]
        local = all(shop.desk.query("use_places", use=node(u.use)) for u in groups)
        rest = dict.fromkeys(u.taxon for u in name.uses if u.kind != "group")
        shop.kept[key] = tuple(rest) if local else ()
    taxa: tuple[str, ...] = shop.kept[key]
    return taxa


def small_genus(shop: Shop, scene: Scene, seen: set[str]) -> Iterator[Finding]:
    """Find ``m. dolomieu``: a genus shortened to a small letter."""
    for match in _SMALL.finditer(scene.text, scene.start, scene.end):
        genera = shop.lexicon.by_epithet.get(match[2], {})
        if any(g in seen and g[0] == match[1] for g in genera):
            says = (
                "the genus begins with a capital, shortened too (International Code of "
                "Zoological Nomenclature, article 28)"
            )
            yield Finding(*match.span(), "style", says, f"{match[1].upper()}. {match[2]}")


__all__ = ["NOT_JUDGED", "capitals", "common", "mixed", "scientific", "small_genus", "which"]
