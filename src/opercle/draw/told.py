"""What a picture says in words: labels, notes, the description for those who do not see it.

Knows: how a number drawn and the range known are told, what was not known, what the plan is.
Refuses to know: positions.
"""

from collections.abc import Sequence

from opercle.draw.figure import Figure, count, state
from opercle.draw.paint import near_barbels, state_pattern
from opercle.questions.looks import COUNTS, STATES, Looks

_PARTS = {
    "dorsal-spines": "dorsal",
    "dorsal-soft-rays": "dorsal",
    "anal-spines": "anal",
    "anal-soft-rays": "anal",
    "pelvic-soft-rays": "pelvic",
    "pectoral-rays": "pectoral",
    "caudal-branched-rays": "tail",
}
_QUIET = ("dorsal-finlets", "barbels", "ear-flap-length", "second-anal-spine", "pelvic-spines")
"""Told as unknown only where something else says that the fish could have them."""


def subject(looks: Looks) -> str:
    """``rock bass (Ambloplites rupestris)``."""
    return f"{looks.common} ({looks.name})" if looks.common else looks.name


def of_whom(inherited: bool, holder: str) -> str:
    """Whose value it is, where it is not the taxon's own."""
    return f", stated for {holder}" if inherited else ""


def head_and_tail(looks: Looks, key: str) -> tuple[str, str] | None:
    """A label's bold line and plain line for a character; None where it is not known."""
    if key in looks.numbers:
        number = looks.numbers[key]
        exact = number.range.most == number.range.least
        known = "no other number known" if exact else f"known {dashes(str(number.range))}"
        known += of_whom(number.inherited, number.holder)
        if key not in COUNTS:
            return looks.labels[key], f"{number.range} of the length"
        return counted(number.middle, looks.labels[key]), known
    found = looks.states.get(key)
    if found is None:
        return None
    return looks.labels[key], found.told + of_whom(found.inherited, found.holder)


def counted(number: float, label: str) -> str:
    """``1 anal spine``, ``11 dorsal spines``."""
    return f"{number:g} {label.removesuffix('s') if number == 1 else label}"


def dashes(text: str) -> str:
    """Ranges with the dash of print, and their usual part after a comma."""
    told = text.replace("-", "–")
    return told.replace(" (usually ", ", usually ").removesuffix(")") if "(us" in told else told


def drawn(looks: Looks) -> list[str]:
    """What was drawn and what is known, counts first."""
    counts = []
    for key in COUNTS:
        number = looks.numbers.get(key)
        if number is None:
            continue
        told = f"{looks.labels[key]} {number.middle:g}"
        exact = number.range.most == number.range.least
        more = "" if exact else f"known {dashes(str(number.range))}"
        whose = of_whom(number.inherited, number.holder).removeprefix(", ")
        if key == "barbels":
            more = f"{near_barbels(int(number.middle))} on the side seen"
        inside = "; ".join(part for part in (more, whose) if part)
        counts.append(f"{told} ({inside})" if inside else told)
    states = []
    for key in STATES:
        found = looks.states.get(key)
        if found is None or found.drawn is None or key == "body-form":
            continue
        which = "" if len(found.states) == 1 else f" (drawn: {found.drawn.replace('-', ' ')})"
        whose = of_whom(found.inherited, found.holder).removeprefix(", ")
        states.append(f"{looks.labels[key]}: {found.told}{which}{f' ({whose})' if whose else ''}")
    return [f"{_upper('; '.join(part))}." for part in (counts, states) if part]


def unknown(looks: Looks, figure: Figure) -> list[str]:
    """What is not known, and how the picture shows that."""
    blank = sorted(
        {
            part
            for key, part in _PARTS.items()
            if key in looks.unknown and any(name.startswith(part) for name in figure.fins)
            and not (key == "dorsal-soft-rays" and looks.numbers.get(key))
        }
    )  # fmt: skip
    said = []
    if blank:
        names = ", ".join(blank)
        said.append(f"Number of rays or spines not known, so an outline without them: {names}.")
    missing = [
        looks.labels[key]
        for key in (*STATES, "body-depth", "lateral-line-scales", "head-length", "eye-diameter")
        if key in looks.unknown and key not in _QUIET
    ]
    if missing:
        said.append(f"No statement here on: {', '.join(missing)}.")
    varies = [
        f"{looks.labels[k]} ({v.told})"
        for k, v in looks.states.items()
        if v.drawn is None and k in STATES
    ]
    if varies:
        said.append(f"Varies too much to draw one state: {'; '.join(varies)}.")
    if figure.fill_in:
        said.append(f"Not known: {', '.join(figure.fill_in)}.")
    return said


def outline(figure: Figure) -> str:
    """Which plan the outline follows, and how deep."""
    return (
        f"The outline is the plan “{figure.plan.key}” ({figure.plan.says}), {figure.plan_why}: a "
        f"drawing habit, not a measurement. Body depth: {dashes(figure.depth_told)}."
    )


def markings(looks: Looks) -> str:
    """That markings are hints."""
    found = looks.states.get("side-pattern")
    never = "Colour and pattern never decide, and colour is not drawn."
    if found is None:
        return f"None stated, none drawn. {never}"
    shown = state_pattern(looks)
    name = "no marks" if shown is None else "one of them, as a plain grey hint"
    if len(found.states) == 1 and shown is not None:
        name = "a plain grey hint"
    return f"Stated: {found.told}; drawn: {name}. {never}"


def rests(looks: Sequence[Looks]) -> str:
    """How many statements the picture rests on, and how they are known."""
    reasons = {r for one in looks for r in one.reasons}
    read = sum(r.basis == "read" for r in reasons)
    sources = len({r.source for r in reasons if r.source})
    verb = "was" if read == 1 else "were"
    return (
        f"{len(reasons)} statements from {sources} sources, of which {read} {verb} read in the "
        f"source and {len(reasons) - read} recalled from memory."
    )


KEY = (
    "Solid wedge: a spine. Forked line: a soft ray. Each stands for one, and is drawn once; the "
    "middle of the usual range is drawn. A spine at the front of a second dorsal fin is drawn "
    "with the first. Dashed or empty: not known. Schematic, not to scale."
)


def description(figure: Figure, shown: Sequence[str], missing: Sequence[str]) -> str:
    """The picture in words, for the ``desc`` element, from what is drawn and what is not known."""
    plan = f"Schematic side view, head to the left, outline of the plan {figure.plan.key}."
    return " ".join([plan, *shown, *missing])


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def fin_notes(looks: Looks, figure: Figure) -> list[tuple[str, str]]:
    """Fins of back and belly whose number is not known: (fin name, what to say)."""
    made = []
    for name in ("dorsal", "dorsal-1", "dorsal-2", "anal"):
        fin = figure.fins.get(name)
        if fin is not None and not fin.known:
            kinds = [
                kind
                for kind, key in (
                    ("spines", f"{name.split('-')[0]}-spines"),
                    ("soft rays", f"{name.split('-')[0]}-soft-rays"),
                )
                if count(looks, key) is None and not (kind == "spines" and not _has_spines(looks))
            ]
            made.append((name, f"{' and '.join(kinds) or 'number'} not known: outline only"))
    return made


def _has_spines(looks: Looks) -> bool:
    return state(looks, "dorsal-fins") not in ("soft-only", None)
