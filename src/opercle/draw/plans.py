"""Body and head plans: the outline that stands for a family until a measure corrects it.

Knows: a small table from genus, family and order to a plan, and each plan's proportions.
Refuses to know: counts and states; those come from statements. A plan is a drawing habit, not a
measurement, and every picture says which one it used and why.

Outlines are given as (share of standard length, share of greatest depth) above and below the axis
from the snout to the base of the tail. They were drawn by eye for teaching; no source.
"""

# ruff: noqa: E501
from collections.abc import Sequence
from typing import NamedTuple

Points = tuple[tuple[float, float], ...]


class Plan(NamedTuple):
    """One body plan. Lengths are shares of standard length, heights shares of depth."""

    key: str
    says: str
    depth: float
    top: Points
    bottom: Points
    head: float
    eye: tuple[float, float, float]  # share of head from snout, share of depth above, of head
    mouth: float  # share of depth below the axis at the snout
    gape: float  # how steeply the mouth falls, share of its length
    dorsal: tuple[float, float]
    anal: tuple[float, float]
    spine: float
    soft: float
    tail: float
    pectoral: tuple[float, float, float]  # x, share of depth below the axis, length
    pelvic: float
    spread: float = 0.0  # usual spacing of dorsal elements; 0 = fill the base
    anal_soft: float = 0.0  # height of the anal fin; 0 = 0.85 of the soft dorsal


_OVAL_TOP = ((0, 0), (0.03, 0.1), (0.1, 0.23), (0.2, 0.37), (0.32, 0.49), (0.45, 0.54), (0.6, 0.5), (0.75, 0.36), (0.88, 0.2), (1, 0.15))  # fmt: skip
_OVAL_LOW = ((0, 0.015), (0.03, 0.08), (0.1, 0.19), (0.2, 0.31), (0.33, 0.42), (0.47, 0.46), (0.6, 0.42), (0.74, 0.29), (0.87, 0.16), (1, 0.14))  # fmt: skip
_LONG_TOP = ((0, 0), (0.03, 0.11), (0.1, 0.27), (0.2, 0.42), (0.33, 0.53), (0.46, 0.55), (0.62, 0.46), (0.77, 0.31), (0.9, 0.2), (1, 0.19))  # fmt: skip
_LONG_LOW = ((0, 0.03), (0.03, 0.13), (0.1, 0.25), (0.2, 0.37), (0.34, 0.45), (0.5, 0.44), (0.65, 0.36), (0.8, 0.24), (0.91, 0.18), (1, 0.18))  # fmt: skip
_ROUND_TOP = ((0, 0), (0.02, 0.16), (0.07, 0.34), (0.14, 0.46), (0.28, 0.53), (0.42, 0.52), (0.6, 0.42), (0.78, 0.31), (0.92, 0.26), (1, 0.27))  # fmt: skip
_ROUND_LOW = ((0, 0.05), (0.02, 0.17), (0.07, 0.3), (0.15, 0.4), (0.28, 0.47), (0.42, 0.47), (0.6, 0.37), (0.78, 0.27), (0.92, 0.24), (1, 0.25))  # fmt: skip

