"""What is wrong with the fishes in a text: a lesson, captions, an article.

How it decides. One pass over the words finds every English and scientific name recorded, singular
and plural, the longest first. A name stands for the fish whose followed scientific name or listed
standard name it is; else for all that bear it. Then, sentence by sentence:

- spelling: a capital and a small word near a recorded genus and species (one letter wrong, missing,
  extra or exchanged, or one half right and the other nearly); a common name one letter off;
- name-changed: a scientific name recorded only as a synonym, or as one of the fish named beside it;
- nickname: a name that is nobody's standard or group name and means several fishes, unless the
  text speaks of the name itself (called, known as, in quotation marks, explained by a Latin name);
- not-that-family: "X is a bass", "belongs to the perch family", against the strict meanings of
  the word and the families;
- figure: counts against the hull of all sources, sizes against the largest known plus 15 in 100,
  two units that do not agree;
- range: only where a source says absent, confines the fish elsewhere, or says introduced;
- authority, meaning: against the authorship and the etymologies recorded;
- style: italics, capitals. names-disagree: two names side by side that mean two fishes.

A claim belongs to the fish named last before it in the sentence (not to one named only by way of
contrast), or to the sentence before where it begins with "it". If the sentence names several, a
claim that fits any of them passes. No model is used; every finding cites the value it rests on.

Knows: the above. Refuses to know: what no recorded fact contradicts; claims that it saw and could
not judge are listed as ``not-judged``, which is no fault.
"""

import gc
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any
from weakref import WeakKeyDictionary

from opercle.answers import Answer
from opercle.questions import (
    proofread_figures,
    proofread_groups,
    proofread_naming,
    proofread_ranges,
    proofread_spelling,
    proofread_style,
)
from opercle.questions.desk import Desk
from opercle.questions.proofread_names import WORD, Lexicon, Mention, lexicon
from opercle.questions.proofread_scene import NOT_JUDGED, Finding, Scene, Shop
from opercle.questions.proofread_text import MARKDOWN, Page, form_of, read

KINDS = (
    "spelling",
    "nickname",
    "name-changed",
    "names-disagree",
    "not-that-family",
    "figure",
    "authority",
    "meaning",
    "range",
    "style",
    NOT_JUDGED,
)
PIECE = 1_000_000
"""Characters read at a time; a longer text is told of as it goes."""

Judge = Callable[[Shop, Scene, int], Iterator[Finding]]
_CUES: tuple[tuple[frozenset[str], Judge], ...] = (
    (proofread_figures.COUNTED, proofread_figures.counts),
    (proofread_figures.MEASURED, proofread_figures.sizes),
    (proofread_ranges.CUES, proofread_ranges.claims),
    (proofread_naming.PUBLISHED, proofread_naming.published),
    (proofread_naming.MEANS, proofread_naming.meanings),
)
_AFTER_FIGURE = re.compile(r"\d[\s-]*$")  # 12 in: the unit, not the common word
_CUE_OF = {word: judge for words, judge in _CUES for word in words}


def ask(desk: Desk, path: str, tell: Callable[[str], None] = lambda _: None) -> Answer:
    """Answer ``proofread``: clean or faults. Raises FileError for what is no text."""
    text, encoding = read(path)
    form = form_of(path, text)
    page = Page(text, form)
    found = findings(desk, page, tell)
    told = [_told(page, f) for f in found]
    faults = [f for f in told if f["kind"] != NOT_JUDGED]
    reasons = list(dict.fromkeys(r for f in found if f.kind != NOT_JUDGED for r in f.because))
    by_kind = {k: sum(f["kind"] == k for f in told) for k in KINDS}
    return Answer(
        question={"file": path},
        outcome="faults" if faults else "clean",
        answer=_sentence(len(faults), by_kind[NOT_JUDGED], len(text.split())),
        because=reasons,
        fields={
            "findings": told,
            "by_kind": {k: n for k, n in by_kind.items() if n},
            "form": form,
            "encoding": encoding,
        },
    )


def _sentence(faults: int, unjudged: int, words: int) -> str:
    head = f"{faults} fault{'s' * (faults != 1)} found" if faults else "No fault found"
    tail = f"; {unjudged} claim{'s' * (unjudged != 1)} could not be judged" if unjudged else ""
    return f"{head} in {words} words{tail}."


