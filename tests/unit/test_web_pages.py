"""Plain questions, and the pages as HTML."""

import httpx
import pytest

from opercle.errors import UsageError
from opercle.faces.web import app, asked
from tests.browser.server import serving

READ = {
    "is a rock bass really a bass": ("really", {"name": "rock bass", "word": "bass"}),
    "Is the rock bass a bass?": ("really", {"name": "rock bass", "word": "bass"}),
    "are crappies really bass": ("really", {"name": "crappies", "word": "bass"}),
    "why is a white perch not a perch": ("why", {"taxon": "white perch", "not": "perch"}),
    "why isn't a rock bass a bass": ("why", {"taxon": "rock bass", "not": "bass"}),
    "why is a white perch in Moronidae and not in Percidae": (
        "why",
        {"taxon": "white perch", "not": "Percidae"},
    ),
    "what is a redeye bass in the Coosa": ("name", {"name": "redeye bass", "where": "Coosa"}),
    "what is a redeye bass in the Coosa in 1990": (
        "name",
        {"name": "redeye bass", "where": "Coosa", "year": "1990"},
    ),
    "what does goggle-eye mean in Virginia": ("name", {"name": "goggle-eye", "where": "Virginia"}),
    "rock bass": ("name", {"name": "rock bass"}),
    "rock bass in 1905": ("name", {"name": "rock bass", "year": "1905"}),
    "black crappie or white crappie": ("compare", {"a": "black crappie", "b": "white crappie"}),
    "how do I tell a rock bass from a warmouth": ("compare", {"a": "rock bass", "b": "warmouth"}),
    "key to Lepomis in Lake Erie": ("key", {"taxon": "Lepomis", "water": "Lake Erie"}),
    "which fishes live in the Coosa": ("water", {"water": "Coosa"}),
}


@pytest.mark.parametrize("sentence", READ)
def test_a_plain_question_is_read(sentence):
    found = asked.read(sentence)
    assert found is not None
    assert (found.kind, found.parts) == READ[sentence]


@pytest.mark.parametrize("sentence", ["why do fish swim", "how big was the biggest", "who are you"])
def test_a_question_of_no_known_form_is_not_guessed_at(sentence):
    assert asked.read(sentence) is None


@pytest.fixture(scope="module")
def base(know):
    with serving(know) as address:
        yield address


@pytest.fixture
def client(base):
    with httpx.Client(base_url=base, timeout=60, follow_redirects=True) as one:
        yield one


PAGES = {
    "/": "What is this fish, really?",
    "/ask?q=is a rock bass really a bass": "Is “rock bass” really what the word “bass” means?",
    "/ask?q=why is a white perch not a perch": "not with “perch”",
    "/ask?q=redeye bass in the Coosa": "Micropterus coosae",
    "/ask?q=why do fish swim": "Not understood",
    "/account": "Centrarchidae",
    "/account?taxon=bluegill": "Lepomis macrochirus",
    "/compare": "Name two fishes",
    "/compare?taxon=black crappie&taxon=white crappie": "What tells them apart",
    "/key?taxon=Ambloplites": "Key to Ambloplites",
    "/identify": "Say where the fish was caught",
    "/identify?go=1&within=Ambloplites": "4 left",
    "/waters": "Coosa River",
    "/waters?water=Coosa River": "Fishes, by family",
    "/words": "perch",
    "/sources": "all that rests on it",
    "/characters": "Colour never decides",
    "/query": "Which fishes are native to the Coosa River?",
    "/query?query=ASK {}": "true",
    "/prove?subject=t:Lepomis&predicate=op:inFamily&object=t:Centrarchidae": "rule in-family",
    "/api/docs": "GET /api/name",
}


@pytest.mark.parametrize("path", PAGES)
def test_each_page_is_there_and_keeps_to_its_policy(client, path):
    reply = client.get(path)
    assert reply.status_code == 200
    assert PAGES[path] in reply.text.replace("\u2060", "")
    policy = reply.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert reply.headers["x-content-type-options"] == "nosniff"
    assert " style=" not in reply.text
    assert "<style" not in reply.text
    assert reply.text.count("<script") == reply.text.count('<script src="/static/')


def test_an_answer_shows_its_reasons_each_with_source_or_proof(client):
    text = client.get("/answer/why?taxon=white perch&not=Percidae").text
    assert "<summary>How this follows</summary>" in text
    assert "Take care" in text
    assert "rule counts-above" in text


@pytest.mark.parametrize(
    "path", ["/answer/name?name=", "/ask?q=", "/waters?water=", "/compare?taxon="]
)
def test_what_a_visitor_writes_is_shown_as_text_only(client, path):
    reply = client.get(path + "<script>alert(1)</script>\"'><img src=x>")
    assert "<script>alert" not in reply.text
    assert "<img src=x" not in reply.text


@pytest.mark.parametrize(
    ("status", "path"),
    [
        (404, "/nowhere"),
        (404, "/answer/name?name=zzqqxx"),
        (404, "/water/Nothing"),
        (404, "/picture/fish/Nothing.svg"),
        (400, "/answer/name"),
        (400, "/picture/scale/Lepomis.svg"),
        (400, "/identify?go=1&ask=anal-spines&value=many"),
        (400, "/query?query=SELECT nothing"),
        (404, "/static/../app.py"),
        (404, "/static/%2e%2e/app.py"),
    ],
)
def test_an_error_is_a_page_with_its_status(client, status, path):
    reply = client.get(path)
    assert reply.status_code == status
    assert "Traceback" not in reply.text


def test_suggestions_say_what_each_name_could_mean(client):
    found = client.get("/suggest?q=rock b").json()
    assert {"rock bass"} <= {s["name"] for s in found}
    assert all(s["means"] for s in found)
    assert client.get("/suggest?q=r").json() == []


def test_a_drawing_is_svg_that_may_load_nothing(client):
    reply = client.get("/picture/fish/Ambloplites-rupestris.svg")
    assert reply.headers["content-type"] == "image/svg+xml"
    assert reply.headers["content-security-policy"].startswith("default-src 'none'")
    assert "<script" not in reply.text


def test_health_names_the_snapshot(client, know):
    told = client.get("/health").json()
    assert told["status"] == "ready"
    assert told["snapshot"] == know.status().fields["snapshot"]


def test_every_link_of_the_home_page_leads_somewhere(client):
    import re

    text = client.get("/").text
    links = set(re.findall(r'(?:href|src)="(/[^"#]*)"', text))
    assert len(links) > 15
    for link in links:
        assert client.get(link.replace("&amp;", "&")).status_code == 200, link


@pytest.mark.parametrize(("port", "workers"), [(-1, 1), (70000, 1), (8000, 0)])
def test_a_port_or_number_that_cannot_be_is_told(port, workers):
    with pytest.raises(UsageError):
        app.serve("127.0.0.1", port, workers, [])
