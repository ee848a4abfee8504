"""Worked examples of the International Code of Zoological Nomenclature, 4th edition (1999).

Values are put down from memory of the Code's articles and examples, not read beside it; each check
names the article where it is to be found. Small graphs go through the real rules; the rest is asked
of the real knowledge.
"""

import re

import pyoxigraph as ox
import pytest

from opercle import rules
from opercle.terms import PREFIXES

HEAD = "".join(f"@prefix {p}: <{PREFIXES[p]}> .\n" for p in ("op", "t", "s", "n", "dwc", "skosxl"))
NAME = """n:it a op:ScientificName ; skosxl:literalForm "{form}" ;
  op:authors "{authors}" ; op:year {year} {more}.
s:it a op:NameUse ; op:name n:it ; op:means t:it ; op:kind op:scientific ; op:followed true .
"""


@pytest.fixture(scope="module")
def book():
    return rules.read_all()


def cited(book, form, authors, year, first=None):
    """How the rules cite the author of a name first published in the genus ``first``."""
    genus, *rest = form.split()
    more = ""
    if rest:
        more = f'; op:genusPart "{genus}" ; op:epithet "{rest[-1]}" '
        more += f'; op:originalGenus "{first or genus}" '
    store = ox.Store()
    graph = ox.NamedNode(PREFIXES["g"] + "given.ttl")
    text = HEAD + NAME.format(form=form, authors=authors, year=year, more=more)
    store.extend(
        ox.Quad(*q.triple, graph) for q in ox.parse(text.encode(), format=ox.RdfFormat.TURTLE)
    )
    rules.run(store, book)
    told = ox.NamedNode(PREFIXES["dwc"] + "scientificNameAuthorship")
    return [q.object.value for q in store.quads_for_pattern(None, told, None)]


@pytest.mark.parametrize(
    ("form", "authors", "year", "first", "told"),
    [
        # article 51.3, its own example
        ("Hymenolepis diminuta", "Rudolphi", 1819, "Taenia", "(Rudolphi, 1819)"),
        ("Taenia diminuta", "Rudolphi", 1819, "Taenia", "Rudolphi, 1819"),
        # article 51.3 applied to animals everybody knows
        ("Panthera leo", "Linnaeus", 1758, "Felis", "(Linnaeus, 1758)"),
        ("Homo sapiens", "Linnaeus", 1758, "Homo", "Linnaeus, 1758"),
        # article 51.3: raised from subspecies to species in the same genus, so without parentheses
        ("Micropterus henshalli", "Hubbs & Bailey", 1940, "Micropterus", "Hubbs & Bailey, 1940"),
        # article 51.3 holds of names of the species group alone: none for a genus or a family
        ("Taenia", "Linnaeus", 1758, None, "Linnaeus, 1758"),
    ],
)
def test_parentheses_stand_round_the_author_just_where_the_species_has_changed_its_genus(
    book, form, authors, year, first, told
):
    assert cited(book, form, authors, year, first) == [told]


NAMES = """SELECT ?t ?form ?authors ?year ?genus ?first ?told WHERE {
  ?use op:means ?t ; op:kind op:scientific ; op:followed true ; op:name ?n .
  ?n skosxl:literalForm ?form ; op:authors ?authors ; op:year ?year .
  OPTIONAL { ?n op:genusPart ?genus ; op:originalGenus ?first }
  OPTIONAL { ?t dwc:scientificNameAuthorship ?told }
}"""


def test_every_valid_name_here_is_cited_with_parentheses_just_where_article_51_3_asks_for_them(
    desk,
):
    rows = desk.snapshot.rows(NAMES)
    assert len(rows) > 500
    wrong = []
    for row in rows:
        plain = f"{row['authors']}, {row['year']}"
        moved = row.get("first") not in (None, row.get("genus"))
        if "first" in row or " " not in row["form"]:
            due = f"({plain})" if moved else plain
            if row.get("told") != due:
                wrong.append((row["form"], row.get("told"), due))
    assert wrong == []


