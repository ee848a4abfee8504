"""Compiling: once, safely beside others, and never from damaged files without a word."""

import os
import shutil
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from opercle import assets, build
from opercle.errors import FileError, OpercleError, RuleError
from opercle.terms import PREFIXES

PERCH = """@prefix op: <https://opercle.example/ns#> .
@prefix t: <https://opercle.example/taxon/> .
@prefix n: <https://opercle.example/name/> .
@prefix s: <https://opercle.example/statement/> .
@prefix dwc: <http://rs.tdwg.org/dwc/terms/> .
@prefix skosxl: <http://www.w3.org/2008/05/skos-xl#> .
t:Perca a dwc:Taxon ; dwc:taxonRank "genus" .
n:perch a op:CommonName ; skosxl:literalForm "perch"@en .
s:perch a op:NameUse ; op:name n:perch ; op:means t:Perca ; op:kind op:group .
"""
RUN = """import sys
from opercle import assets, build
assets.folder = lambda name: f"{sys.argv[1]}/{name}"
snapshot = build.open_snapshot(tell=print)
print(snapshot.place, snapshot.ask("ASK { t:Perca op:atOrUnder t:Perca }"))
"""


@pytest.fixture
def house(tmp_path, monkeypatch):
    """A small knowledge of its own with the real rules, and an empty cache folder."""
    ontology = tmp_path / "house" / "ontology"
    (ontology / "taxa").mkdir(parents=True)
    (ontology / "taxa" / "perch.ttl").write_text(PERCH)
    shutil.copytree(assets.folder("ontology") + "/rules", ontology / "rules")
    monkeypatch.setattr(assets, "folder", lambda name: str(tmp_path / "house" / name))
    monkeypatch.setenv("OPERCLE_CACHE", str(tmp_path / "cache"))
    return ontology


@pytest.fixture
def told():
    return []


def opened(told, **options):
    return build.open_snapshot(tell=told.append, **options)


def snapshots(tmp_path):
    return sorted(p.name for p in (tmp_path / "cache").iterdir() if len(p.name) == 32)


def test_the_knowledge_is_compiled_once_and_then_only_opened(house, told):
    first = opened(told)
    assert len(told) == 1
    assert "compiling" in told[0]
    second = opened(told)
    assert len(told) == 1
    assert second.place == first.place
    assert second.ask("ASK { t:Perca op:atOrUnder t:Perca }")


def test_a_change_of_content_makes_a_new_snapshot(house, told, tmp_path):
    first = opened(told)
    (house / "taxa" / "perch.ttl").write_text(PERCH.replace('"perch"', '"true perch"'))
    second = opened(told)
    assert second.place != first.place
    assert build.listed(second, "keys") == ["true perch"]


def test_a_change_of_a_rule_makes_a_new_snapshot(house, told):
    first = opened(told)
    (house / "rules" / "under-itself.rq").unlink()
    second = opened(told)
    assert second.place != first.place
    assert not second.ask("ASK { t:Perca op:atOrUnder t:Perca }")


def test_files_touched_but_not_changed_are_not_compiled_again(house, told):
    first = opened(told)
    os.utime(house / "taxa" / "perch.ttl", (1, 1))
    assert opened(told).place == first.place
    assert len(told) == 1


def test_nothing_half_done_is_left_in_the_cache(house, told, tmp_path):
    opened(told)
    assert [p.name for p in (tmp_path / "cache").iterdir() if p.name.startswith("building")] == []


