"""The geometry of one fish from its numbers and states: outline, head, fins, and what is where.

Knows: which plan, which measures correct it, where each character can be pointed at.
Refuses to know: colours, labels, sources. What is not known gets an outline or is left out.

Coordinates: the snout is at (0, 0), the tail at the right, y runs down.
"""

from typing import NamedTuple

from opercle.draw.curves import Curve, Point
from opercle.draw.fins import RAY, SPINE, Fin, Row, along, fan, tail
from opercle.draw.plans import Plan, choose
from opercle.questions.looks import Looks, Number

LONG = 600.0
_TALL = 0.72
"""A fish is drawn no higher than this share of the greatest length."""
_SOFT_PLANS = frozenset(
    ("trout", "pike", "catfish", "gar", "bowfin", "eel", "sucker", "cod", "ocean sunfish")
)
_WIDE_RANGE = 0.1
"""A known depth range wider than this only bounds the plan's own depth."""


class Head(NamedTuple):
    """The head's points: eye and its radius, mouth corner, gill cover's rear edge."""

    eye: Point
    radius: float
    snout: Point
    corner: Point | None
    rear: Point
    front_x: float


class Figure(NamedTuple):
    """A fish ready to be painted."""

    plan: Plan
    plan_why: str
    long: float
    depth: float
    depth_told: str
    top: Curve
    bottom: Curve
    head: Head
    fins: dict[str, Fin]
    base: float
    anchors: dict[str, Point]
    box: tuple[float, float, float, float]
    fill_in: tuple[str, ...]


def state(looks: Looks, key: str) -> str | None:
    """The state to draw, None where it is not known or varies too much."""
    found = looks.states.get(key)
    return None if found is None else found.drawn


def count(looks: Looks, key: str) -> int | None:
    """The number to draw, None where it is not known."""
    found = looks.numbers.get(key)
    return None if found is None else int(found.middle)


def figure(looks: Looks, longest: float = LONG) -> Figure:
    """The figure of a taxon, its body no longer than ``longest`` and no higher than its share."""
    plan, why = choose(looks.lineage, state(looks, "body-form"), state(looks, "pelvic-position"))
    ratio, told = _depth(plan, looks.numbers.get("body-depth"))
    fins_high = max(plan.spine, plan.soft) + max(plan.anal_soft, plan.soft * 0.85)
    long = min(longest, longest * _TALL / (ratio + fins_high * 0.8))
    depth = ratio * long
    top, bottom = _profiles(plan, long, depth, ratio)
    head = _head(plan, looks, long, depth, top, bottom)
    gaps: list[str] = []
    fins = _fins(plan, looks, long, top, bottom, gaps)
    half = (bottom(long) - top(long)) / 2
    fins["tail"], tail_point = _tail(plan, looks, long, half, depth)
    anchors = _anchors(looks, long, top, bottom, head, fins)
    anchors["tail-shape"] = tail_point
    return Figure(
        plan, why, long, depth, told, top, bottom, head, fins, half, anchors,
        _box(long, top, bottom, fins), tuple(gaps),
    )  # fmt: skip


def _depth(plan: Plan, known: Number | None) -> tuple[float, str]:
    if known is None:
        return plan.depth, "not known: the plan's own"
    least, most = known.range.least, known.range.most
    if most is None or most - least > _WIDE_RANGE or known.inherited:
        high = plan.depth if most is None else most
        return min(max(plan.depth, least), high), f"the plan's own, kept within {known.range}"
    return known.middle, f"{known.middle:.2g} of the length without tail fin"


def _profiles(plan: Plan, long: float, depth: float, ratio: float) -> tuple[Curve, Curve]:
    """Back and belly; the tail stalk follows depth less than the trunk does."""
    usual = plan.depth * long

    def scaled(t: float, share: float) -> float:
        weight = min(1.0, max(0.25, (1 - t) * 3.2))
        return share * (usual + (depth - usual) * weight)

    top = Curve([(t * long, -scaled(t, h)) for t, h in plan.top])
    bottom = Curve([(t * long, scaled(t, h)) for t, h in plan.bottom])
    return top, bottom


_REACH = {
    "before-eye": -1.7,
    "front-of-eye": -0.8,
    "mid-eye": 0.0,
    "rear-of-eye": 0.8,
    "beyond-eye": 1.9,
}


