"""The rule book: what it refuses, in what words, and that it runs to a fixpoint."""

import pyoxigraph as ox
import pytest

from opercle import assets, rules
from opercle.errors import RuleError
from opercle.terms import PREFIXES

HEAD = """# id: {id}
# stratum: {stratum}
# says: {{t}} is made
# principle: A principle.
"""
KEY = "CONSTRUCT { ?t op:key ?u } WHERE { ?t op:about ?u"
BODY = "CONSTRUCT { ?t op:parentTaxon ?u } WHERE { ?s op:about ?t ; op:within ?u . }"


@pytest.fixture
def write(tmp_path):
    """Write one rule file; the id is the file's name unless the heading is given."""

    def put(body=BODY, name="made", stratum=1, head=None):
        path = tmp_path / f"{name}.rq"
        path.write_text((HEAD if head is None else head).format(id=name, stratum=stratum) + body)
        return str(path)

    return put


def refused(path):
    with pytest.raises(RuleError) as caught:
        rules.read(path)
    assert caught.value.where == path, "the error names the file"
    assert caught.value.remedy, "the error says what to do"
    return caught.value.what


def test_a_sound_rule_is_read_with_its_premises_and_conclusion(write):
    rule = rules.read(write())
    op = PREFIXES["op"]
    assert rule.id == "made"
    assert rule.template == (("?t", f"<{op}parentTaxon>", "?u"),)
    assert set(rule.premises) == {("?s", f"<{op}about>", "?t"), ("?s", f"<{op}within>", "?u")}
    assert rule.denied == ()
    assert rule.kept


@pytest.mark.parametrize("missing", ["id", "stratum", "says", "principle"])
def test_a_rule_without_one_of_its_headings_is_refused(write, missing):
    head = "".join(x for x in HEAD.splitlines(keepends=True) if not x.startswith(f"# {missing}:"))
    assert missing in refused(write(head=head))


def test_a_rule_whose_id_is_not_its_files_name_is_refused(write):
    assert "file's name" in refused(write(head=HEAD.replace("{id}", "other")))


def test_a_rule_whose_stratum_is_no_number_is_refused(write):
    assert "first" in refused(write(stratum="first"))


def test_a_rule_that_is_not_sparql_is_refused(write):
    assert "not valid SPARQL" in refused(write("CONSTRUCT { ?t op:parentTaxon ?u } WHERE { oops"))


def test_a_rule_with_an_unknown_prefix_is_refused(write):
    assert "not valid SPARQL" in refused(write(BODY.replace("op:within", "nope:within")))


def test_a_rule_that_is_a_select_is_refused(write):
    assert "no CONSTRUCT" in refused(write("SELECT ?t WHERE { ?s op:about ?t }"))


def test_a_rule_that_concludes_what_it_does_not_bind_is_refused(write):
    told = refused(write("CONSTRUCT { ?t op:parentTaxon ?u } WHERE { ?s op:about ?t . }"))
    assert "unsafe" in told
    assert "?u" in told


def test_a_variable_bound_only_by_what_is_denied_does_not_make_a_rule_safe(write):
    body = "CONSTRUCT { ?t op:parentTaxon ?u } WHERE { ?s op:about ?t . MINUS { ?s op:within ?u } }"
    assert "unsafe" in refused(write(body))


def test_a_rule_that_says_an_unbound_variable_is_refused(write):
    assert "unbound" in refused(write(head=HEAD.replace("{{t}}", "{{z}}")))


def test_a_rule_without_premises_is_refused(write):
    assert "no premises" in refused(write("CONSTRUCT { ?t op:key ?t } WHERE { BIND (1 AS ?t) }"))


def test_a_rule_with_a_variable_for_a_predicate_is_refused(write):
    assert "predicate" in refused(write("CONSTRUCT { ?t op:about ?u } WHERE { ?t ?p ?u . }"))


@pytest.mark.parametrize(
    "body",
    [
        BODY.replace("op:within", "op:wihtin"),
        BODY.replace("op:parentTaxon", "op:parentTaxno"),
        BODY.replace("?u . }", "?u . MINUS { ?t op:hasOwm ?u } }"),
    ],
)
def test_a_rule_that_names_an_undefined_term_is_refused_with_the_term(write, body):
    told = refused(write(body))
    assert "undefined term op:" in told


@pytest.mark.parametrize(
    ("body", "word"),
    [
        (
            "CONSTRUCT { ?t op:key ?u } WHERE { { ?t op:about ?u } UNION { ?t op:within ?u } }",
            "Union",
        ),
        (
            "CONSTRUCT { ?t op:key ?u } WHERE { ?t op:about ?u OPTIONAL { ?u op:within ?v } }",
            "LeftJoin",
        ),
        (
            KEY + " FILTER EXISTS { ?u op:within ?v } }",
            "EXISTS",
        ),
        (
            KEY + " FILTER NOT EXISTS { ?u op:within ?v } }",
            "EXISTS",
        ),
        (
            KEY + " FILTER (?t != ?u && NOT EXISTS { ?u op:within ?v }) }",
            "EXISTS",
        ),
        (
            "CONSTRUCT { ?t op:key ?u } WHERE { SERVICE <http://example.org/> { ?t op:about ?u } }",
            "Service",
        ),
        ("CONSTRUCT { ?t op:key ?u } WHERE { ?t op:about* ?u }", ""),
    ],
)
def test_a_rule_that_a_proof_could_not_follow_is_refused(write, body, word):
    assert word in refused(write(body))


