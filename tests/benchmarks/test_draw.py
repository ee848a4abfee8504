"""Drawing a fish against writing out an equal tree with xml.etree.ElementTree."""

import time
from xml.etree import ElementTree as ET

from opercle.draw import fish
from opercle.questions import looks
from opercle.questions.values import Values

SAMPLE = 120


def best(work, rounds=5):
    taken = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def test_drawing_takes_less_than_five_times_writing_out_an_equal_tree(desk, capsys):
    values = Values(desk)
    rows = desk.snapshot.rows('SELECT ?t { ?t dwc:taxonRank "species" } ORDER BY ?t')
    step = max(1, len(rows) // SAMPLE)
    seen = [looks.of(desk, r["t"], values) for r in rows[::step]]
    trees = [ET.fromstring(fish.draw(look).svg) for look in seen]
    drawing = best(lambda: [fish.draw(look) for look in seen])
    writing = best(lambda: [ET.tostring(tree, encoding="unicode") for tree in trees])
    with capsys.disabled():
        print(
            f"\ndraw: {drawing / writing:.1f} times writing out an equal tree ({len(seen)} species)"
        )
    assert drawing < 5 * writing
