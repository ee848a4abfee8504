"""Distinct names of real tables against a judgement keyed by hand: none may settle wrongly.

The judgement and its reasoning stand in ``judgement.txt``. Precision and coverage are printed.
"""

import csv
import os
import re
from typing import NamedTuple

import pytest

HERE = os.path.dirname(__file__)


class Judged(NamedTuple):
    name: str
    state: str
    taxa: tuple[str, ...]
    within: tuple[str, ...]
    fish: bool


def judged():
    with open(os.path.join(HERE, "judgement.txt"), encoding="utf-8") as file:
        lines = file.read().splitlines()
    for line in lines:
        if " @ " not in line or line.startswith("#"):
            continue
        name, _, rest = line.strip().partition(" @ ")
        state, _, told = rest.partition(" = ")
        within = tuple(re.findall(r"\[([^\]]+)\]", told))
        taxa = () if told[0] in "?-" else tuple(t.strip() for t in told.split("|"))
        yield Judged(name, state, taxa, within, told != "-")


@pytest.fixture(scope="module")
def settled(know, tmp_path_factory):
    """Every judged name settled as a row of a table, by name and state."""
    folder = tmp_path_factory.mktemp("judged")
    table = folder / "names.csv"
    with open(table, "w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([("name", "state"), *((j.name, j.state) for j in judged())])
    know.settle([str(table)], str(folder / "out"))
    with open(folder / "out" / "names-settled.csv", encoding="utf-8", newline="") as file:
        return {(r["name"], r["state"]): r for r in csv.DictReader(file)}


def above(know, taxon):
    """The scientific names at and above a taxon."""
    desk = know.desk
    found = desk.find(taxon).uses
    mine = next(u["t"] for u in found if u["kind"] == "op:scientific")
    return {str(desk.about(t).get("name")) for t in (mine, *desk.lineage(mine))}


def verdict(know, one, row):
    """right, coarser (a group that holds the judged fish), wrong, or left (open, unknown)."""
    if row["outcome"] != "settled":
        return "left"
    got = row["scientificName"]
    if not one.fish:
        return "wrong"
    if got in one.taxa or got in one.within:
        return "right"
    wanted = (*one.taxa, *one.within)
    if any(got in _above_or_none(know, w) for w in wanted):
        return "coarser"
    return "wrong"


def _above_or_none(know, taxon):
    try:
        return above(know, taxon)
    except Exception:  # a taxon that the knowledge does not hold has nothing above it here
        return set()


def test_at_least_250_distinct_names_are_judged():
    assert len({j.name for j in judged()}) >= 250


def test_no_judged_name_settles_as_another_fish(know, settled, capsys):
    verdicts = {j: verdict(know, j, settled[j.name, j.state]) for j in judged()}
    wrong = [
        f"{j.name} ({j.state}): {settled[j.name, j.state]['scientificName']}, judged "
        f"{' or '.join(j.taxa) or ' or '.join(j.within) or 'no fish'}"
        for j, v in verdicts.items()
        if v == "wrong"
    ]
    done = [v for v in verdicts.values() if v != "left"]
    fishes = [j for j in verdicts if j.taxa]
    settled_fishes = [j for j in fishes if verdicts[j] != "left"]
    right = sum(v != "wrong" for v in done)
    with capsys.disabled():
        print(
            f"\njudged names: {len(verdicts)}; settled {len(done)}, of them right {right} "
            f"({done.count('coarser')} coarser); precision {right / len(done):.3f}; coverage of "
            f"names with one meaning {len(settled_fishes) / len(fishes):.3f}"
        )
    assert not wrong, "\n".join(wrong)


def test_what_is_no_fish_is_said_to_be_none(settled):
    said = {j.name: settled[j.name, j.state]["doubts"] for j in judged() if not j.fish}
    unsaid = {name for name, doubts in said.items() if doubts != "not-a-fish"}
    # these two name no animal at all, or all of them
    assert unsaid == {"WITHHELD FOR CONFIDENTIALITY", "ANIMALIA **"}


def test_coverage_does_not_fall_below_what_was_reached(know, settled):
    one_meaning = [j for j in judged() if j.taxa]
    done = [j for j in one_meaning if settled[j.name, j.state]["outcome"] == "settled"]
    assert len(done) / len(one_meaning) > 0.6
