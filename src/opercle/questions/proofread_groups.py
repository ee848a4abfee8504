"""Claims that a fish is, or is not, a bass, a perch, a member of a family.

Knows: sentences of the form "X is (not) a bass" and "X belongs to the perch family", and what the
words strictly mean by the schools recorded.
Refuses to know: a verdict where the schools differ: it is listed as not judged. A wider, loose
meaning of the word does not make the claim true; the finding tells that it exists.
"""

import re
from collections.abc import Iterator

from opercle.questions import group_words
from opercle.questions.proofread_names import Mention
from opercle.questions.proofread_scene import NOT_JUDGED, Finding, Scene, Shop

_IS = re.compile(
    r"\b(?:(?:is|are|was|were)(?P<nt>n['’]t)?|be|being|it['’]s|really|therefore|counts? as)\s+"
    r"(?P<neg>(?:not|never|no)\s+)?"
    r"(?:(?:really|actually|truly|strictly|in fact|in truth|only|just|therefore|also|simply|thus|"
    r"indeed|both|of course)\s+)*(?P<neg2>(?:not|never|no)\s+)?"
    r"(?:an?\s+|one of the\s+|members? of the\s+)?(?:(?:kind|sort|type|species|form) of\s+)?"
    r"(?:(?:true|real|proper|genuine|typical|small|large|big|common|freshwater|"
    r"fresh-water|kind)\s+)?"
    r"[*_\"“‘]{0,2}$",
    re.I,
)
_GOES_ON = re.compile(
    r"^(?:['’\-‐]|\s*(?:in name|by name|boat|angler|fish(?:er|ing)|tournament|lure|family|"
    r"(?:fish)?er(?:man|men)|pond|lake|river|only in)\b)", re.I)  # fmt: skip
_BUT = re.compile(
    r"\bbut\s+(?:rather\s+)?(?:an?\s+|one of the\s+)?(?:true\s+|"
    r"real\s+)?[*_]{0,2}$",
    re.I,
)
_FAMILY_OF = re.compile(
    r"\b(?P<verb>belongs?|is|are|stands?|placed|member|members|put|one|part|counted|sits?)\b"
    r"(?P<mid>[^.;]{0,30}?)\b(?:to|in|of|among)\s+(?:the\s+)?(?:family\s+)?(?:true\s+)?[*_]{0,2}$",
    re.I,
)
_NOT = re.compile(
    r"\b(?:not|never|no|nor|rather than|instead|unlike|without|n['’]t|isn|"
    r"aren|doesn)\b|n['’]t\b",
    re.I,
)
_FAMILY = re.compile(r"[*_]{0,2}\s+(?:family|clan|tribe)\b")
_THEN = re.compile(
    r"\b(?:1[5-9]\d\d|20\d\d|older|once|former(?:ly)?|had|still|was long|used to|type of|"
    r"sometimes|often)\b",
    re.I,
)


def claims(shop: Shop, scene: Scene, mention: Mention) -> Iterator[Finding]:
    """What is wrong with a claim whose last word is the name ``mention``."""
    if not _may_claim(mention):
        return
    text = scene.text
    here = scene.sentence(mention.start)
    before = text[max(here.start, mention.start - 90) : mention.start]
    after = text[mention.end : mention.end + 24]
    family = _FAMILY.match(after)
    family_named = family or mention.name.form.endswith("idae")
    in_family = _FAMILY_OF.search(before) if family_named else None
    if in_family is not None and _THEN.search(text[here.start : here.end]):
        return
    if in_family is not None:
        negative = bool(_NOT.search(in_family["mid"])) or bool(
            _NOT.search(before[max(0, in_family.start() - 14) : in_family.end()])
        )
        at = mention.start - len(before) + in_family.start()
        yield from _judge(shop, scene, mention, at, negative, True)
        return
    if _GOES_ON.match(after) or mention.scientific:
        return
    found = _IS.search(before)
    if found is not None:
        negative = bool(found["nt"] or found["neg"] or found["neg2"])
        at = mention.start - len(before) + found.start()
        yield from _judge(shop, scene, mention, at, negative, False)
        return
    but = _BUT.search(before)
    if but is not None and _NOT.search(before[: but.start()]):
        at = mention.start - len(before) + but.start()
        yield from _judge(shop, scene, mention, at, False, False)


