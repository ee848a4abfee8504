"""Plain questions, and the pages as HTML."""

import httpx
import pytest

from opercle.errors import UsageError
from opercle.faces.web import app, asked

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
    "why is a walleye not a pike?": ("why", {"taxon": "walleye", "not": "pike"}),
    "what is a redeye in Wisconsin?": ("name", {"name": "redeye", "where": "Wisconsin"}),
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
def base(site):
    return site


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
    "/ask?q=what is a redeye in Wisconsin?": "You asked “what is a redeye in Wisconsin?”",
    "/records": "Every row comes back",
    "/word/perch": "/picture/fish.svg?of=Perca+flavescens&amp;bare=1",
    "/water/Coosa-River": "Map of Coosa River",
    "/answer/really?name=rock bass": "of=Ambloplites+rupestris&amp;beside=Moronidae",
    "/taxon/Ambloplites-rupestris": "/picture/map.svg?of=Ambloplites+rupestris",
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
        (400, "/picture/fish.svg"),
        (404, "/picture/water/Nothing-such.svg"),
        (400, "/picture/proof.svg?subject=t:Lepomis"),
        (400, "/query?as=csv&query=SELECT nothing"),
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


@pytest.mark.parametrize(
    ("question", "kept"),
    [
        ("what is a redeye in Wisconsin", "state=Wisconsin"),
        ("what is a redeye in the Wisconsin", "water=Wisconsin"),
        ("what is a redeye in the Coosa", "water=Coosa"),
    ],
)
def test_a_state_and_the_river_of_its_name_are_kept_apart(client, question, kept):
    answer = client.get("/ask", params={"q": question}, follow_redirects=False)
    assert answer.status_code == 303
    assert kept in answer.headers["location"]


def test_suggestions_say_what_each_name_could_mean(client):
    found = client.get("/suggest?q=rock b").json()
    assert {"rock bass"} <= {s["name"] for s in found}
    assert all(s["means"] for s in found)
    assert client.get("/suggest?q=r").json() == []


@pytest.mark.parametrize(
    "path",
    [
        "/picture/fish/Ambloplites-rupestris.svg",
        "/picture/fish.svg?of=walleye&beside=Esocidae",
        "/picture/fish.svg?of=walleye&bare=1",
        "/picture/tree.svg?of=Ambloplites",
        "/picture/map.svg?of=walleye",
        "/picture/water/Coosa-River.svg",
        "/picture/proof.svg?subject=t:Lepomis&predicate=op:inFamily&object=t:Centrarchidae",
    ],
)
def test_a_drawing_is_svg_that_may_load_nothing_and_is_kept_with_its_tag(client, path):
    import xml.etree.ElementTree as ET

    reply = client.get(path)
    assert reply.headers["content-type"] == "image/svg+xml"
    assert reply.headers["content-security-policy"] == "default-src 'none'; sandbox"
    tree = ET.fromstring(reply.text)
    assert not [e for e in tree.iter() if e.tag.endswith("}script") or "style" in e.attrib]
    again = client.get(path, headers={"If-None-Match": reply.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_the_home_page_tells_what_is_held_once_it_is_counted(client):
    import time

    until = time.monotonic() + 20
    while "statements" not in client.get("/").text and time.monotonic() < until:
        time.sleep(0.1)
    assert "statements" in client.get("/").text


def test_health_names_the_snapshot(client, know):
    assert "The server answers" in client.get("/health", headers={"Accept": "text/html"}).text
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


def test_the_editor_is_one_small_file_with_the_licence_of_each_of_its_packages():
    import json
    import os

    root = os.path.join(os.path.dirname(app.__file__))
    with open(os.path.join(root, "static", "editor.js"), encoding="utf-8") as file:
        bundle = file.read()
    with open(os.path.join(root, "static", "editor-licences.txt"), encoding="utf-8") as file:
        told = file.read()
    with open(os.path.join(root, "editor", "package.json"), encoding="utf-8") as file:
        pinned = json.load(file)["devDependencies"]
    assert len(bundle.encode()) < 500_000
    assert "eval(" not in bundle
    for name, version in pinned.items():
        assert name == "esbuild" or f"{name} {version}: MIT" in told
    assert told.count("Permission is hereby granted") == told.count("=" * 78)
