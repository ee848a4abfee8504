"""Lists every difference between the scientific names written in real tables and those settled.

    python -m tests.outside.records.differences FOLDER > differences.csv

FOLDER holds the tables (they are no part of this repository). Each row is settled with all that it
says. A difference is a pair of common and scientific name whose settled name is another than the
one written, or that is left open without the one written among its candidates. Who is right and
why is put in by hand, in ``differences.csv`` beside this file; a line whose names are unchanged
keeps what was put in.
"""

import csv
import os
import sys
import tempfile
from collections import Counter

HEADINGS = ("file", "common_name", "written", "ours", "outcome", "rows", "right", "why")
TABLES = ("tissue_great_lakes.csv", "landings_2022.csv")
BESIDE = os.path.join(os.path.dirname(__file__), "differences.csv")


def differences(know, folder):
    """Tuples of file, common name, scientific name written, ours, outcome, rows."""
    found = Counter()
    for name in TABLES:
        with tempfile.TemporaryDirectory() as out:
            know.settle([os.path.join(folder, name)], out)
            stem = name.removesuffix(".csv")
            with open(f"{out}/{stem}-settled.csv", encoding="utf-8", newline="") as file:
                for row in csv.DictReader(file):
                    told = _differs(row)
                    if told:
                        found[name, *told] += 1
    return [(*pair, rows) for pair, rows in sorted(found.items())]


def _differs(row):
    """Common name, name written, ours and the outcome of one row; None if they agree."""
    written = " ".join((row.get("Scientific Name") or "").split())
    common = row.get("Common Name") or row.get("NMFS Name") or ""
    if not written or row["outcome"] == "unknown":
        return None
    ours = row["scientificName"] or row["candidates"]
    held = {o.casefold() for o in ours.split("|")}
    return None if written.casefold() in held else (common, written, ours, row["outcome"])


def known(path=BESIDE):
    """The lines of the committed list by file, common name, name written and ours."""
    with open(path, encoding="utf-8", newline="") as file:
        return {
            (r["file"], r["common_name"], r["written"], r["ours"]): r for r in csv.DictReader(file)
        }


def main():
    """Write the list to standard output, with what was put in by hand where it still holds."""
    from opercle import Knowledge

    kept = known() if os.path.exists(BESIDE) else {}
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(HEADINGS)
    for file, common, written, ours, outcome, rows in differences(
        Knowledge(tell=lambda _: None), sys.argv[1]
    ):
        line = kept.get((file, common, written, ours), {})
        told = (line.get("right", ""), line.get("why", ""))
        writer.writerow((file, common, written, ours, outcome, rows, *told))


if __name__ == "__main__":
    main()
