"""The HTTP API and linked data asked over HTTP."""

import os
import shutil
import subprocess
import sys

import httpx
import pytest

from opercle.faces.web import negotiate


@pytest.fixture(scope="module")
def base(site):
    return site


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
    "given",
    [
        (404, "/api/name?name=zzqqxx"),
        (404, "/api/nothing"),
        (422, "/api/name"),
        (422, "/api/compare?taxon=bluegill"),
        (422, "/api/name?name=bluegill&year=last"),
        (422, "/api/prove?subject=0&predicate=op:key&object=1"),
        (409, "/api/prove?subject=t:Lepomis&predicate=op:key&object=1 2"),
        (404, "/api/identify?see=nonsense=6"),
        (409, "/api/compare?taxon=bluegill&taxon=bluegill"),
        (404, "/api/waters/w:Nothing/fishes"),
        (404, "/api/sources/a%0Ab/facts"),
        (422, "/api/name?name=%07"),
        (422, "/api/waters?limit=0"),
        (405, "/api/status", "POST"),
        (422, "/api/name?name=" + "x" * 201),
    ],
)
def test_errors_are_problems_with_the_status_that_their_meaning_has(client, given):
    status, path, method = (*given, "GET")[:3]
    reply = client.request(method, path)
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


LISTS = {
    "/api/taxa?rank=family": "name",
    "/api/waters": "label",
    "/api/waters/w:Coosa-River/fishes": "presence",
    "/api/words": "strict",
    "/api/words/word:perch/fishes": "names",
    "/api/sources": "n",
    "/api/sources/src:becker-1983/facts": "says",
    "/api/characters": "trust",
}


@pytest.mark.parametrize("path", LISTS)
def test_a_list_comes_in_parts_that_make_the_whole(client, path):
    join = "&" if "?" in path else "?"
    whole = client.get(f"{path}{join}limit=500").json()
    assert whole["total"] > 3
    assert LISTS[path] in whole["items"][0]
    size = -(-min(whole["total"], 500) // 3)
    reply, parts = client.get(f"{path}{join}limit={size}"), []
    while len(parts) < len(whole["items"]):
        parts += reply.json()["items"]
        following = reply.links.get("next")
        if following is None:
            break
        reply = client.get(str(reply.url.join(following["url"])))
    assert parts[: len(whole["items"])] == whole["items"]
    assert "prev" in reply.links


def test_the_candidates_of_an_identification_come_in_parts(client):
    path = "/api/identify?see=anal-spines=6&within=Centrarchidae"
    whole = client.get(path).json()
    part = client.get(f"{path}&limit=2&offset=1").json()
    assert part["total"] == len(whole["candidates"])
    assert part["candidates"] == whole["candidates"][1:3]


@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated")  # rdflib's own reader
def test_an_answer_is_json_ld_too_with_the_one_context(client):
    import rdflib

    path = "/api/really?name=white perch"
    plain, linked = (client.get(path, headers={"Accept": f"application/{k}json"})
                     for k in ("", "ld+"))  # fmt: skip
    assert linked.headers["content-type"] == "application/ld+json"
    told = linked.json()
    context = told.pop("@context")
    assert told == plain.json()
    assert context in plain.links["http://www.w3.org/ns/json-ld#context"]["url"]
    served = client.get(context)
    assert served.headers["access-control-allow-origin"] == "*"
    graph = rdflib.Graph().parse(
        data=linked.text.replace(f'"{context}"', _inner(served.json())), format="json-ld"
    )
    assert len(graph) > 10


def _inner(context):
    import json

    return json.dumps(context["@context"])


def test_head_gives_the_heads_of_get_and_a_preflight_is_answered(client):
    path = "/api/account/Ambloplites"
    get, head = client.get(path), client.head(path)
    assert head.status_code == 200
    assert head.content == b""
    assert head.headers["etag"] == get.headers["etag"]
    asked = {"Origin": "http://example.org", "Access-Control-Request-Method": "GET"}
    reply = client.options(path, headers=asked)
    assert reply.status_code == 204
    assert reply.headers["access-control-allow-origin"] == "*"


def test_kept_answers_stay_whole_however_they_are_sent(client):
    path = "/api/words"
    plain, packed = ({"Accept-Encoding": how} for how in ("identity", "gzip"))
    texts = {client.get(path, headers=h).text for h in (packed, plain, packed, plain)}
    assert len(texts) == 1


def test_the_description_names_every_answer_and_the_page_of_it_needs_nobody_else(client):
    paths = client.get("/api/openapi.json").json()["paths"]
    told = {p.strip("/").split("/")[0] for p in paths}
    asked = {p.split("/")[2].split("?")[0] for p in [*ASKED, *LISTS]}
    assert told == asked
    assert "://" not in client.get("/api/docs").text


def test_requests_made_up_from_the_description_find_nothing(site):
    """schemathesis (MIT) reads our own OpenAPI and asks what it allows and what it does not."""
    command = shutil.which("schemathesis", path=os.path.dirname(sys.executable))
    if command is None:
        pytest.skip("schemathesis is not installed")
    done = subprocess.run(
        [command, "run", f"{site}/api/openapi.json", "--max-time", "6", "--seed", "5",
         "--no-color", "--warnings", "off"],
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout[-4000:]
    assert " passed" in done.stdout


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