def test_a_guard_that_could_take_nothing_away_is_refused(write):
    body = "CONSTRUCT { ?t op:key ?u } WHERE { ?t op:within ?u MINUS { ?x op:about ?y } }"
    assert "shares no variable" in refused(write(body))


def test_a_file_that_is_not_text_is_refused_as_a_broken_rule(tmp_path):
    path = tmp_path / "made.rq"
    path.write_bytes(b"\xff\xfe\x00# id: made")
    refused(str(path))


def test_two_rules_of_one_name_are_refused(write, tmp_path):
    first = write()
    (tmp_path / "more").mkdir()
    second = tmp_path / "more" / "made.rq"
    second.write_text((tmp_path / "made.rq").read_text())
    with pytest.raises(RuleError, match="Two rules are called made"):
        rules.read_all([first, str(second)])


def test_a_rule_that_denies_what_its_own_stratum_makes_is_refused(write):
    one = write()
    body = "CONSTRUCT { ?t op:key ?u } WHERE { ?t op:about ?u MINUS { ?t op:parentTaxon ?u } }"
    two = write(body, name="denies")
    with pytest.raises(RuleError, match=r"not stratified: denies .* denies what made"):
        rules.read_all([one, two])


def test_a_rule_that_rests_on_what_a_later_stratum_makes_is_refused(write):
    one = write(stratum=2)
    two = write("CONSTRUCT { ?t op:key ?u } WHERE { ?t op:parentTaxon ?u }", name="rests")
    with pytest.raises(RuleError, match=r"not stratified: rests .* rests on what made"):
        rules.read_all([one, two])


def test_a_rule_that_denies_itself_is_refused(write):
    body = "CONSTRUCT { ?t op:key ?u } WHERE { ?t op:about ?u MINUS { ?u op:key ?t } }"
    with pytest.raises(RuleError, match="not stratified"):
        rules.read_all([write(body)])


def test_every_rule_of_the_knowledge_reads():
    book = rules.read_all()
    assert len(book) == len(assets.files("ontology/rules", ".rq"))
    assert [rule.stratum for rule in book] == sorted(rule.stratum for rule in book)


def test_every_rule_names_a_principle_and_tells_its_guards():
    silent = [r.id for r in rules.read_all() if r.denied and not r.unless]
    assert silent == []
    assert [r.id for r in rules.read_all() if not r.principle.endswith(".")] == []


def chain(length):
    """A store with a chain of parents, each stated."""
    store, op, t = ox.Store(), PREFIXES["op"], PREFIXES["t"]
    graph = ox.NamedNode(PREFIXES["g"] + "given.ttl")
    for i in range(length):
        pair = (
            ox.NamedNode(f"{t}a{i}"),
            ox.NamedNode(op + "parentTaxon"),
            ox.NamedNode(f"{t}a{i + 1}"),
        )
        store.add(ox.Quad(*pair, graph))
    return store


def lineage():
    return [r for r in rules.read_all() if r.id in ("lineage-step", "lineage-up")]


def test_running_goes_on_until_nothing_new_follows():
    store = chain(12)
    made = rules.run(store, lineage())
    assert sum(made.values()) == 12 * 13 // 2
    assert made["lineage-step"] == 12


def test_running_again_makes_nothing_more():
    store = chain(12)
    rules.run(store, lineage())
    before = len(store)
    assert set(rules.run(store, lineage()).values()) == {0}
    assert len(store) == before


def test_a_ring_of_parents_comes_to_an_end():
    store = chain(3)
    t = PREFIXES["t"]
    store.add(
        ox.Quad(
            ox.NamedNode(f"{t}a3"),
            ox.NamedNode(PREFIXES["op"] + "parentTaxon"),
            ox.NamedNode(f"{t}a0"),
            ox.NamedNode(PREFIXES["g"] + "given.ttl"),
        )
    )
    assert sum(rules.run(store, lineage()).values()) == 16


def test_what_a_rule_makes_lies_in_the_rules_own_graph_and_what_is_stated_is_not_made_again():
    store = chain(2)
    t, op = PREFIXES["t"], PREFIXES["op"]
    known = (ox.NamedNode(f"{t}a0"), ox.NamedNode(f"{op}hasAncestor"), ox.NamedNode(f"{t}a1"))
    store.add(ox.Quad(*known, ox.NamedNode(PREFIXES["g"] + "given.ttl")))
    rules.run(store, lineage())
    assert [q.graph_name.value for q in store.quads_for_pattern(*known)] == [
        PREFIXES["g"] + "given.ttl"
    ]
    graphs = {g.value for g in store.named_graphs()} - {PREFIXES["g"] + "given.ttl"}
    assert graphs == {PREFIXES["r"] + "lineage-step", PREFIXES["r"] + "lineage-up"}


def test_a_rule_not_kept_is_not_run():
    store = chain(3)
    assert rules.run(store, [r._replace(kept=False) for r in lineage()]) == {}
    assert len(store) == 3