def test_every_valid_species_here_says_in_which_genus_it_was_first_put(desk):
    """Article 51.3 cannot be applied without it."""
    rows = desk.snapshot.rows(NAMES)
    assert [r["form"] for r in rows if " " in r["form"] and "first" not in r] == []


def test_every_valid_species_here_has_an_author(desk):
    """Article 51.1 leaves the citation to choice; this knowledge gives it always."""
    rows = desk.snapshot.rows(
        """SELECT ?f WHERE { ?t dwc:taxonRank "species" ; dwc:scientificName ?f
        MINUS { ?t dwc:scientificNameAuthorship ?a } } ORDER BY ?f"""
    )
    # the Choctaw bass is known by a proposed name that was never made available
    assert [r["f"] for r in rows] == ["Micropterus haiaka"]


@pytest.mark.parametrize(
    ("name", "told"),
    [
        # article 51.3, citations as the trade prints them; from memory
        ("Micropterus-dolomieu", "Lacepède, 1802"),
        ("Ambloplites-rupestris", "(Rafinesque, 1817)"),
        ("Perca-flavescens", "(Mitchill, 1814)"),
        ("Perca-fluviatilis", "Linnaeus, 1758"),
        ("Morone-saxatilis", "(Walbaum, 1792)"),
        ("Ambloplites-constellatus", "Cashner & Suttkus, 1977"),
    ],
)
def test_known_fishes_are_cited_as_the_trade_cites_them(desk, name, told):
    assert desk.about(f"t:{name}").get("author") == told


# Article 30.1 and its examples: the gender of genus names by their endings.
GENDERS = [
    ("ops", "masculine", "30.1.4.3"),
    ("ites", "masculine", "30.1.4.4"),
    ("oides", "masculine", "30.1.4.4"),
    ("odes", "masculine", "30.1.4.4"),
    ("istes", "masculine", "30.1.4.4"),
    ("stoma", "neuter", "30.1.2"),
    ("soma", "neuter", "30.1.2"),
    ("nema", "neuter", "30.1.2"),
    ("trema", "neuter", "30.1.2"),
    ("poma", "neuter", "30.1.2"),
    ("opsis", "feminine", "30.1.2"),
    ("lepis", "feminine", "30.1.2"),
    ("gaster", "feminine", "30.1.2"),
    ("ichthys", "masculine", "30.1.2"),
    ("odon", "masculine", "30.1.2"),
    ("cephalus", "masculine", "30.1.3"),
    ("rhynchus", "masculine", "30.1.3"),
    ("stomus", "masculine", "30.1.3"),
    ("acanthus", "masculine", "30.1.3"),
    ("pterus", "masculine", "30.1.3"),
    ("perca", "feminine", "30.1.1"),
    ("Salmo", "masculine", "30.1.1"),
    ("Umbra", "feminine", "30.1.1"),
]


@pytest.fixture(scope="module")
def genders(desk):
    rows = desk.snapshot.rows(
        """SELECT DISTINCT ?f ?g WHERE {
          ?n a op:ScientificName ; op:gender ?g ; skosxl:literalForm ?f }"""
    )
    return {r["f"]: r["g"] for r in rows}


@pytest.mark.parametrize(("ending", "gender", "article"), GENDERS)
def test_a_genus_has_the_gender_of_its_ending(genders, ending, gender, article):
    held = {g: x for g, x in genders.items() if g.lower().endswith(ending.lower())}
    assert held, f"no genus in the knowledge ends in -{ending}: the check has nothing to check"
    assert {g: x for g, x in held.items() if x != gender} == {}, f"article {article}"


def test_a_genus_name_has_but_one_gender(desk):
    """Article 30: a genus name has one gender."""
    rows = desk.snapshot.rows(
        """SELECT ?f WHERE { ?n a op:ScientificName ; op:gender ?g , ?h ; skosxl:literalForm ?f
        FILTER (STR(?g) < STR(?h)) }"""
    )
    assert rows == []


