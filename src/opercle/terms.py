"""The names of terms: closed sets, so that a mistyped term fails when a module is imported.

Knows: prefixes, our own terms, how to shorten and widen an address.
Refuses to know: what any term means; that is in ontology/opercle.ttl, and a test holds both equal.
"""

BASE = "https://opercle.example/"

PREFIXES = {
    "op": BASE + "ns#",
    "t": BASE + "taxon/",
    "s": BASE + "statement/",
    "n": BASE + "name/",
    "c": BASE + "character/",
    "w": BASE + "water/",
    "pl": BASE + "place/",
    "word": BASE + "word/",
    "src": BASE + "source/",
    "cite": BASE + "cite/",
    "r": BASE + "rule/",
    "g": BASE + "graph/",
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
    "owl": "http://www.w3.org/2002/07/owl#",
    "xsd": "http://www.w3.org/2001/XMLSchema#",
    "skos": "http://www.w3.org/2004/02/skos/core#",
    "skosxl": "http://www.w3.org/2008/05/skos-xl#",
    "dwc": "http://rs.tdwg.org/dwc/terms/",
    "dcterms": "http://purl.org/dc/terms/",
    "prov": "http://www.w3.org/ns/prov#",
    "schema": "https://schema.org/",
}


class Closed:
    """A namespace that holds only the names given; any other attribute is an error."""

    def __init__(self, base: str, names: str) -> None:
        self.base = base
        self.names = frozenset(names.split())

    def __getattr__(self, name: str) -> str:
        if name in self.names:
            return self.base + name
        raise AttributeError(f"no term {name!r} in {self.base}")


OP = Closed(
    PREFIXES["op"],
    """
    Character CharacterState Citation CommonName Contrast CountCharacter CountStatement
    DerivedProperty Etymology GroupWord Hybrid MemberList NameUse NamesList Place Placement
    RangeLimit RangeStatement RatioCharacter RatioStatement Remark ScientificName
    SizeStatement Source StateCharacter StateStatement Statement TypeFixation Water
    WordMeaning about absent asks atOrUnder authors basis bearsWord brief byCharacter
    byWaterAlone byWhom cannotMeet citation coastOn complete dimension directlyIn disputed
    doubted drainsInto epithet extent femaleParent fixedBy followed from fromLength
    fromOther gathers gender genusPart goesBy group hasAncestor hasGapOn hasOwn hasState
    hazard inFamily inList inferred inside insideOf introduced introducedTo isoCode key kind
    language leansApartFrom least liesIn maleParent market meaning means memberCount
    misapplied misleadsAbout most name native nativeInPartOf nativeTo old onCharacter order
    originalGenus originalSpelling outdatedFor parent parentTaxon part partOf partOfSpeech
    population presence reaches read recalled regional sampleSize scientific seen sex
    sharedBy stage standard state stem strict synonym text toLength topic trust typeName
    underName unit unitCode until usualLeast usualMost usualState usuallyLeast usuallyMost
    varies verbatim warnedBy waterKind where within word year
    """,
)


def shorten(iri: str) -> str:
    """Write an address as a prefixed name where a prefix fits, else in angle brackets."""
    for prefix, base in PREFIXES.items():
        if iri.startswith(base):
            return f"{prefix}:{iri[len(base) :]}"
    return f"<{iri}>"


def widen(name: str) -> str:
    """Turn a prefixed name or ``<address>`` into an address; ValueError if no prefix fits."""
    if name.startswith("<") and name.endswith(">"):
        return name[1:-1]
    prefix, colon, local = name.partition(":")
    if colon and prefix in PREFIXES:
        return PREFIXES[prefix] + local
    if colon and local.startswith("//"):
        return name
    raise ValueError(f"no known prefix in {name!r}")