def test_two_processes_that_compile_at_once_both_answer(house, tmp_path):
    env = {**os.environ, "OPERCLE_CACHE": str(tmp_path / "cache")}
    command = [sys.executable, "-c", RUN, str(tmp_path / "house")]
    running = [
        subprocess.Popen(
            command, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        for _ in range(2)
    ]
    done = [process.communicate(timeout=60) for process in running]
    assert [process.returncode for process in running] == [0, 0]
    assert [err for _, err in done] == ["", ""]
    assert [out.split()[-1] for out, _ in done] == ["True", "True"]
    assert len(snapshots(tmp_path)) == 1
    left = [p.name for p in (tmp_path / "cache").iterdir()]
    assert [n for n in left if "building" in n or "damaged" in n] == []


def test_many_threads_that_compile_at_once_leave_one_sound_snapshot(house, tmp_path):
    found, errors = [], []

    def compile_one():
        try:
            found.append(build.open_snapshot(tell=lambda _: None))
        except Exception as error:
            errors.append(error)

    threads = [threading.Thread(target=compile_one) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    assert all(s.ask("ASK { t:Perca op:atOrUnder t:Perca }") for s in found)
    assert len(snapshots(tmp_path)) == 1


def emptied(place):
    shutil.rmtree(place / "store")
    (place / "store").mkdir()


def cut(place):
    for file in (place / "store").iterdir():
        if file.is_file():
            file.write_bytes(file.read_bytes()[: file.stat().st_size // 3])


def without_store(place):
    shutil.rmtree(place / "store")


def without_facts(place):
    (place / "facts.json").unlink()


def broken_facts(place):
    (place / "facts.json").write_text('{"version": ')


@pytest.mark.parametrize("harm", [emptied, cut, without_store, without_facts, broken_facts])
def test_a_damaged_snapshot_is_compiled_again_with_a_word_of_notice(house, told, harm):
    place = Path(opened(told).place)
    harm(place)
    told.clear()
    again = opened(told)
    assert "damaged" in told[0]
    assert again.ask("ASK { t:Perca op:atOrUnder t:Perca }")
    told.clear()
    assert opened(told).place == str(place)
    assert told == []


@pytest.mark.parametrize("name", ["rules", "keys"])
def test_a_damaged_look_up_list_is_told_with_its_place_and_remedy(house, told, name):
    snapshot = opened(told)
    (Path(snapshot.place) / f"{name}.json").write_text("[")
    with pytest.raises(OpercleError) as caught:
        build.listed(opened(told), name)
    assert caught.value.where == snapshot.place
    assert caught.value.remedy


def test_a_stamp_that_is_damaged_is_passed_over(house, told, tmp_path):
    first = opened(told)
    for stamp in (tmp_path / "cache").glob("stamp-*"):
        stamp.write_bytes(b"\xff\xfe rubbish")
    assert opened(told).place == first.place


def test_a_cache_folder_that_cannot_be_written_falls_back_to_memory(
    house, told, tmp_path, monkeypatch
):
    # a path below a file cannot be made a folder, whoever the user is (a superuser writes anywhere)
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("OPERCLE_CACHE", str(tmp_path / "file" / "cache"))
    snapshot = opened(told)
    assert snapshot.place is None
    assert any("memory" in line for line in told)
    assert snapshot.ask("ASK { t:Perca op:atOrUnder t:Perca }")
    assert build.listed(snapshot, "keys") == ["perch"]
    assert (tmp_path / "file").read_text() == "in the way"


def test_a_cache_path_that_is_itself_a_file_falls_back_to_memory(
    house, told, tmp_path, monkeypatch
):
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("OPERCLE_CACHE", str(tmp_path / "file"))
    assert opened(told).place is None
    assert (tmp_path / "file").read_text() == "in the way"


@pytest.mark.parametrize(
    ("bad", "line"),
    [
        (PERCH + "t:Perca dwc:taxonRank \n.", 11),
        (PERCH.replace('"perch"@en .', '"perch@en .'), 8),
        (PERCH.replace("t:Perca a", "nope:Perca a"), 7),
        (PERCH.replace("op:kind op:group .", "op:kind op:group"), 9),
    ],
)
def test_malformed_turtle_is_told_with_file_line_and_remedy(house, told, bad, line):
    (house / "taxa" / "perch.ttl").write_text(bad)
    with pytest.raises(FileError) as caught:
        opened(told)
    where = caught.value.where
    assert str(house / "taxa" / "perch.ttl") in where
    assert abs(int(where.rsplit(" ", 1)[1]) - line) <= 1
    assert caught.value.remedy


def test_turtle_that_is_not_utf_8_is_told_with_its_file(house, told):
    (house / "taxa" / "perch.ttl").write_bytes(PERCH.replace("perch", "p\xe9rch").encode("latin-1"))
    with pytest.raises(FileError) as caught:
        opened(told)
    assert "perch.ttl" in caught.value.where


def test_a_broken_rule_is_told_with_its_file_and_nothing_is_written(house, told, tmp_path):
    (house / "rules" / "in-family.rq").write_text("# id: in-family\nCONSTRUCT {")
    with pytest.raises(RuleError) as caught:
        opened(told)
    assert caught.value.where.endswith("in-family.rq")
    assert not (tmp_path / "cache").exists() or snapshots(tmp_path) == []


def test_malformed_turtle_leaves_the_older_snapshot_alone(house, told, tmp_path):
    opened(told)
    before = snapshots(tmp_path)
    (house / "taxa" / "perch.ttl").write_text("oops")
    with pytest.raises(FileError):
        opened(told)
    assert snapshots(tmp_path) == before


def test_older_snapshots_are_pruned_and_the_newest_kept(house, told, tmp_path):
    places = []
    for i in range(7):
        (house / "taxa" / "perch.ttl").write_text(PERCH + f"# {i}\n")
        places.append(Path(opened(told).place).name)
        os.utime(tmp_path / "cache" / places[-1], (1000 + i, 1000 + i))
    kept = snapshots(tmp_path)
    assert len(kept) <= 4
    assert places[-1] in kept
    assert places[0] not in kept


def test_a_snapshot_that_is_open_is_never_pruned(house, told, tmp_path):
    held = opened(told)
    for i in range(7):
        (house / "taxa" / "perch.ttl").write_text(PERCH + f"# {i}\n")
        os.utime(held.place, (1000, 1000))
        opened(told)
    assert Path(held.place).name in snapshots(tmp_path)
    assert held.ask("ASK { t:Perca op:atOrUnder t:Perca }")
    assert build.listed(held, "keys") == ["perch"]


def test_a_snapshot_that_another_process_has_open_is_never_pruned(house, told, tmp_path):
    wait = RUN + "print('ready', flush=True)\nsys.stdin.read()\n"
    command = [sys.executable, "-c", wait, str(tmp_path / "house")]
    env = {**os.environ, "OPERCLE_CACHE": str(tmp_path / "cache")}
    with subprocess.Popen(
        command, env=env, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as server:
        while (line := server.stdout.readline().strip()) != "ready":
            place = line.split()[0]
        for i in range(7):
            (house / "taxa" / "perch.ttl").write_text(PERCH + f"# {i}\n")
            os.utime(place, (1000, 1000))
            opened(told)
        assert Path(place).name in snapshots(tmp_path)
        server.stdin.close()
        server.wait(10)
    (house / "taxa" / "perch.ttl").write_text(PERCH + "# last\n")
    opened(told)
    assert Path(place).name not in snapshots(tmp_path)


def test_pruning_never_takes_a_folder_that_is_no_snapshot(house, told, tmp_path):
    (tmp_path / "cache" / "notes").mkdir(parents=True)
    for i in range(6):
        (house / "taxa" / "perch.ttl").write_text(PERCH + f"# {i}\n")
        opened(told)
    assert (tmp_path / "cache" / "notes").is_dir()


def test_a_pack_is_laid_over_the_knowledge_in_a_snapshot_of_its_own(house, told, tmp_path):
    pack = tmp_path / "pack.ttl"
    pack.write_text(
        PERCH.replace("n:perch", "n:barsch")
        .replace('"perch"@en', '"barsch"@de')
        .replace("s:perch", "s:barsch")
    )
    plain, laid = opened(told), opened(told, packs=[str(pack)])
    assert plain.place != laid.place
    assert build.listed(laid, "keys") == ["barsch", "perch"]
    assert build.listed(opened(told), "keys") == ["perch"]


def test_a_pack_that_is_not_there_is_told(house, told, tmp_path):
    with pytest.raises(FileError, match="pack"):
        opened(told, packs=[str(tmp_path / "no.ttl")])


def test_a_triple_that_two_files_state_is_kept_once(house, told):
    (house / "taxa" / "again.ttl").write_text(PERCH)
    rows = opened(told).rows("SELECT ?u { ?u op:means t:Perca }")
    assert rows == [{"u": "s:perch"}]


def test_what_is_stated_lies_in_a_graph_named_after_its_file(house, told):
    graphs = {g.value.removeprefix(PREFIXES["g"]) for g in opened(told).store.named_graphs()}
    assert "ontology/taxa/perch.ttl" in graphs


def test_the_cache_folder_is_the_one_asked_for_or_the_users(monkeypatch):
    monkeypatch.setenv("OPERCLE_CACHE", "/somewhere")
    assert build.cache_folder() == "/somewhere"
    monkeypatch.delenv("OPERCLE_CACHE")
    monkeypatch.setenv("XDG_CACHE_HOME", "/users/cache")
    assert build.cache_folder() == "/users/cache/opercle"
