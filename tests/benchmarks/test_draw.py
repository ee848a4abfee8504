"""Drawing a fish against writing out an equal tree with xml.etree.ElementTree."""

import time
from statistics import median
from xml.etree import ElementTree as ET

from opercle.draw import fish
from opercle.questions import looks
from opercle.questions.values import Values

SAMPLE = 120


def taken(work):
    """Processor seconds, which other work on the machine stretches less than the clock."""
    start = time.process_time()
    work()
    return time.process_time() - start


def test_drawing_takes_less_than_five_times_writing_out_an_equal_tree(desk, capsys):
    values = Values(desk)
    rows = desk.snapshot.rows('SELECT ?t { ?t dwc:taxonRank "species" } ORDER BY ?t')
    step = max(1, len(rows) // SAMPLE)
    seen = [looks.of(desk, r["t"], values) for r in rows[::step]]
    trees = [ET.fromstring(fish.draw(look).svg) for look in seen]
    rounds = [
        (
            taken(lambda: [fish.draw(look) for look in seen]),
            taken(lambda: [ET.tostring(tree, encoding="unicode") for tree in trees]),
        )
        for _ in range(9)
    ]
    ratio = median(drawing / writing for drawing, writing in rounds)
    with capsys.disabled():
        print(
            f"\n  draw: {ratio:.1f} times writing out an equal tree ({len(seen)} species)", end=""
        )
    assert ratio < 15, "5 is wanted; this guards against a gross fall alone"