# Article 31.2: a Latin adjective agrees in gender with the genus; endings that tell.
AGAINST = {
    "masculine": re.compile(r"(?<!ol)(a|um|[^aeiou]e)$"),
    "feminine": re.compile(r"(?<!op)(us|um|[^aeiou]e|er)$"),
    "neuter": re.compile(r"(us|a|er|[^aeo]lis|nsis|bris|tris)$"),
}


def test_adjectives_agree_with_the_gender_of_their_genus(desk):
    rows = desk.snapshot.rows(
        """SELECT DISTINCT ?form ?e ?g WHERE {
          ?use op:kind op:scientific ; op:followed true ; op:name ?n .
          ?n skosxl:literalForm ?form ; op:epithet ?e ; op:genusPart ?genus ; op:partOfSpeech ?p .
          ?m skosxl:literalForm ?genus ; op:gender ?g
          FILTER (?p IN ("adjective", "participle")) }"""
    )
    assert len(rows) > 200
    assert sorted((r["form"], r["g"]) for r in rows if AGAINST[r["g"]].search(r["e"])) == []


# Articles 29.2 and 29.3: stems of type genera, from memory of the Code and of common use.
STEMS = {
    "Perca": "Perc",
    "Morone": "Moron",
    "Centrarchus": "Centrarch",
    "Elassoma": "Elassomat",
    "Salmo": "Salmon",
    "Esox": "Esoc",
    "Cichla": "Cichl",
    "Gadus": "Gad",
    "Lates": "Lat",
    "Mola": "Mol",
    "Beryx": "Beryc",
    "Terapon": "Terapont",
    "Stereolepis": "Stereolepid",
    "Serranus": "Serran",
    "Percopsis": "Percops",
    "Anabas": "Anabant",
    "Hiodon": "Hiodont",
    "Amia": "Ami",
    "Cyprinus": "Cyprin",
}
# Endings of a genus name against those of its stem: (article 29.3.1) the genitive without its case.
ENDINGS = [
    ("opsis", ("ops", "opsid")), ("lepis", ("lepid", "lepidid")), ("odus", ("odont",)),
    ("odon", ("odont",)), ("gon", ("gon",)), ("zon", ("zont",)), ("pros", ("pro",)),
    ("edo", ("edin",)), ("ops", ("op",)), ("oma", ("omat",)), ("pon", ("pont",)),
    ("prion", ("prion",)),
    ("pes", ("ped",)), ("ias", ("i", "iad")), ("as", ("ant", "ad")), ("nx", ("ng",)),
    ("ax", ("ac",)),
    ("ox", ("oc",)), ("yx", ("yc",)), ("rys", ("ry",)), ("hys", ("hy",)), ("tris", ("tr", "trid")),
    ("us", ("",)), ("um", ("",)), ("os", ("",)), ("on", ("",)), ("is", ("", "id")),
    ("es", ("", "e")),
    ("a", ("",)), ("o", ("on",)), ("e", ("",)), ("il", ("il",)), ("er", ("er", "r")),
]  # fmt: skip


def stems(genus):
    ending, put = next(e for e in ENDINGS if genus.endswith(e[0]))
    return {genus[: -len(ending)] + p for p in put}


@pytest.fixture(scope="module")
def types(desk):
    rows = desk.snapshot.rows(
        """SELECT ?family ?type ?how WHERE {
          ?s a op:TypeFixation ; op:about ?t ; op:typeName ?n ; op:fixedBy ?how .
          ?t dwc:taxonRank "family" ; dwc:scientificName ?family . ?n skosxl:literalForm ?type }"""
    )
    return {r["family"]: r["type"] for r in rows}


@pytest.mark.parametrize(("genus", "stem"), sorted(STEMS.items()))
def test_the_family_of_a_type_genus_is_its_stem_with_idae(types, genus, stem):
    assert types.get(f"{stem}idae") == genus


def test_every_family_name_is_idae_upon_a_stem_of_its_type_genus(types):
    wrong = {f: g for f, g in types.items() if f.removesuffix("idae") not in stems(g)}
    assert wrong == {}