def _head(plan: Plan, looks: Looks, long: float, depth: float, top: Curve, bottom: Curve) -> Head:
    known = looks.numbers.get("head-length")
    share = known.middle if known and not known.inherited and known.middle < 0.6 else plan.head
    size = (share * 0.5 + plan.head * 0.5) * long
    eye_known = looks.numbers.get("eye-diameter")
    wide = eye_known.middle if eye_known and not eye_known.inherited else plan.eye[2]
    radius = min(max(wide, 0.06), 0.34) * size / 2
    x = plan.eye[0] * size
    radius = min(radius, depth * 0.13, (bottom(x) - top(x)) * 0.24)
    eye = (x, max(-plan.eye[1] * depth, top(x) + radius * 1.12))
    snout_y = {"inferior": 0.24, "superior": -0.02}.get(
        state(looks, "mouth-position") or "", plan.mouth
    )
    snout_x = size * 0.13 if state(looks, "mouth-position") == "inferior" else 0.0
    snout = (snout_x, min(snout_y * depth, bottom(snout_x + long * 0.015) * 0.75))
    corner = None
    reach = state(looks, "jaw-reach")
    if reach is not None:
        x = max(eye[0] + _REACH[reach] * radius, snout_x + size * 0.1)
        y = max(snout[1] + plan.gape * (x - snout_x), eye[1] + radius * 1.25)
        corner = (x, min(y, bottom(x) * 0.78))
    return Head(eye, radius, snout, corner, (size, plan.mouth * depth), size * 0.66)


def _fins(
    plan: Plan, looks: Looks, long: float, top: Curve, bottom: Curve, gaps: list[str]
) -> dict[str, Fin]:
    fins = _dorsals(plan, looks, long, top, gaps)
    fins["anal"] = _anal(plan, looks, long, bottom)
    if state(looks, "adipose-fin") == "present":
        fins["adipose"] = _adipose(plan, long, top)
    fins |= _finlets(plan, looks, long, top)
    fins |= _paired(plan, looks, long, top, bottom)
    return {name: fin for name, fin in fins.items() if fin.outline}


_JOINED = (0.5, 0.78, 0.95, 1.0, 1.0, 0.97, 0.93, 0.9, 0.88)
_NOTCHED = (0.5, 0.85, 1.0, 0.98, 0.86, 0.68, 0.5, 0.36)
_SEPARATE = (0.62, 0.92, 1.0, 0.96, 0.85, 0.68, 0.48, 0.3)
_SOFT_FIN = (0.86, 0.97, 1.0, 0.96, 0.87, 0.76, 0.62)
_SOFT_ALONE = (0.94, 1.0, 0.95, 0.86, 0.76, 0.66, 0.56)
_SICKLE = (1.0, 0.97, 0.8, 0.62, 0.48, 0.38, 0.3)


def _dorsals(plan: Plan, looks: Looks, long: float, top: Curve, gaps: list[str]) -> dict[str, Fin]:
    how = state(looks, "dorsal-fins")
    spines, rays = count(looks, "dorsal-spines"), count(looks, "dorsal-soft-rays")
    if spines is None and (how == "soft-only" or (how is None and plan.key in _SOFT_PLANS)):
        if how is None:
            gaps.append("whether the dorsal fin has spines")
        spines = 0
    if how is None and spines:
        gaps.append("how the dorsal fins join (drawn as one)")
    start, end = plan.dorsal[0] * long, plan.dorsal[1] * long
    ns = _BLANKS if spines is None else spines
    nr = _BLANKS if rays is None else rays
    if plan.spread and spines is not None and rays is not None:
        start = max(0.26 * long, end - (ns + nr) * plan.spread * long)
    gap = 0.05 * long if how == "separate" and ns and nr else 0.0
    split = start + (end - start - gap) * (ns * 1.15 / (ns * 1.15 + nr) if ns + nr else 0.0)
    shape = {"notched": _NOTCHED, "separate": _SEPARATE}.get(how or "", _JOINED)
    soft_shape = _SOFT_ALONE if gap or not ns else _SOFT_FIN
    if plan.key == "ocean sunfish":
        soft_shape = _SICKLE
    first = Row(SPINE, spines, start, split, plan.spine * long, shape, (16, 34))
    lean = (26.0, 30.0) if plan.key == "ocean sunfish" else (26.0, 50.0)
    second = Row(RAY, rays, split + gap, end, plan.soft * long, soft_shape, lean)
    if gap:
        return {
            "dorsal-1": along("dorsal-1", [first], top, -1),
            "dorsal-2": along("dorsal-2", [second], top, -1),
        }
    if how == "with-small-rear-fins" and ns and nr and ns <= _FREE:
        return {
            "dorsal-1": along("dorsal-1", [first], top, -1, free=True),
            "dorsal-2": along("dorsal-2", [second], top, -1),
        }
    dip = 0.42 if how == "notched" else 0.08
    rows = [r for r in (first, second) if r.number != 0]
    return {"dorsal": along("dorsal", rows, top, -1, dip)}


_BLANKS, _FREE = 9, 12
_BASE = {"about-equal": 1.0, "half": 0.5, "short": 0.28}
_SECOND = {"much-shorter": 0.5, "shorter": 0.67, "about-equal": 1.0, "longer": 1.12}


