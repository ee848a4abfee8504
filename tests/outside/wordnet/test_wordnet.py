"""Our families and common names beside those of Princeton WordNet 3.1.

Source of the expected values: Princeton WordNet 3.1 (see extract.py and LICENSE-wordnet.txt).
Every difference stands in differences.tsv with its reason, written by hand; a row whose genus or
species is not in the knowledge yet waits, and is neither right nor stale.
"""

from pathlib import Path

import pytest

from tests.outside.wordnet import compare, extract

HERE = Path(__file__).parent


@pytest.fixture(scope="module")
def listed():
    return {row[:3]: row[3:] for row in extract.read(HERE / "differences.tsv")}


@pytest.fixture(scope="module")
def genera(know):
    return list(compare.genera(know))


@pytest.fixture(scope="module")
def species(know):
    return list(compare.species(know))


def unlisted(pairs, listed):
    return [f"{p.key} ours: {p.ours}" for p in pairs if not p.agrees and p.key not in listed]


def test_the_tables_hold_what_wordnet_holds():
    assert len(extract.read(HERE / "species.tsv")) == 553
    assert len(extract.read(HERE / "genera.tsv")) == 287


def test_the_licence_of_princeton_stands_beside_the_tables():
    assert "Princeton University" in (HERE / "LICENSE-wordnet.txt").read_text(encoding="utf-8")


def test_our_family_of_every_genus_is_that_of_wordnet_or_the_difference_is_explained(
    genera, listed
):
    assert unlisted(genera, listed) == []


def test_every_common_name_in_wordnet_yields_its_species_or_the_difference_is_explained(
    species, listed
):
    assert unlisted(species, listed) == []


def test_no_explained_difference_is_stale(genera, species, listed):
    agreed = {p.key for p in [*genera, *species] if p.agrees}
    assert sorted(agreed & set(listed)) == []


def test_the_family_given_in_an_explained_difference_is_the_one_we_follow(genera, listed):
    wrong = [
        f"{p.key}: listed {listed[p.key][0]}, now {p.ours}"
        for p in genera
        if p.key in listed and not set(p.ours.split("|")) & set(listed[p.key][0].split("|"))
    ]
    assert wrong == []


def test_every_difference_has_a_reason_from_the_list_and_a_note(listed):
    bad = [key for key, row in listed.items() if row[1] not in compare.REASONS or not row[2]]
    assert bad == []


def test_every_row_of_differences_is_a_pair_of_wordnet(listed):
    known = {("genus", *row) for row in extract.read(HERE / "genera.tsv")}
    known |= {("species", *row) for row in extract.read(HERE / "species.tsv")}
    assert sorted(set(listed) - known) == []


def test_enough_pairs_are_comparable_and_most_of_them_agree(
    genera, species, record_testsuite_property
):
    for what, pairs, least in (("genera", genera, 60), ("names", species, 100)):
        agreed = sum(p.agrees for p in pairs)
        told = f"{agreed} of {len(pairs)} comparable pairs agree"
        record_testsuite_property(f"wordnet-{what}", told)
        print(f"WordNet, {what}: {told}")
        assert len(pairs) >= least
        assert agreed / len(pairs) > 0.7