def _told(page: Page, finding: Finding) -> dict[str, Any]:
    line, column = page.place(finding.start)
    text = " ".join(page.text[finding.start : finding.end].split())
    return {
        "line": line,
        "column": column,
        "text": text,
        "kind": finding.kind,
        "says": " ".join(finding.says.split()),
        "suggest": finding.suggest,
        "because": [r.to_dict() for r in finding.because],
    }


def findings(desk: Desk, page: Page, tell: Callable[[str], None] = lambda _: None) -> list[Finding]:
    """All findings of a page, in the order of the text."""
    with _uncollected():
        return _findings(desk, page, tell)


@contextmanager
def _uncollected() -> Iterator[None]:
    """Pause the collector of cycles: none are made here, and it takes a fifth of the time."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()


def _findings(desk: Desk, page: Page, tell: Callable[[str], None]) -> list[Finding]:
    shop = _shop(desk)
    found: list[Finding] = []
    upper: list[Mention] = []
    lower: list[Mention] = []
    seen: set[str] = set()
    pieces = page.stretches(PIECE)
    for i, (start, end) in enumerate(pieces):
        if len(pieces) > 1:
            tell(f"proofread: piece {i + 1} of {len(pieces)}")
        scene = look(shop.lexicon, page, start, end, seen)
        found += _judged(shop, scene)
        found += proofread_style.small_genus(shop, scene, seen)
        for mention in scene.mentions if page.form == MARKDOWN else ():
            way = None if mention.scientific else proofread_style.capitals(scene, mention)
            if way is not None:
                (upper if way else lower).append(mention)
    found += proofread_style.mixed(upper, lower)
    unique = {(f.start, f.end, f.kind): f for f in reversed(found)}
    return sorted(unique.values(), key=lambda f: (f.start, f.end, KINDS.index(f.kind)))


_shops: "WeakKeyDictionary[Desk, Shop]" = WeakKeyDictionary()


def _shop(desk: Desk) -> Shop:
    """What the judges share over a desk, kept with it."""
    if desk not in _shops:
        _shops[desk] = Shop(desk, lexicon(desk))
    return _shops[desk]


def look(names: Lexicon, page: Page, start: int, end: int, seen: set[str]) -> Scene:
    """Find all names in a stretch; ``seen`` gathers the genera named so far."""
    spans = [m.span() for m in WORD.finditer(page.plain, start, end)]
    low = page.low
    words = [low[s:e] for s, e in spans]
    found = list(names.mentions(page.plain, words, spans))
    seen |= {m.name.form.split()[0].lower() for m in found if m.scientific}
    taken = {m.start for m in found}
    short = [m for m in names.shortened(page.plain, start, end, seen) if m.start not in taken]
    if short:
        ends = {m.end for m in short}  # the epithet of a shortened name may be a name by itself
        found = sorted([*(m for m in found if m.end not in ends), *short], key=lambda m: m.start)
    return Scene(page, start, end, found, (words, spans))


def _judged(shop: Shop, scene: Scene) -> Iterator[Finding]:
    before: Mention | None = None
    for mention in scene.mentions:
        if mention.scientific:
            yield from proofread_style.scientific(shop, scene, mention)
            yield from proofread_naming.after(shop, scene, mention)
        else:
            yield from proofread_style.common(scene, mention)
        yield from proofread_style.which(shop, scene, mention, before)
        yield from proofread_groups.claims(shop, scene, mention)
        before = mention
    taken = {m.start for m in scene.mentions}
    yield from proofread_spelling.latin(shop, scene, taken)
    yield from proofread_spelling.words(shop, scene, taken)
    yield from _by_cue(shop, scene)


def _by_cue(shop: Shop, scene: Scene) -> Iterator[Finding]:
    """Each judge once a sentence that holds one of its words."""
    done: set[tuple[int, Judge]] = set()
    for i in [i for i, word in enumerate(scene.words) if word in _CUE_OF]:
        word, at = scene.words[i], scene.spans[i][0]
        judge = _CUE_OF[word]
        if word == "in" and not _AFTER_FIGURE.search(scene.text[max(0, at - 3) : at]):
            continue
        mark = (scene.sentence(at).start, judge)
        if mark not in done:
            done.add(mark)
            yield from judge(shop, scene, at)


__all__ = ["KINDS", "ask", "findings", "look"]