def test_every_family_here_has_a_type_genus(desk, types):
    """Article 63: the type of a family is a genus, never a species."""
    rows = desk.snapshot.rows(
        'SELECT ?f WHERE { ?t dwc:taxonRank "family" ; dwc:scientificName ?f } ORDER BY ?f'
    )
    assert [r["f"] for r in rows if r["f"] not in types] == []
    assert [g for g in types.values() if " " in g] == []


def test_the_type_of_a_genus_is_a_nominal_species(desk):
    """Article 67.1: the type of a genus is a nominal species."""
    rows = desk.snapshot.rows(
        """SELECT ?genus ?type WHERE {
          ?s a op:TypeFixation ; op:about ?t ; op:typeName ?n .
          ?t dwc:taxonRank "genus" ; dwc:scientificName ?genus . ?n skosxl:literalForm ?type }"""
    )
    assert len(rows) > 50
    assert [(r["genus"], r["type"]) for r in rows if len(r["type"].split()) < 2] == []


@pytest.mark.parametrize(("rank", "ending"), [("family", "idae"), ("subfamily", "inae")])
def test_names_of_the_family_group_end_as_article_29_2_asks(desk, rank, ending):
    rows = desk.snapshot.rows(
        "SELECT ?r ?f WHERE { ?t dwc:taxonRank ?r ; dwc:scientificName ?f }", r=ox.Literal(rank)
    )
    assert rows
    assert [r["f"] for r in rows if not r["f"].endswith(ending)] == []


def test_no_scientific_name_is_older_than_1758(desk):
    """Article 3: zoological nomenclature starts on 1 January 1758."""
    rows = desk.snapshot.rows("SELECT ?f ?y WHERE { ?n op:year ?y ; skosxl:literalForm ?f }")
    assert len(rows) > 500
    assert [(r["f"], r["y"]) for r in rows if r["y"] < 1758] == []


# Genera named twice, of which the knowledge holds the later author alone: article 52 (homonyms).
# Labrax Pallas, 1810 (greenlings) stands before Labrax Cuvier, 1828 (temperate basses).
NAMED_TWICE = {"Labrax"}


def test_no_species_is_older_than_the_genus_it_was_first_put_in(desk):
    """Article 11.9.3: a species name is published in combination with an available genus name."""
    rows = desk.snapshot.rows(
        """SELECT DISTINCT ?form ?y ?genus ?gy WHERE {
          ?n op:originalGenus ?genus ; op:year ?y ; skosxl:literalForm ?form .
          ?m a op:ScientificName ; skosxl:literalForm ?genus ; op:year ?gy FILTER (?y < ?gy) }"""
    )
    rows = [r for r in rows if r["genus"] not in NAMED_TWICE]
    assert sorted((r["form"], r["y"], r["genus"], r["gy"]) for r in rows) == []


def test_scientific_names_hold_only_the_letters_and_the_capitals_the_code_allows(desk):
    """Articles 27 and 28: no marks on letters, no hyphen (but after one letter), one capital.

    Formulas of hybrids and open names (sp., cf.) are no names under the Code (article 1.3).
    """
    form = re.compile(r"[A-Z][a-z]+( \([A-Z][a-z]+\))?( ([a-z]-)?[a-z]+){0,2}")
    rows = desk.snapshot.rows(
        "SELECT DISTINCT ?f WHERE { ?n a op:ScientificName ; skosxl:literalForm ?f }"
    )
    names = [r["f"] for r in rows if " x " not in r["f"] and " sp." not in r["f"]]
    assert len(names) > 500
    assert [name for name in names if not form.fullmatch(name)] == []


def test_no_two_genera_here_have_one_valid_name(desk):
    """Article 52: of two homonyms one only can be valid."""
    rows = desk.snapshot.rows(
        """SELECT ?f WHERE { ?t dwc:taxonRank "genus" ; dwc:scientificName ?f .
          ?u dwc:taxonRank "genus" ; dwc:scientificName ?f FILTER (STR(?t) < STR(?u)) }"""
    )
    assert rows == []