def _may_claim(mention: Mention) -> bool:
    """True if a name is that of a group, so that a fish can be said to be one."""
    name = mention.name
    return bool(name.group_word or name.form.endswith("idae") or mention.standing == "group")


def _judge(
    shop: Shop, scene: Scene, mention: Mention, at: int, negative: bool, family: bool
) -> Iterator[Finding]:
    who = scene.subject(at, mention.end)
    if who is None or who.mention.taxon is None or who.mention.name is mention.name:
        return
    if who.mention.start > mention.start:
        return
    subject = who.mention.taxon
    verdict = is_it(shop, mention, subject, family)
    if verdict in (None, group_words.UNKNOWN):
        return
    said = " ".join(scene.page.text[mention.start : mention.end].split())
    named = f"the {said} family" if family and not said.endswith("idae") else said
    if verdict == group_words.DEPENDS:
        if negative and not family:
            says = f"whether {shop.called(subject)} is a {said} depends on who uses the word"
            yield Finding(mention.start, mention.end, NOT_JUDGED, says)
        return
    if (verdict == group_words.YES) != negative:
        return
    verb = "is indeed" if negative else "is not"
    what = f"of {named}" if family else f"strictly a {said}"
    own = shop.desk.about(subject).get("family")
    placed = f" it is of the family {group_words.group_label(shop.desk, own)}." if own else ""
    statements, meant = _grounds(shop, mention, subject)
    told, because = shop.cited(statements, 3)
    says = f"{shop.called(subject)} {verb} {what}:{placed}{meant} {told}"
    better = group_words.group_label(shop.desk, own) if own else None
    yield Finding(mention.start, mention.end, "not-that-family", says, better, because)


def is_it(shop: Shop, mention: Mention, taxon: str, family: bool) -> str | None:
    """Whether a fish is what the name says it is: yes, no, depends, unknown; None if unfit."""
    key = ("is-it", mention.name.form, taxon, family)
    if key not in shop.kept:
        shop.kept[key] = _is_it(shop, mention, taxon)
    verdict: str | None = shop.kept[key]
    return verdict


def _is_it(shop: Shop, mention: Mention, taxon: str) -> str | None:
    word = mention.name.group_word
    if word is not None:
        found = group_words.is_it(shop.desk, word, taxon)
        unsure = found == group_words.NO and _below_family(shop, word, taxon)
        return group_words.UNKNOWN if unsure else found
    if not mention.scientific and any(u.kind != "group" for u in mention.name.uses):
        return None
    groups = [u.taxon for u in mention.name.uses if u.kind in ("group", "scientific")]
    groups = [g for g in groups if shop.desk.rank(g) not in ("species", "subspecies", "")]
    if not groups:
        return None
    above = {taxon, *shop.desk.lineage(taxon)}
    if above & set(groups):
        return group_words.YES
    inside = any(taxon in shop.desk.lineage(g) for g in groups)
    return group_words.DEPENDS if inside else group_words.NO


def _below_family(shop: Shop, word: str, taxon: str) -> bool:
    """True if a word means a part of the fish's own family that no placement here takes up.

    A genus placed straight in its family may still belong to a subfamily (darters in Percidae).
    """
    own = shop.desk.about(taxon).get("family")
    between = {"subfamily", "tribe"}
    if any(shop.desk.rank(t) in between for t in shop.desk.lineage(taxon)):
        return False
    groups = [m["t"] for m in group_words.strict(shop.desk, word)]
    return any(shop.desk.rank(g) in between and own in shop.desk.lineage(g) for g in groups if own)


def _grounds(shop: Shop, mention: Mention, taxon: str) -> tuple[list[str], str]:
    """The statements that a verdict rests on, and what the word means."""
    from opercle.questions.desk import node

    placing = [r["s"] for r in shop.desk.query("placement", t=node(taxon))]
    word = mention.name.group_word
    if word is None:
        return placing, ""
    strict = [m["s"] for m in group_words.strict(shop.desk, word)]
    meant = group_words.meant(shop.desk, word)
    return strict[:1] + placing[-1:], f" {meant[0].upper()}{meant[1:]}."