def _anal(plan: Plan, looks: Looks, long: float, bottom: Curve) -> Fin:
    spines, rays = count(looks, "anal-spines"), count(looks, "anal-soft-rays")
    if spines is None and plan.key in _SOFT_PLANS:
        spines = 0
    start, end = plan.anal[0] * long, plan.anal[1] * long
    share = _BASE.get(state(looks, "anal-base") or "")
    if share is not None:
        start = max(0.42 * long, end - share * (plan.dorsal[1] - plan.dorsal[0]) * long)
    high = (plan.anal_soft or plan.soft * 0.85) * long
    ns = _BLANKS if spines is None else spines
    nr = _BLANKS if rays is None else rays
    split = start + (end - start) * (ns * 1.2 / (ns * 1.2 + nr) if ns + nr else 0.0)
    shape = _graded(spines, state(looks, "second-anal-spine"))
    first = Row(SPINE, spines, start, split, high * 0.78, shape, (26, 34))
    soft = _SICKLE if plan.key == "ocean sunfish" else _SOFT_FIN
    lean = (26.0, 30.0) if plan.key == "ocean sunfish" else (30.0, 52.0)
    second = Row(RAY, rays, split, end, high, soft, lean)
    return along("anal", [r for r in (first, second) if r.number != 0], bottom, 1, 0.12)


def _graded(spines: int | None, second: str | None) -> tuple[float, ...]:
    """Lengths of the anal spines: rising to the last, the second by its stated state."""
    if spines == 3:
        return (0.45, _SECOND.get(second or "", 0.8), 1.0)
    if spines == 2:
        return (0.75, 0.95)
    return (0.45, 0.68, 0.82, 0.92, 1.0)


def _adipose(plan: Plan, long: float, top: Curve) -> Fin:
    x, size = 0.83 * long, 0.05 * long
    y, end = top(x) + 3, top(x + size * 0.9) + 3
    outline = (
        f"M{x:.1f} {y:.1f}C{x + size * 0.4:.1f} {y - size * 0.5:.1f} "
        f"{x + size:.1f} {y - size * 0.95:.1f} {x + size * 1.5:.1f} {y - size * 0.75:.1f}"
        f"C{x + size * 1.75:.1f} {y - size * 0.45:.1f} {x + size * 1.2:.1f} "
        f"{end - size * 0.2:.1f} {x + size * 0.9:.1f} {end:.1f}Z"
    )
    return Fin("adipose", outline, (), True, ((x + size * 1.1, y - size * 0.8),))


def _finlets(plan: Plan, looks: Looks, long: float, top: Curve) -> dict[str, Fin]:
    number = count(looks, "dorsal-finlets") or 0
    made = {}
    for i in range(number):
        x = (plan.dorsal[1] + 0.01 + (0.985 - plan.dorsal[1]) * i / number) * long
        y, wide = top(x) + 2, 0.11 * long / max(number, 6)
        outline = f"M{x:.1f} {y:.1f}L{x + wide * 1.3:.1f} {y - 9:.1f}L{x + wide:.1f} {y + 1:.1f}Z"
        made[f"finlet-{i + 1}"] = Fin("finlet", outline, (), True, ((x + wide, y - 9),))
    return made


_PELVIC = {"thoracic": None, "abdominal": 0.54, "jugular": 0.2}
_SHORT_FAN = (0.78, 0.94, 1.0, 0.98, 0.9, 0.78, 0.62)
_LONG_FAN = (1.0, 1.08, 0.96, 0.8, 0.66, 0.54, 0.42)
_PELVIC_FAN = (0.82, 1.0, 0.98, 0.88, 0.74, 0.6)


def _paired(plan: Plan, looks: Looks, long: float, top: Curve, bottom: Curve) -> dict[str, Fin]:
    made = {}
    where = state(looks, "pelvic-position")
    if where != "absent":
        share = _PELVIC.get(where or "")
        if where == "abdominal" and plan.pelvic > 0.44:
            share = plan.pelvic
        x = (plan.pelvic if share is None else share) * long
        numbers = (count(looks, "pelvic-spines"), count(looks, "pelvic-soft-rays"))
        size = 0.12 * long if plan.key not in ("ocean sunfish", "eel", "gar") else 0.075 * long
        ends = ((x, bottom(x) - 4), (x + 0.028 * long, bottom(x + 0.028 * long) - 4))
        made["pelvic"] = fan("pelvic", ends, (66, 18), size, _PELVIC_FAN, numbers)
    x, low, size = plan.pectoral
    long_one = state(looks, "pectoral-shape") == "long-pointed"
    size = size * long * (1.22 if long_one else 0.9)
    y = (bottom(x * long) if low >= 0 else -top(x * long)) * low * 2
    tall = min(0.036 * long, (bottom(x * long) - top(x * long)) * 0.14)
    shape = _LONG_FAN if long_one else _SHORT_FAN
    ends = ((x * long, y - tall / 2), (x * long + 2, y + tall / 2))
    angles = (-14.0, 40.0) if not long_one else (2.0, 48.0)
    rays = count(looks, "pectoral-rays")
    made["pectoral"] = fan("pectoral", ends, angles, size, shape, (0, rays))
    return made


