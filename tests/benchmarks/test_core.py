"""How long the core takes, as ratios to plain work in the same run; printed, never judged.

The figures wanted: a whole ``opercle name`` process at most 5 times a bare ``import pyoxigraph``
in the same environment, and compiling the knowledge with all rules at most 25 times parsing the
same Turtle.
"""

import os
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from statistics import median
from typing import Any

import pyoxigraph as ox
import pytest

from opercle import assets, build, rules
from opercle.questions.desk import Desk
from opercle.terms import PREFIXES

_SCRIPT = "import sys; from opercle.faces.cli import main; sys.exit(main())"
"""What the installed command runs."""


def _time(work: Callable[[], object], rounds: int) -> float:
    taken = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def _best(benchmark: Any, work: Callable[[], object], rounds: int) -> float:
    """The shortest of several runs, kept in the table that pytest-benchmark prints at the end."""
    benchmark.pedantic(work, rounds=rounds, iterations=1)
    return float(benchmark.stats.stats.min) if benchmark.stats else _time(work, rounds)


def _process(command: Sequence[str], env: dict[str, str]) -> Callable[[], object]:
    return lambda: subprocess.run(command, env=env, check=True, capture_output=True)


@pytest.fixture
def env(tmp_path: Path) -> dict[str, str]:
    """A user's surroundings: a cache of its own, and modules compiled once, as pip leaves them."""
    told = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    bytecode = {"PYTHONPYCACHEPREFIX": str(tmp_path / "bytecode")}
    return {**told, **bytecode, "OPERCLE_CACHE": str(tmp_path)}


def _say(capsys: pytest.CaptureFixture[str], text: str) -> None:
    with capsys.disabled():
        print(f"\n  {text}", end="")


def test_a_name_is_answered_by_a_whole_process_in_a_few_times_a_bare_import(
    env: dict[str, str], capsys: pytest.CaptureFixture[str], benchmark: Any
) -> None:
    name = [sys.executable, "-c", _SCRIPT, "name", "white perch", "--json"]
    subprocess.run(name, env=env, check=True, capture_output=True)
    bare = _time(_process([sys.executable, "-c", "import pyoxigraph"], env), 9)
    whole = _best(benchmark, _process(name, env), 9)
    benchmark.extra_info["times a bare import"] = round(whole / bare, 1)
    _say(capsys, f"name, whole process: {whole / bare:.1f} times a bare import pyoxigraph")
    assert whole > bare


def test_a_proof_is_shown_by_a_whole_process_in_a_few_times_a_bare_import(
    env: dict[str, str], capsys: pytest.CaptureFixture[str], benchmark: Any
) -> None:
    triple = ["t:Ambloplites-rupestris", "op:inFamily", "t:Centrarchidae"]
    prove = [sys.executable, "-c", _SCRIPT, "prove", *triple, "--json"]
    subprocess.run(prove, env=env, check=True, capture_output=True)
    bare = _time(_process([sys.executable, "-c", "import pyoxigraph"], env), 9)
    whole = _best(benchmark, _process(prove, env), 9)
    _say(capsys, f"prove, whole process: {whole / bare:.1f} times a bare import pyoxigraph")
    assert whole > bare


def test_compiling_the_knowledge_takes_a_few_times_parsing_it(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    benchmark: Any,
) -> None:
    contents = [Path(p).read_bytes() for p in assets.files("ontology", ".ttl")]

    def parse() -> None:
        store = ox.Store()
        for content in contents:
            store.extend(ox.Quad(*q.triple) for q in ox.parse(content, format=ox.RdfFormat.TURTLE))

    def compile_afresh() -> None:
        monkeypatch.setenv("OPERCLE_CACHE", str(tmp_path / str(time.perf_counter_ns())))
        build.open_snapshot(tell=lambda _: None)

    parsing = _time(parse, 3)
    compiling = _best(benchmark, compile_afresh, 2)
    _say(capsys, f"compiling with all rules: {compiling / parsing:.1f} times parsing the Turtle")
    assert compiling > parsing


def test_all_rules_run_in_a_few_times_parsing_the_knowledge(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """At most 15 times pyoxigraph's parse is wanted."""
    paths = assets.files("ontology", ".ttl")

    def parse() -> None:
        for path in paths:
            for _ in ox.parse(path=path, format=ox.RdfFormat.TURTLE):
                pass

    store, book = ox.Store(), rules.read_all()
    seen: set[ox.Triple] = set()
    for path in paths:
        build.load(store, path, os.path.basename(path), seen)
    start = time.perf_counter()
    made = rules.run(store, book)
    taken = time.perf_counter() - start
    _say(capsys, f"all rules: {taken / _time(parse, 3):.1f} times parsing the Turtle")
    assert sum(made.values()) > 50_000


def test_a_proof_takes_less_than_a_run_of_the_rule_that_made_it(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    """The worst of all kept rules is shown; below 1 is wanted."""
    ratios = {}
    for rule in desk.prover.book:
        graph = ox.NamedNode(PREFIXES["r"] + rule["id"])
        found = next(desk.snapshot.store.quads_for_pattern(None, None, None, graph), None)
        if found is None:
            continue
        text, triple = rule["text"], found.triple
        whole = _time(lambda text=text: list(desk.snapshot.raw(text)), 1)
        ratios[rule["id"]] = _time(lambda triple=triple: desk.prover.prove(triple), 3) / whole
    worst = max(ratios, key=lambda name: ratios[name])
    middle = median(ratios.values())
    _say(capsys, f"a proof: {middle:.2f} runs of its rule, at worst {ratios[worst]:.2f} ({worst})")
    assert len(ratios) > 25
    assert middle < 1, "a proof by the middle rule takes less than that rule's run"
