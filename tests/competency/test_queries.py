"""Every example query answers its question, alike in two independent SPARQL engines.

The expected answers stand beside the queries as CSV. After a change in the knowledge, write them
anew with ``python tests/competency/test_queries.py`` and read the difference before committing it.
"""

import csv
import io
import os
import re
import sys
from pathlib import Path

import pyoxigraph as ox
import pytest

from opercle.terms import OP

QUERIES = sorted((Path(__file__).parents[2] / "examples" / "queries").glob("*.rq"))


def answer(know, path: Path) -> list[list[str]]:
    """The answer as rows of text, the names of the columns first."""
    found = know.query(path.read_text(encoding="utf-8"))
    names = [v.value for v in found.variables]
    return [names, *([_text(term) for term in row] for row in found)]


def _text(term) -> str:
    return "" if term is None else str(term.value)


def expected(path: Path) -> list[list[str]]:
    with path.with_suffix(".csv").open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


@pytest.fixture(scope="session")
def graph(know):
    """The same stated and derived triples in rdflib."""
    import rdflib

    store = know.desk.snapshot.store
    triples = {q.triple for q in store.quads_for_pattern(None, None, None, None)}
    text = ox.serialize(triples, format=ox.RdfFormat.N_TRIPLES)
    made = rdflib.Graph()
    made.parse(data=text, format="nt")
    return made


@pytest.mark.parametrize("path", QUERIES, ids=lambda p: p.stem)
def test_a_query_says_its_question_on_top(path):
    first = path.read_text(encoding="utf-8").splitlines()[0]
    assert first.startswith("# ")
    assert first.endswith("?")


@pytest.mark.parametrize("path", QUERIES, ids=lambda p: p.stem)
def test_a_query_uses_defined_terms_alone(path):
    used = set(re.findall(r"\bop:(\w+)", path.read_text(encoding="utf-8")))
    assert used <= OP.names


@pytest.mark.parametrize("path", QUERIES, ids=lambda p: p.stem)
def test_a_query_gives_the_expected_answer(know, path):
    found = answer(know, path)
    assert len(found) > 1
    assert found == expected(path)


@pytest.mark.parametrize("path", QUERIES, ids=lambda p: p.stem)
def test_a_second_engine_gives_the_same_answer(graph, path):
    found = graph.query(path.read_text(encoding="utf-8"))
    rows = sorted(["" if x is None else str(x) for x in row] for row in found)
    assert _plain(rows) == _plain(sorted(expected(path)[1:]))


def _plain(rows: list[list[str]]) -> list[list[str]]:
    """Numbers by value, since the engines write them differently (2.20, 2.2)."""
    return sorted([_number(x) for x in row] for row in rows)


def _number(text: str) -> str:
    return f"{float(text):g}" if re.fullmatch(r"-?\d+(\.\d+)?", text) else text


def test_there_are_at_least_forty_queries():
    assert len(QUERIES) >= 40


def write_expected() -> None:
    """Write every expected answer anew."""
    from opercle import Knowledge

    know = Knowledge()
    for path in QUERIES:
        out = io.StringIO()
        csv.writer(out, lineterminator="\n").writerows(answer(know, path))
        path.with_suffix(".csv").write_text(out.getvalue(), encoding="utf-8")
        print(f"{path.stem}: {len(out.getvalue().splitlines()) - 1} rows", file=sys.stderr)


if __name__ == "__main__":
    os.environ.setdefault("OPERCLE_CACHE", str(Path.home() / ".cache" / "opercle"))
    write_expected()
