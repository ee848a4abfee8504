"""Local packs add names and waters for one command, and alter nothing."""

from pathlib import Path

import pytest

from opercle import Knowledge
from opercle.errors import FileError

EXAMPLE = Path(__file__).parents[2] / "examples" / "packs" / "alder-county.ttl"
HEAD = EXAMPLE.read_text(encoding="utf-8").split("src:alder")[0]


def opened(path: Path) -> Knowledge:
    return Knowledge([str(path)], tell=lambda _: None)


def test_a_name_from_a_pack_settles_and_says_that_it_rests_on_the_pack():
    answer = opened(EXAMPLE).name("stump bass", water="Millrace Pond")
    assert answer.outcome == "settled"
    assert answer.fields["bearers"][0]["scientificName"] == "Ambloplites rupestris"
    assert "from the local pack alder-county.ttl" in answer.because[0].says


def test_a_code_from_a_pack_is_read_like_a_name():
    answer = opened(EXAMPLE).name("BNRO", state="Ohio")
    assert answer.fields["bearers"][0]["taxon"] == "t:Ambloplites-rupestris"


def test_a_pack_leaves_other_answers_as_they_are(know):
    with_pack, without = opened(EXAMPLE).name("rock bass"), know.name("rock bass")
    assert with_pack.to_dict() == without.to_dict()


def test_a_pack_that_alters_a_stated_fact_is_refused(tmp_path):
    pack = tmp_path / "bad.ttl"
    pack.write_text(HEAD + "s:Ambloplites-rupestris_anal-spines op:most 12 .", encoding="utf-8")
    with pytest.raises(FileError, match="s:Ambloplites-rupestris_anal-spines"):
        opened(pack).status()


def test_a_pack_that_redefines_a_term_is_refused(tmp_path):
    pack = tmp_path / "bad.ttl"
    pack.write_text(HEAD + 'op:native skos:prefLabel "brought"@en .', encoding="utf-8")
    with pytest.raises(FileError, match="redefines op:native"):
        opened(pack).status()


def test_a_malformed_pack_is_told_with_file_and_line(tmp_path):
    pack = tmp_path / "bad.ttl"
    pack.write_text(HEAD + "n:x a op:CommonName\nn:y", encoding="utf-8")
    with pytest.raises(FileError, match=r"bad\.ttl, line"):
        opened(pack).status()


def test_a_missing_pack_is_told(tmp_path):
    with pytest.raises(FileError, match="cannot be read"):
        opened(tmp_path / "none.ttl").status()
