"""Settles lists of names judged by hand and weighs what comes out against the judgement."""

import csv
import os
import re
from typing import NamedTuple

HERE = os.path.dirname(__file__)


class Judged(NamedTuple):
    """A name in a state with what it means: taxa, what it must stay within, or no fish."""

    name: str
    state: str
    taxa: tuple[str, ...]
    within: tuple[str, ...]
    fish: bool


def judged(name):
    """The judged names of a list beside this module."""
    with open(os.path.join(HERE, name), encoding="utf-8") as file:
        lines = file.read().splitlines()
    for line in lines:
        if " @ " not in line or line.startswith("#"):
            continue
        name, _, rest = line.strip().partition(" @ ")
        state, _, told = rest.partition(" = ")
        within = tuple(re.findall(r"\[([^\]]+)\]", told))
        taxa = () if told[0] in "?-" else tuple(t.strip() for t in told.split("|"))
        yield Judged(name, state, taxa, within, told != "-")


def settled(know, folder, names):
    """Every judged name settled as a row of a table, by name and state."""
    table = folder / "names.csv"
    with open(table, "w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([("name", "state"), *((j.name, j.state) for j in names)])
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


def told(verdicts):
    """Precision, coverage and the share settled, in one line."""
    done = [v for v in verdicts.values() if v != "left"]
    one_meaning = [j for j in verdicts if j.taxa]
    covered = [j for j in one_meaning if verdicts[j] != "left"]
    right = sum(v != "wrong" for v in done)
    share, precision = len(done) / len(verdicts), right / len(done)
    coverage = len(covered) / len(one_meaning)
    return (
        f"{len(verdicts)} names: settled {len(done)} ({share:.0%}), of them right {right} "
        f"({done.count('coarser')} coarser); precision {precision:.3f}; coverage of names with one "
        f"meaning {coverage:.3f}"
    )


def wrong(verdicts, rows):
    """What settled wrongly, by name, with what it settled as."""
    return {
        f"{j.name} @ {j.state}": rows[j.name, j.state]["scientificName"]
        for j, v in verdicts.items()
        if v == "wrong"
    }
