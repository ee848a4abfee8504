"""The HTTP API and linked data asked over HTTP."""

import httpx
import pytest

from opercle.faces.web import negotiate
from tests.browser.server import serving


@pytest.fixture(scope="module")
def base(know):
    with serving(know) as address:
        yield address


@pytest.fixture
def client(base):
    with httpx.Client(base_url=base, timeout=60) as one:
        yield one


ASKED = {
    "/api/name?name=redeye bass&water=Coosa": "settled",
    "/api/really?name=white perch": "no",
    "/api/why?taxon=white perch&not=Percidae": "supported",
    "/api/account/Ambloplites rupestris": "found",
    "/api/compare?taxon=black crappie&taxon=white crappie": "compared",
    "/api/identify?see=anal-spines=6&within=Centrarchidae": "open",
    "/api/key/Ambloplites": "made",
    "/api/prove?subject=t:Lepomis&predicate=op:inFamily&object=t:Centrarchidae": "derived",
    "/api/status": "ready",
}


@pytest.mark.parametrize("path", ASKED)
def test_each_answer_of_the_contract_comes_as_json(client, path):
    reply = client.get(path)
    assert reply.status_code == 200, reply.text
    told = reply.json()
    assert told["outcome"] == ASKED[path]
    assert {"question", "outcome", "answer", "because", "cautions"} <= set(told)


def test_the_api_gives_what_the_one_door_gives(client, know):
    told = client.get("/api/why", params={"taxon": "white perch", "not": "Percidae"}).json()
    assert told == know.why("white perch", rather_than="Percidae").to_dict()


@pytest.mark.parametrize(
    ("status", "path"),
    [
        (404, "/api/name?name=zzqqxx"),
        (404, "/api/nothing"),
        (422, "/api/name"),
        (422, "/api/compare?taxon=bluegill"),
        (422, "/api/name?name=bluegill&year=last"),
        (422, "/api/prove?subject=0&predicate=op:key&object=1"),
        (400, "/api/prove?subject=t:Lepomis&predicate=op:key&object=1 2"),
        (404, "/api/identify?see=nonsense=6"),
        (400, "/api/compare?taxon=bluegill&taxon=bluegill"),
        (422, "/api/name?name=" + "x" * 201),
    ],
)
def test_errors_are_problems_with_the_status_that_their_meaning_has(client, status, path):
    reply = client.get(path)
    assert reply.status_code == status
    assert reply.headers["content-type"] == "application/problem+json"
    assert reply.json()["status"] == status
    assert reply.json()["title"]


def test_a_fault_of_the_server_is_a_problem_too_and_the_next_is_answered(client, know, monkeypatch):
    monkeypatch.setattr(type(know), "really", lambda self, name, word=None: 1 // 0)
    for path in ("/api/really?name=faulty", "/answer/really?name=faulty"):
        reply = client.get(path)
        assert reply.status_code == 500
        assert "ZeroDivision" not in reply.text
        assert client.get("/health").status_code == 200
    assert client.get("/api/really?name=faulty").json()["status"] == 500


def test_an_unknown_name_offers_the_nearest_spellings(client):
    reply = client.get("/api/account/rock basement")
    assert reply.status_code == 404
    assert reply.json()["nearest"]


def test_an_answer_is_304_to_who_holds_it_and_open_to_other_origins(client):
    path = "/api/really?name=white perch"
    first = client.get(path, headers={"Origin": "http://example.org"})
    assert first.headers["access-control-allow-origin"] == "*"
    again = client.get(path, headers={"If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_the_description_names_every_answer_and_the_page_of_it_needs_nobody_else(client):
    paths = client.get("/api/openapi.json").json()["paths"]
    assert {p.strip("/").split("/")[0] for p in paths} == {
        p.split("/")[2].split("?")[0] for p in ASKED
    }
    assert "://" not in client.get("/api/docs").text


THINGS = {
    "/taxon/Ambloplites-rupestris": "Rock bass",
    "/taxon/Centrarchidae": "Centrarchidae",
    "/name/white-perch": "white perch",
    "/water/Coosa-River": "Coosa River",
    "/place/US-AL": "Alabama",
    "/character/anal-spines": "Anal spines",
    "/source/becker-1983": "Fishes of Wisconsin",
    "/statement/Ambloplites-rupestris_placement": "is placed in Ambloplites",
    "/word/perch": "strictly",
    "/cite/ned-bass_sense-1": "basis",
}


@pytest.mark.parametrize("path", THINGS)
@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated")  # rdflib's own reader
def test_the_address_of_each_thing_answers_as_page_turtle_and_json_ld(client, path):
    import rdflib

    page = client.get(path, headers={"Accept": "text/html"})
    assert page.status_code == 200
    assert THINGS[path].lower() in page.text.lower()
    subject = rdflib.URIRef("https://opercle.example" + path)
    graphs = []
    for media in ("text/turtle", "application/ld+json"):
        reply = client.get(path, headers={"Accept": media})
        assert reply.headers["content-type"].startswith(media)
        assert reply.headers["vary"].split(",")[0] == "Accept"
        graphs.append(rdflib.Graph().parse(data=reply.text, format=media))
    assert (subject, None, None) in graphs[0]
    assert len(graphs[0]) == len(graphs[1])


def test_what_is_not_known_has_no_address_and_what_is_not_offered_is_406(client):
    assert client.get("/taxon/Nothing-such").status_code == 404
    assert client.get("/taxon/Lepomis", headers={"Accept": "image/png"}).status_code == 406
    tag = client.get("/taxon/Lepomis").headers["etag"]
    assert client.get("/taxon/Lepomis", headers={"If-None-Match": tag}).status_code == 304


# RFC 9110, section 12.5.1: the most specific range counts; q=0 refuses.
@pytest.mark.parametrize(
    ("header", "chosen"),
    [
        (None, "text/html"),
        ("text/*", "text/html"),
        ("text/*;q=0.3, text/html;q=0.1, text/turtle;q=0.5", "text/turtle"),
        ("application/ld+json", "application/ld+json"),
        ("text/html;q=0, */*", "text/turtle"),
        ("image/png", None),
        ("text/turtle;q=high", None),
    ],
)
def test_the_best_liked_form_is_chosen(header, chosen):
    offered = ("text/html", "text/turtle", "application/ld+json")
    assert negotiate.choose(header, offered) == chosen