PLANS = {
    p.key: p
    for p in (
        Plan("deep sunfish", "deep, flattened sideways, short head", 0.46, _OVAL_TOP, _OVAL_LOW,
             0.34, (0.36, 0.16, 0.26), 0.01, 0.5, (0.33, 0.83), (0.58, 0.83), 0.115, 0.145, 0.19,
             (0.355, 0.17, 0.19), 0.37),
        Plan("crappie", "deep and thin, sloping forehead, dorsal fin set far back", 0.43,
             ((0, 0), (0.03, 0.09), (0.1, 0.18), (0.19, 0.27), (0.31, 0.42), (0.46, 0.53), (0.6, 0.52), (0.76, 0.36), (0.89, 0.19), (1, 0.15)),
             ((0, 0.03), (0.03, 0.11), (0.1, 0.23), (0.2, 0.35), (0.33, 0.44), (0.46, 0.46), (0.6, 0.42), (0.75, 0.28), (0.88, 0.16), (1, 0.14)),
             0.34, (0.36, 0.08, 0.26), 0.0, 0.62, (0.4, 0.83), (0.46, 0.83), 0.12, 0.17, 0.19,
             (0.35, 0.14, 0.17), 0.325, 0.0183, 0.165),
        Plan("black bass", "long and stout, large head and mouth", 0.29, _LONG_TOP, _LONG_LOW,
             0.345, (0.33, 0.22, 0.18), 0.02, 0.42, (0.37, 0.81), (0.62, 0.8), 0.085, 0.115, 0.17,
             (0.365, 0.08, 0.14), 0.38),
        Plan("temperate bass", "streamlined, forked tail, flat spine on the gill cover", 0.28,
             ((0, 0), (0.03, 0.1), (0.1, 0.25), (0.2, 0.4), (0.33, 0.53), (0.46, 0.54), (0.62, 0.43), (0.77, 0.28), (0.9, 0.18), (1, 0.17)),
             _LONG_LOW, 0.31, (0.33, 0.16, 0.2), 0.01, 0.3, (0.35, 0.8), (0.6, 0.79), 0.12, 0.12,
             0.21, (0.33, 0.08, 0.15), 0.36),
        Plan("perch", "spindle-shaped, humped behind a pointed head", 0.27,
             ((0, 0), (0.03, 0.09), (0.1, 0.22), (0.19, 0.36), (0.31, 0.54), (0.42, 0.55), (0.6, 0.42), (0.77, 0.28), (0.9, 0.17), (1, 0.16)),
             _LONG_LOW, 0.3, (0.36, 0.17, 0.22), 0.02, 0.32, (0.31, 0.83), (0.64, 0.81), 0.13, 0.105,
             0.17, (0.315, 0.06, 0.14), 0.34),
        Plan("pikeperch", "long, low head with a long mouth", 0.21,
             ((0, 0), (0.03, 0.09), (0.1, 0.24), (0.2, 0.4), (0.33, 0.52), (0.46, 0.54), (0.62, 0.45), (0.78, 0.32), (0.91, 0.21), (1, 0.2)),
             ((0, 0.05), (0.03, 0.15), (0.1, 0.27), (0.2, 0.38), (0.34, 0.46), (0.5, 0.45), (0.65, 0.38), (0.8, 0.27), (0.91, 0.19), (1, 0.19)),
             0.29, (0.34, 0.24, 0.17), 0.02, 0.24, (0.3, 0.83), (0.63, 0.8), 0.105, 0.1, 0.18,
             (0.3, 0.06, 0.13), 0.32),
        Plan("darter", "small, slender, blunt-headed, rests on the bottom", 0.18, _ROUND_TOP,
             _ROUND_LOW, 0.25, (0.36, 0.28, 0.27), 0.12, 0.18, (0.28, 0.82), (0.62, 0.8), 0.085,
             0.11, 0.17, (0.25, 0.06, 0.2), 0.27),
        Plan("trout", "streamlined, a fleshy fin behind the dorsal", 0.23,
             ((0, 0), (0.02, 0.13), (0.07, 0.28), (0.15, 0.4), (0.28, 0.5), (0.42, 0.53), (0.6, 0.45), (0.77, 0.32), (0.9, 0.2), (1, 0.21)),
             ((0, 0.06), (0.02, 0.15), (0.07, 0.27), (0.16, 0.38), (0.3, 0.46), (0.45, 0.47), (0.62, 0.39), (0.78, 0.27), (0.9, 0.19), (1, 0.2)),
             0.24, (0.36, 0.2, 0.18), 0.06, 0.22, (0.43, 0.56), (0.7, 0.81), 0.1, 0.115, 0.17,
             (0.245, 0.24, 0.14), 0.55),
        Plan("pike", "very long, duck-billed, fins far back", 0.165,
             ((0, 0), (0.02, 0.08), (0.09, 0.15), (0.15, 0.27), (0.25, 0.45), (0.42, 0.52), (0.62, 0.52), (0.76, 0.45), (0.9, 0.24), (1, 0.24)),
             ((0, 0.06), (0.02, 0.14), (0.09, 0.24), (0.16, 0.36), (0.27, 0.46), (0.42, 0.48), (0.62, 0.46), (0.76, 0.4), (0.9, 0.22), (1, 0.23)),
             0.3, (0.48, 0.17, 0.12), 0.03, 0.12, (0.72, 0.87), (0.74, 0.87), 0.09, 0.105, 0.16,
             (0.305, 0.3, 0.1), 0.53),
        Plan("catfish", "broad head with feelers, bare skin", 0.22,
             ((0, 0), (0.02, 0.13), (0.08, 0.28), (0.16, 0.42), (0.28, 0.56), (0.42, 0.53), (0.6, 0.44), (0.78, 0.34), (0.9, 0.24), (1, 0.23)),
             ((0, 0.1), (0.02, 0.2), (0.08, 0.31), (0.17, 0.39), (0.3, 0.44), (0.45, 0.44), (0.62, 0.36), (0.78, 0.28), (0.9, 0.22), (1, 0.22)),
             0.25, (0.38, 0.18, 0.13), 0.1, 0.1, (0.3, 0.39), (0.62, 0.85), 0.14, 0.135, 0.2,
             (0.255, 0.26, 0.13), 0.52, 0.0, 0.09),
        Plan("ocean sunfish", "a disc with tall fins and a stiff rudder in place of a tail", 0.6,
             ((0, 0), (0.03, 0.1), (0.1, 0.22), (0.22, 0.36), (0.38, 0.46), (0.55, 0.5), (0.72, 0.5), (0.88, 0.47), (1, 0.42)),
             ((0, 0.03), (0.03, 0.11), (0.1, 0.22), (0.22, 0.35), (0.38, 0.46), (0.55, 0.5), (0.72, 0.5), (0.88, 0.47), (1, 0.42)),
             0.3, (0.5, 0.08, 0.14), 0.0, 0.3, (0.72, 0.9), (0.72, 0.9), 0.2, 0.46, 0.08,
             (0.36, 0.02, 0.1), 0.4, 0.0, 0.46),
        Plan("gar", "a long cylinder with a long toothed snout", 0.12,
             ((0, 0), (0.01, 0.06), (0.1, 0.1), (0.19, 0.18), (0.27, 0.42), (0.4, 0.52), (0.6, 0.52), (0.78, 0.48), (0.9, 0.34), (1, 0.3)),
             ((0, 0.06), (0.01, 0.11), (0.1, 0.15), (0.19, 0.24), (0.28, 0.43), (0.4, 0.48), (0.6, 0.48), (0.78, 0.44), (0.9, 0.33), (1, 0.3)),
             0.31, (0.75, 0.11, 0.07), 0.04, 0.045, (0.82, 0.92), (0.79, 0.89), 0.07, 0.1, 0.14,
             (0.315, 0.2, 0.09), 0.54),
        Plan("bowfin", "a stout cylinder with one long dorsal fin", 0.22, _ROUND_TOP, _ROUND_LOW,
             0.28, (0.3, 0.18, 0.13), 0.1, 0.2, (0.32, 0.9), (0.66, 0.79), 0.06, 0.08, 0.17,
             (0.29, 0.16, 0.11), 0.46),
        Plan("eel", "snake-like, one fin round the tail", 0.07,
             ((0, 0), (0.02, 0.25), (0.07, 0.4), (0.15, 0.5), (0.4, 0.52), (0.7, 0.46), (0.9, 0.28), (1, 0.06)),
             ((0, 0.1), (0.02, 0.26), (0.07, 0.38), (0.15, 0.46), (0.4, 0.48), (0.7, 0.44), (0.9, 0.28), (1, 0.06)),
             0.13, (0.25, 0.16, 0.1), 0.1, 0.1, (0.35, 0.99), (0.45, 0.99), 0.03, 0.035, 0.02,
             (0.14, 0.05, 0.05), 0.3),
        Plan("drum", "arched back, blunt snout, long second dorsal fin", 0.31,
             ((0, 0), (0.02, 0.14), (0.07, 0.28), (0.15, 0.42), (0.28, 0.56), (0.4, 0.56), (0.6, 0.42), (0.78, 0.26), (0.92, 0.15), (1, 0.15)),
             ((0, 0.06), (0.02, 0.15), (0.08, 0.25), (0.17, 0.34), (0.32, 0.43), (0.48, 0.43), (0.64, 0.36), (0.8, 0.23), (0.92, 0.14), (1, 0.14)),
             0.3, (0.36, 0.18, 0.2), 0.12, 0.14, (0.31, 0.9), (0.64, 0.74), 0.13, 0.085, 0.17,
             (0.315, 0.1, 0.18), 0.34, 0.0, 0.1),
        Plan("sea bass", "stout, large-mouthed, one long dorsal fin", 0.34, _LONG_TOP, _LONG_LOW,
             0.37, (0.34, 0.22, 0.18), 0.02, 0.42, (0.34, 0.84), (0.62, 0.8), 0.11, 0.125, 0.18,
             (0.38, 0.1, 0.18), 0.38),
        Plan("rockfish", "stout, big spiny head", 0.34,
             ((0, 0), (0.03, 0.12), (0.1, 0.3), (0.19, 0.42), (0.32, 0.53), (0.45, 0.54), (0.62, 0.44), (0.78, 0.28), (0.9, 0.17), (1, 0.16)),
             _LONG_LOW, 0.37, (0.36, 0.22, 0.24), 0.02, 0.4, (0.32, 0.83), (0.62, 0.78), 0.125,
             0.115, 0.17, (0.38, 0.1, 0.22), 0.38),
        Plan("oval", "deep and oval, small mouth", 0.42, _OVAL_TOP, _OVAL_LOW, 0.3,
             (0.42, 0.18, 0.24), 0.03, 0.34, (0.31, 0.84), (0.56, 0.83), 0.11, 0.12, 0.21,
             (0.31, 0.06, 0.2), 0.36),
        Plan("jack", "streamlined, thin tail stalk, forked tail", 0.3,
             ((0, 0), (0.02, 0.12), (0.07, 0.27), (0.16, 0.41), (0.3, 0.51), (0.44, 0.53), (0.62, 0.42), (0.78, 0.25), (0.92, 0.11), (1, 0.1)),
             ((0, 0.04), (0.02, 0.14), (0.07, 0.26), (0.16, 0.37), (0.3, 0.45), (0.44, 0.47), (0.62, 0.39), (0.78, 0.23), (0.92, 0.1), (1, 0.1)),
             0.28, (0.34, 0.16, 0.18), 0.02, 0.34, (0.33, 0.88), (0.55, 0.88), 0.06, 0.1, 0.22,
             (0.29, 0.1, 0.15), 0.33),
        Plan("sucker", "cylindrical, mouth under the snout, one short dorsal fin", 0.24,
             ((0, 0), (0.015, 0.16), (0.06, 0.3), (0.14, 0.42), (0.28, 0.53), (0.42, 0.54), (0.6, 0.44), (0.78, 0.3), (0.91, 0.2), (1, 0.2)),
             ((0, 0.1), (0.015, 0.2), (0.06, 0.29), (0.15, 0.38), (0.3, 0.45), (0.45, 0.45), (0.62, 0.38), (0.78, 0.27), (0.91, 0.19), (1, 0.19)),
             0.24, (0.46, 0.2, 0.17), 0.2, 0.2, (0.42, 0.58), (0.72, 0.8), 0.1, 0.13, 0.19,
             (0.25, 0.25, 0.14), 0.52, 0.0, 0.12),
        Plan("cod", "tapering, soft-finned", 0.22,
             ((0, 0), (0.02, 0.14), (0.07, 0.3), (0.15, 0.43), (0.28, 0.54), (0.4, 0.54), (0.6, 0.4), (0.78, 0.23), (0.92, 0.12), (1, 0.12)),
             ((0, 0.08), (0.02, 0.18), (0.07, 0.29), (0.15, 0.38), (0.28, 0.45), (0.4, 0.46), (0.6, 0.35), (0.78, 0.21), (0.92, 0.12), (1, 0.12)),
             0.27, (0.34, 0.2, 0.19), 0.1, 0.2, (0.3, 0.93), (0.5, 0.93), 0.08, 0.085, 0.12,
             (0.27, 0.08, 0.13), 0.24),
    )
}  # fmt: skip

