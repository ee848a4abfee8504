"""Rules and snapshot grow in proportion; printed as ratios, judged only against a gross fall.

A part of the knowledge is taken, to be quick. The whole trial, twenty times all of it, is run by
hand: ``python tests/benchmarks/scale.py 20``. At most 1.3 times linear is wanted.
"""

import importlib.util
from pathlib import Path

import pytest

from opercle import assets

_PLACE = Path(__file__).with_name("scale.py")
_EVERY, _COPIES = 12, 8


def _scale():
    made = importlib.util.spec_from_file_location("scale", _PLACE)
    module = importlib.util.module_from_spec(made)
    made.loader.exec_module(module)
    return module


def test_rules_and_snapshot_grow_in_proportion_to_what_is_stated(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    scale = _scale()
    paths = assets.files("ontology", ".ttl")
    taxa = [p for p in paths if f"{Path(p).parent.name}" == "taxa"]
    part = [p for p in paths if p not in taxa] + taxa[::_EVERY]
    rules = assets.files("ontology/rules", ".rq")
    monkeypatch.setattr(assets, "files", lambda name, end: part if end == ".ttl" else rules)
    triples = scale.stated()
    one, many = scale.grow(triples, 1), scale.grow(triples, _COPIES)
    with capsys.disabled():
        print(f"\n  scale: {scale.told(one, many)}", end="")
    more = many.stated / one.stated
    assert more > 1.5
    assert many.derived > one.derived
    assert many.work / one.work < 4 * more
    assert many.size / one.size < 1.6 * more