def _tail(plan: Plan, looks: Looks, long: float, half: float, depth: float) -> tuple[Fin, Point]:
    shape = state(looks, "tail-shape")
    if shape == "none":
        return Fin("tail", "", (), True, ()), (long, 0.0)
    size = plan.tail * long
    spread = max(size * 0.72, half * 1.35)
    return tail(shape, long, half, size, count(looks, "caudal-branched-rays"), spread)


def _anchors(
    looks: Looks, long: float, top: Curve, bottom: Curve, head: Head, fins: dict[str, Fin]
) -> dict[str, Point]:
    """Where each character can be pointed at."""
    eye, rear = head.eye, head.rear
    found = {
        "opercle-edge": (rear[0] + 4, rear[1]),
        "opercle-spines": (rear[0] + 4, rear[1]),
        "cheek-scales": (eye[0] + head.radius * 1.2, eye[1] + head.radius * 2.1),
        "mouth-position": head.snout,
        "lateral-line": (long * 0.9, (top(long * 0.9) + bottom(long * 0.9)) / 2),
        "lateral-line-scales": (long * 0.9, (top(long * 0.9) + bottom(long * 0.9)) / 2),
        "lateral-line-on-tail": (long + 8, 0.0),
        "body-depth": (long * 0.43, bottom(long * 0.43)),
        "eye-diameter": (eye[0], eye[1] - head.radius * 0.8),
    }
    found["cheek-scale-rows"] = found["cheek-scales"]
    if head.corner is not None:
        found["jaw-reach"] = head.corner
    for key, name, kind in (
        ("dorsal-spines", "dorsal", SPINE),
        ("dorsal-spines", "dorsal-1", SPINE),
        ("dorsal-soft-rays", "dorsal", RAY),
        ("dorsal-soft-rays", "dorsal-2", RAY),
        ("anal-spines", "anal", SPINE),
        ("anal-soft-rays", "anal", RAY),
        ("pelvic-spines", "pelvic", SPINE),
        ("pelvic-soft-rays", "pelvic", RAY),
        ("pectoral-rays", "pectoral", RAY),
    ):
        sticks = fins[name].of_kind(kind) if name in fins else []
        if sticks:
            found[key] = sticks[len(sticks) // 2].tip
    barbels = count(looks, "barbels") or 0
    if barbels == 1:
        found["barbels"] = (rear[0] * 0.3 + 6, bottom(rear[0] * 0.3) + 20)
    elif barbels:
        found["barbels"] = (rear[0] * 0.28, bottom(rear[0] * 0.24) + rear[0] * 0.26)
    found |= _fin_points(fins, top)
    return found


def _fin_points(fins: dict[str, Fin], top: Curve) -> dict[str, Point]:
    found: dict[str, Point] = {}
    if "adipose" in fins:
        found["adipose-fin"] = fins["adipose"].tips[0]
    if "pelvic" in fins:
        found["pelvic-position"] = fins["pelvic"].tips[len(fins["pelvic"].tips) // 2]
    anal = fins.get("anal")
    if anal and anal.tips:
        middle = anal.tips[len(anal.tips) // 2]
        found["anal-base"] = middle
        spines = anal.of_kind(SPINE)
        if len(spines) > 1:
            found["second-anal-spine"] = spines[1].tip
    if "dorsal-2" in fins and "dorsal-1" in fins:
        a, b = fins["dorsal-1"].tips[-1], fins["dorsal-2"].tips[0]
        x = (a[0] + b[0]) / 2
        found["dorsal-fins"] = (x, top(x))
    elif "dorsal" in fins:
        sticks = fins["dorsal"].sticks
        join = [s.tip for s in sticks if s.kind == SPINE][-1:] or [fins["dorsal"].tips[0]]
        found["dorsal-fins"] = join[0]
    return found


def _box(
    long: float, top: Curve, bottom: Curve, fins: dict[str, Fin]
) -> tuple[float, float, float, float]:
    xs, ys = [0.0, long], [min(top.ys), max(bottom.ys)]
    for fin in fins.values():
        xs += [p[0] for p in fin.tips]
        ys += [p[1] for p in fin.tips]
    return min(xs), min(ys), max(xs), max(ys)
