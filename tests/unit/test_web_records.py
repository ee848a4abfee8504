"""A file of records over HTTP: taken in, settled, taken away, and gone."""

import csv
import gzip
import io
import os
import time

import httpx
import pytest

from opercle.faces.web import visits
from tests.browser.server import SMALL

HERE = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
LOG = os.path.join(HERE, "examples", "records", "river-log.csv")
FEW = b"fish,water\nbluegill,Coosa River\nrock bass,Lake Erie\nzzqqxx,Lake Erie\n"


@pytest.fixture
def client(site):
    with httpx.Client(base_url=site, timeout=60) as one:
        yield one


def sent(client, data=FEW, name="log.csv", **fields):
    """The address of the visit after a file was dropped."""
    reply = client.post("/records", files={"file": (name, data)}, data=fields)
    assert reply.status_code == 303, reply.text
    return reply.headers["location"]


def ended(client, place, seconds=40):
    """The state of a visit when it is no longer under way."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        told = client.get(f"{place}/state").json()
        if told["how"] not in ("waiting", "running"):
            return told["how"]
        time.sleep(0.1)
    raise AssertionError("the file was not settled in time")


def files(client, place):
    """The files that can be taken away, by name."""
    found = {}
    for number in range(20):
        reply = client.get(f"{place}/{number}")
        if reply.status_code == 404:
            break
        name = reply.headers["content-disposition"].split('filename="')[1].rstrip('"')
        found[name] = reply
    return found


def test_a_file_is_settled_as_the_command_settles_it_and_can_be_taken_away(client, know, tmp_path):
    path = tmp_path / "river-log.csv"
    with open(LOG, "rb") as file:
        path.write_bytes(b"".join(file.readlines()[:60]))
    place = sent(client, path.read_bytes(), "river-log.csv")
    assert ended(client, place) == "done"
    made = files(client, place)
    know.settle([str(path)], str(tmp_path))
    with open(tmp_path / "river-log-settled.csv", "rb") as file:
        assert made["records-settled.csv"].content == file.read()
    summary = made["summary.html"]
    assert summary.headers["content-disposition"].startswith("inline")
    assert "default-src 'none'" in summary.headers["content-security-policy"]
    page = client.get(place).text
    assert "rows: " in page
    assert "records-rejects.csv" in page
    assert os.path.dirname(tempfile_root()) not in page
    client.post(f"{place}/end")


def tempfile_root():
    import tempfile

    return os.path.join(tempfile.gettempdir(), "x")


def test_the_upload_is_deleted_when_settled_and_the_rest_when_the_visitor_says_so(client, know):
    place = sent(client)
    ended(client, place)
    folder = _folder(place)
    until = time.monotonic() + 5
    while os.path.exists(os.path.join(folder, visits.UPLOAD)) and time.monotonic() < until:
        time.sleep(0.05)
    assert not os.path.exists(os.path.join(folder, visits.UPLOAD))
    assert client.post(f"{place}/end").status_code == 200
    assert not os.path.exists(folder)
    assert client.get(place).status_code == 404


def _folder(place):
    import glob
    import tempfile

    token = place.rsplit("/", 1)[1]
    found = glob.glob(os.path.join(tempfile.gettempdir(), "opercle-visits-*", token))
    assert len(found) == 1
    return found[0]


def test_results_that_nobody_looks_at_are_deleted(tmp_path):
    held = visits.Visits(str(tmp_path), bounds=visits.Bounds(kept=2))
    visit = held.begin("one")
    other = held.begin("two")
    visit.tell({"how": visits.DONE})
    os.utime(visit.folder, (0, 0))
    held.swept()
    held.close()
    assert not os.path.exists(visit.folder)
    assert os.path.exists(other.folder)


def test_the_kind_of_table_is_the_visitors_choice(client):
    place = sent(client, to="dwca")
    assert ended(client, place) == "done"
    assert files(client, place)["records-dwca.zip"].content[:4] == b"PK\x03\x04"
    client.post(f"{place}/end")


def test_a_heading_that_is_not_understood_can_be_named(client):
    data = FEW.replace(b"fish,", b"zz9,")
    place = sent(client, data, **{"column-name": "zz9"})
    assert ended(client, place) == "done"
    rows = list(csv.DictReader(io.StringIO(files(client, place)["records-settled.csv"].text)))
    assert [r["outcome"] for r in rows] == ["settled", "settled", "unknown"]
    client.post(f"{place}/end")
    place = sent(client, data)
    assert ended(client, place) == "failed"
    page = client.get(place).text
    assert "not settled" in page
    assert "Traceback" not in page
    client.post(f"{place}/end")


def test_names_of_files_and_fields_never_reach_the_disk(client):
    place = sent(client, name="../../../tmp/evil.csv")
    folder = _folder(place)
    assert ended(client, place) == "done", client.get(place).text
    assert set(os.listdir(folder)) <= {"asked.json", "out", "state.json", visits.UPLOAD}
    assert "records-settled.csv" in os.listdir(os.path.join(folder, "out"))
    client.post(f"{place}/end")
    for path in ("..", "%2e%2e", "asked.json", "%2e%2e%2f/0", "turn-0", "none/0"):
        reply = client.get(f"/records/{path}", follow_redirects=True)
        assert (reply.status_code, reply.url.path) in ((404, reply.url.path), (200, "/"))


def test_a_file_past_its_size_or_rows_is_refused_and_nothing_of_it_stays(client):
    large = client.post("/records", files={"file": ("a.csv", b"x" * (SMALL.size + 2_000_000))})
    assert large.status_code == 413
    assert "larger than" in large.text
    bomb = gzip.compress(b"fish,water\n" + b"bluegill,Coosa River\n" * 2_000_000)
    assert len(bomb) < SMALL.size
    place = sent(client, bomb, "bomb.csv.gz")
    assert ended(client, place) == "failed"
    assert f"more than {SMALL.rows:,} rows" in client.get(place).text
    client.post(f"{place}/end")


def test_a_size_that_is_not_told_beforehand_is_counted(site):
    def body():
        yield b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.csv"\r\n\r\n'
        for _ in range(SMALL.size // 500_000 + 4):
            yield b"y" * 500_000
        yield b"\r\n--x--\r\n"

    head = {"Content-Type": "multipart/form-data; boundary=x"}
    reply = httpx.post(f"{site}/records", content=body(), headers=head, timeout=30)
    assert reply.status_code == 413


@pytest.mark.parametrize(
    ("status", "given"),
    [
        (400, {"files": {"file": ("a.csv", b"")}}),
        (400, {"data": {"to": "csv"}}),
        (400, {"content": b"nonsense", "headers": {"Content-Type": "multipart/form-data"}}),
        (403, {"files": {"file": ("a.csv", FEW)}, "headers": {"Origin": "http://example.org"}}),
        (403, {"files": {"file": ("a.csv", FEW)}, "headers": {"Sec-Fetch-Site": "cross-site"}}),
    ],
)
def test_what_is_no_file_is_told_and_another_site_may_send_none(client, status, given):
    reply = client.post("/records", **given)
    assert reply.status_code == status
    assert "not taken" in reply.text


def test_one_client_may_not_hold_more_than_its_share(client):
    places = [sent(client) for _ in range(SMALL.of_client)]
    assert client.post("/records", files={"file": ("a.csv", FEW)}).status_code == 503
    for place in places:
        client.post(f"{place}/end")
    client.post(f"{sent(client)}/end")


def test_a_file_that_takes_too_long_is_ended_and_told(tmp_path):
    held = visits.Visits(str(tmp_path), bounds=visits.Bounds(seconds=1))
    visit = held.begin("one")
    with open(visit.path(visits.UPLOAD), "wb") as file:
        file.write(b"fish,water\n" + b"bluegill,Coosa River\nwalleye,Lake Erie\n" * 100_000)
    held.settle(visit, "one", {})
    until = time.monotonic() + 20
    while visit.state()["how"] in ("waiting", "running") and time.monotonic() < until:
        time.sleep(0.1)
    told = visit.state()
    held.close()
    assert told["how"] == "failed"
    assert "longer than 1 seconds" in told["says"]


def test_what_a_killed_server_left_is_cleared_after_a_day(tmp_path, monkeypatch):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    for name in ("opercle-visits-old", "opercle-visits-new", "other-old"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "records").write_text("x")
        if name.endswith("old"):
            os.utime(tmp_path / name, (0, 0))
    visits.cleared()
    assert sorted(os.listdir(tmp_path)) == ["opercle-visits-new", "other-old"]
