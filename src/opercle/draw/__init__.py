"""Drawings as SVG: a schematic fish or two, a family tree, a map of waters.

Knows: which picture was asked for, and what it rests on.
Refuses to know: files. It gives the picture as text; who asked writes it.
"""

from collections.abc import Sequence
from typing import Any

from opercle.answers import Answer, Reason
from opercle.errors import UsageError
from opercle.questions import looks, subjects
from opercle.questions.desk import Desk

DRAWN = "drawn"
FISH, TREE, MAP = "fish", "tree", "map"
KINDS = (FISH, TREE, MAP)
_COLOUR = "Markings are hints only: colour and pattern never decide, and colour is not drawn."


def ask(
    desk: Desk,
    taxon: str,
    beside: str | None = None,
    kind: str = FISH,
    notes: bool = True,
    labels: bool = True,
) -> Answer:
    """Answer ``draw``: drawn, with ``svg``; open where a name means several.

    ``notes`` False leaves out what a page around the picture tells itself; ``labels`` False
    leaves the fish alone in its frame, without heading and labels. Raises UnknownError, and
    UsageError where the kind is unknown, both names mean the same fish, or ``beside`` is asked
    of a tree or map, or of a fish without labels.
    """
    question: dict[str, Any] = {"taxon": " ".join(taxon.split()), "kind": kind}
    if beside is not None:
        question["beside"] = " ".join(beside.split())
    _fits(kind, beside, labels)
    taxa = []
    for written in (taxon, *([] if beside is None else [beside])):
        meant = subjects.meant(desk, written)
        if len(meant) > 1:
            return subjects.several(desk, question, written, meant, {"svg": None, "file": None})
        taxa += meant
    if len(set(taxa)) < len(taxa):
        raise UsageError("Both names mean the same fish.", f"{taxon} and {beside}", "Name two.")
    taken = [c for w, t in zip((taxon, beside or ""), taxa, strict=False)
             for c in desk.passed_over(w, t)]  # fmt: skip
    says, svg, reasons, missing, more = _picture(desk, taxa, kind, notes, labels)
    return Answer(
        question=question,
        outcome=DRAWN,
        answer=says,
        because=reasons,
        cautions=[*taken, *more, *desk.cautions(taxa)],
        fields={
            **subjects.brief(desk, taxa[0]),
            "beside": subjects.brief(desk, taxa[1]) if len(taxa) > 1 else None,
            "not_known": list(missing),
            "file": None,
            "svg": svg,
        },
    )


def _fits(kind: str, beside: str | None, labels: bool) -> None:
    if kind not in KINDS:
        raise UsageError(f"“{kind}” is no kind of drawing.", "draw", f"Use {', '.join(KINDS)}.")
    if beside is not None and kind != FISH:
        raise UsageError(
            f"A {kind} shows one taxon, not two.", "--beside", "Leave out --beside, or draw fishes."
        )
    if not labels and (beside is not None or kind != FISH):
        raise UsageError("Only one fish can be drawn without labels.", "labels", "Draw one fish.")


_Picture = tuple[str, str, Sequence[Reason], Sequence[str], Sequence[str]]


def _picture(desk: Desk, taxa: Sequence[str], kind: str, notes: bool, labels: bool) -> _Picture:
    """What is said of the picture, the picture, its reasons, what is not known, cautions."""
    one = taxa[0]
    if kind == TREE:
        from opercle.draw import tree

        above, branch, reasons = looks.family_tree(desk, one)
        says = f"Drew the family tree of {desk.label(one)}."
        return says, tree.draw(above, branch), reasons, [], []
    if kind == MAP:
        return _map(desk, one, notes)
    from opercle.draw import fish

    seen = [looks.of(desk, t) for t in taxa]
    reasons = list(dict.fromkeys(r for look in seen for r in look.reasons))
    cautions = desk.cautions(taxa)
    if not labels:
        from opercle.draw import bare

        made = bare.draw(seen[0])
    elif len(taxa) == 1:
        made = fish.draw(seen[0], cautions, notes)
    else:
        made = fish.beside(seen[0], seen[1], looks.differences(desk, *taxa), cautions, notes)
    return made.says, made.svg, reasons, made.unknown, [_COLOUR]


def _map(desk: Desk, taxon: str, notes: bool) -> _Picture:
    from opercle.draw import basemap, waters_map

    found, reasons = looks.waters(desk, taxon)
    about = desk.about(taxon)
    svg = waters_map.draw(
        str(about.get("name") or desk.label(taxon)), about.get("common"), found, notes
    )
    unplaced = [p.label for p in basemap.sort(found).unplaced]
    missing = [f"without a mark of its own on the map: {name}" for name in dict.fromkeys(unplaced)]
    if not found:
        missing = ["no statement of where it lives is held here"]
    says = f"Drew the waters of {desk.label(taxon)}: {len(found)} places."
    return says, svg, reasons, missing, []