_NAMED = {
    "deep sunfish": "Centrarchidae Elassomatidae Datnioididae Pristolepididae Lampridae Nandidae",
    "crappie": "Pomoxis",
    "black bass": "Micropterus",
    "temperate bass": """Moronidae Lateolabracidae Percichthyidae Sinipercidae Latidae Centropomidae
        Kuhliidae Terapontidae Arripidae Ambassidae Synagropidae Acropomatidae Nannopercidae
        Polynemidae Percopsidae Dinolestidae""",
    "perch": "Percidae Aphredoderidae",
    "pikeperch": "Sander Sphyraenidae",
    "darter": """Etheostoma Percina Ammocrypta Crystallaria Nothonotus Zingel Romanichthys
        Pinguipedidae Eleotridae Amblyopsidae Gobiiformes""",
    "trout": "Salmonidae Retropinnidae Galaxiidae Osmeriformes",
    "pike": "Esocidae Hepsetidae",
    "catfish": "Siluriformes",
    "ocean sunfish": "Molidae",
    "gar": "Lepisosteidae",
    "bowfin": "Amiidae Channidae Umbridae Neoceratodontidae",
    "eel": "Anguilliformes Petromyzontiformes Synbranchiformes",
    "drum": "Sciaenidae",
    "sea bass": """Serranidae Epinephelidae Anthiadidae Polyprionidae Stereolepididae Lutjanidae
        Haemulidae Callanthiidae Dinopercidae Lobotidae Perciformes""",
    "rockfish": "Sebastidae Scorpaenidae Neosebastidae Hexagrammidae Nototheniidae",
    "oval": """Cichlidae Sparidae Embiotocidae Kyphosidae Girellidae Pomacentridae Lethrinidae
        Nemipteridae Labridae Latridae Dichistiidae Glaucosomatidae Berycidae Trachichthyidae
        Gerreidae Anabantidae Acanthuriformes Blenniiformes""",
    "jack": """Carangidae Pomatomidae Rachycentridae Bramidae Centrolophidae Mugilidae Gasterosteidae
        Hiodontidae""",
    "sucker": "Catostomidae Leuciscidae Cyprinidae Cypriniformes Poeciliidae",
    "cod": "Gadiformes Anoplopomatidae Osteoglossidae",
}
BY_NAME = {name: key for key, names in _NAMED.items() for name in names.split()}

_BY_FORM = {
    "deep-flat": "oval",
    "eel-like": "eel",
    "slender": "darter",
    "moderate": "sea bass",
    "disc": "ocean sunfish",
    "flattened": "catfish",
}


def choose(lineage: Sequence[str], form: str | None, pelvic: str | None) -> tuple[Plan, str]:
    """The plan of a taxon and the reason in words.

    The nearest name of the lineage in the table wins; then a stated body form; then where the
    pelvic fins stand; else a general spiny-rayed outline.
    """
    for name in lineage:
        if name in BY_NAME:
            return PLANS[BY_NAME[name]], f"usual for {name}"
    if form in _BY_FORM:
        return PLANS[_BY_FORM[form]], f"from the stated body form, {form.replace('-', ' ')}"
    if pelvic == "abdominal":
        return PLANS["trout"], "from the pelvic fins on the belly; no nearer plan is drawn yet"
    return PLANS["sea bass"], "a general outline; no nearer plan is drawn yet"
