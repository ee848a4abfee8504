"""RDF written out reads back as what is held. There are no blank nodes, so equality of the sets of
triples is isomorphism (RDF 1.1 Concepts, section 3.6)."""

import json

import pyoxigraph as ox
import pytest
import rdflib
import rdflib.compare

from opercle.exports import context, graph
from opercle.exports import held as facts
from opercle.terms import PREFIXES

# rdflib's own reader of JSON-LD still uses a class that rdflib calls deprecated.
pytestmark = pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated")


def told(path, form):
    return {q.triple for q in ox.parse(path=str(path), format=form)}


@pytest.fixture(scope="module")
def stated(desk):
    """What is held, by the store's own query and not by the code that exports."""
    found = desk.snapshot.raw(
        "SELECT DISTINCT ?s ?p ?o { GRAPH ?g { ?s ?p ?o } "
        "FILTER (STRSTARTS(STR(?g), STR(g:)) && ?g != g:index) }"
    )
    return {ox.Triple(r["s"], r["p"], r["o"]) for r in found}


def test_no_blank_node_is_held(desk):
    assert not desk.snapshot.ask("ASK { ?s ?p ?o FILTER (isBlank(?s) || isBlank(?o)) }")


def test_turtle_reads_back_as_the_stated_facts(know, out, stated):
    answer = know.export("turtle", str(out / "a.ttl"))
    assert answer.outcome == "written"
    assert answer.fields["wrote"]["triples"] == len(stated) > 100_000
    assert told(out / "a.ttl", ox.RdfFormat.TURTLE) == stated


def test_json_ld_reads_back_as_the_stated_facts(know, out, stated):
    know.export("jsonld", str(out / "a.jsonld"))
    assert told(out / "a.jsonld", ox.RdfFormat.JSON_LD) == stated


def test_n_quads_with_inferences_hold_every_triple_in_its_graph(know, desk, out):
    answer = know.export("nquads", str(out / "a.nq"), inferred=True)
    back = ox.Store()
    back.bulk_load(path=str(out / "a.nq"), format=ox.RdfFormat.N_QUADS)
    assert len(back) == answer.fields["wrote"]["quads"] == len(desk.snapshot.store)
    dumps = [store.dump(format=ox.RdfFormat.N_QUADS) for store in (back, desk.snapshot.store)]
    assert set(dumps[0].splitlines()) == set(dumps[1].splitlines())


def test_inferences_are_left_out_unless_asked_for(desk):
    derived = ox.NamedNode(PREFIXES["op"] + "hasAncestor")
    mark = str(derived).encode()
    assert not any(mark == line.split()[1] for line in facts.lines(desk, inferred=False))
    assert any(mark == line.split()[1] for line in facts.lines(desk, inferred=True))


def test_another_reader_of_json_ld_reads_the_same(desk):
    """rdflib's JSON-LD reader beside Oxigraph's, on one genus and everything of its file."""
    name = ox.NamedNode(PREFIXES["g"] + "ontology/taxa/pomoxis.ttl")
    triples = sorted(
        {q.triple for q in desk.snapshot.store.quads_for_pattern(None, None, None, name)}, key=str
    )
    assert len(triples) > 500
    text = "".join(graph.jsonld_lines(triples))
    lines = ox.serialize(triples, format=ox.RdfFormat.N_TRIPLES)
    ours = rdflib.Graph().parse(data=text, format="json-ld")
    theirs = rdflib.Graph().parse(data=lines, format="nt")
    assert rdflib.compare.isomorphic(ours, theirs)


@pytest.mark.parametrize(
    "value",
    [
        ox.Literal("2.20", datatype=ox.NamedNode(PREFIXES["xsd"] + "decimal")),
        ox.Literal("007", datatype=ox.NamedNode(PREFIXES["xsd"] + "integer")),
        ox.Literal("many", datatype=ox.NamedNode(PREFIXES["xsd"] + "integer")),
        ox.Literal("12345678901234567890", datatype=ox.NamedNode(PREFIXES["xsd"] + "integer")),
        ox.Literal("1", datatype=ox.NamedNode(PREFIXES["xsd"] + "boolean")),
        ox.Literal('a "quoted"\nline \\ \u2028 é'),
        ox.Literal("crapet", language="fr"),
        ox.NamedNode("https://elsewhere.example/a?b=c#d"),
        ox.BlankNode("one"),
    ],
)
def test_json_ld_keeps_every_kind_of_value(value):
    about = ox.NamedNode(PREFIXES["op"] + "about")
    triple = ox.Triple(ox.NamedNode(PREFIXES["t"] + "Lepomis"), about, value)
    text = "".join(graph.jsonld_lines([triple]))
    (back,) = ox.parse(text, format=ox.RdfFormat.JSON_LD)
    if isinstance(value, ox.BlankNode):
        assert isinstance(back.object, ox.BlankNode)
    else:
        assert back.triple == triple


def test_the_context_links_every_property_that_only_things_have(desk):
    found = desk.snapshot.raw(
        "SELECT ?p (SUM(IF(isLiteral(?o), 1, 0)) AS ?n) { ?s ?p ?o } GROUP BY ?p"
    )
    links = {
        f"op:{r['p'].value.removeprefix(PREFIXES['op'])}": int(r["n"].value)
        for r in found
        if r["p"].value.startswith(PREFIXES["op"])
    }
    terms = context.document()["@context"]
    assert {p for p, literals in links.items() if not literals} <= set(terms)
    assert not {p for p, literals in links.items() if literals} & context.linking()
    assert all(terms[k] == v or terms[k]["@id"] == v for k, v in PREFIXES.items())


def test_an_answer_is_json_ld_under_the_same_context(know):
    """Read by rdflib: every reason's basis is one of the ontology's three."""
    answer = know.really("white perch").to_dict()
    told = {**context.linked(answer), "@context": context.document()["@context"]}
    read = rdflib.Graph().parse(data=json.dumps(told), format="json-ld")
    op, ours = rdflib.Namespace(PREFIXES["op"]), "https://opercle.example/answer#"
    bases = set(read.objects(None, op.basis))
    assert bases <= {op.read, op.recalled, op.inferred}
    assert bases
    assert list(read.objects(None, rdflib.URIRef(ours + "outcome"))) == [rdflib.Literal("no")]


def test_a_stopped_export_leaves_what_stood_there(know, out):
    """The writer is stopped half way: the file before it is untouched and no other stands."""
    place = out / "kept"
    place.mkdir()
    (place / "opercle.ttl").write_text("# before\n")

    def stop(stage, done, of):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        know.export("turtle", str(place), heard=stop)
    assert [p.name for p in place.iterdir()] == ["opercle.ttl"]
    assert (place / "opercle.ttl").read_text() == "# before\n"


def test_progress_reaches_the_end(know, out):
    seen = []
    know.export("nquads", str(out / "b.nq"), heard=lambda *told: seen.append(told))
    assert [t[1] for t in seen] == sorted(t[1] for t in seen)
    assert seen[-1][1] == seen[-1][2]
    assert len(seen) > 10


def test_a_local_pack_is_written_out_with_the_facts(out, tmp_path, desk):
    """The invented county of the examples."""
    from opercle import Knowledge

    own = Knowledge(["examples/packs/alder-county.ttl"], tell=lambda _: None)
    own.export("nquads", str(tmp_path / "p.nq"))
    back = told(tmp_path / "p.nq", ox.RdfFormat.N_QUADS)
    pack = {q.triple for q in ox.parse(path="examples/packs/alder-county.ttl")}
    assert pack
    assert pack <= back
