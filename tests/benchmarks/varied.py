"""Makes tables of records as varied as real ones: for benchmarks of any size, seeded.

Each water has its own fauna of a few dozen names, the common ones often, and one row in 500 a stray
from elsewhere. Names are written as people write them: capitals, turned round, cut short, misspelt,
scientific; waters lie in their states; days over 43 years; sizes; notes in free words. What it
makes is invented.
"""

import os
import random
import shutil

LETTERS = "abcdefghijklmnopqrstuvwxyz"
STATES = (
    "AL", "AR", "AZ", "CA", "CO", "CT", "DE", "FL", "GA", "IA", "ID", "IL", "IN", "KS", "KY", "LA",
    "MA", "MD", "ME", "MI", "MN", "MO", "MS", "MT", "NC", "ND", "NE", "NH", "NJ", "NM", "NV", "NY",
    "OH", "OK", "OR", "PA", "RI", "SC", "SD", "TN", "TX", "UT", "VA", "VT", "WA", "WI", "WV", "WY",
)  # fmt: skip
FAUNA = 48
NOTES = (
    "", "", "", "", "", "released", "kept", "boat 2", "electrofishing, night", "weir", "gill net",
    'tag "lost"', "cold, windy", "seine; 30 m", "hook and line", "ripe female", "scar on flank",
)  # fmt: skip


def names(desk, one, most=2500):
    """Names as written, the commonest fishes first."""
    rows = desk.snapshot.rows(
        "SELECT DISTINCT ?form ?kind { ?use op:name ?n ; op:kind ?kind . "
        "?n skosxl:literalForm ?form FILTER(?kind IN (op:standard, op:scientific, op:regional)) } "
        "ORDER BY ?form"
    )
    forms = [r["form"] for r in rows if len(r["form"]) < 40]
    one.shuffle(forms)
    common = (
        "largemouth bass", "bluegill", "walleye", "yellow perch", "black crappie", "white crappie",
        "smallmouth bass", "channel catfish", "northern pike", "rainbow trout", "brook trout",
        "rock bass", "pumpkinseed", "striped bass", "white perch", "redeye bass", "common carp",
    )  # fmt: skip
    made = []
    for form in [*common, *forms]:
        made += _ways(form, one)
        if len(made) >= most:
            return list(dict.fromkeys(made))
    return list(dict.fromkeys(made))


def _ways(form, one):
    """A name and up to three other ways of writing it."""
    words = form.split()
    ways = [form.upper(), form.title(), _slip(form, one)]
    if len(words) == 2:
        ways += [f"{words[1]}, {words[0]}".upper(), f"{words[0][0].upper()}. {words[1]}"]
    return [form, *one.sample(ways, one.randrange(4))]


def _slip(form, one):
    at = one.randrange(1, len(form))
    return form[:at] + one.choice(("", one.choice(LETTERS), form[at] * 2)) + form[at + 1 :]


def places(desk, one, most=600):
    """Pairs of water and state; a tenth of the waters are not known."""
    rows = desk.snapshot.rows(
        "SELECT ?form ?s { ?w op:waterKind ?k ; skos:prefLabel ?form ; op:reaches ?s } "
        "ORDER BY ?form ?s"
    )
    pairs = [(r["form"], r["s"][6:]) for r in rows if r["s"][6:] in STATES]
    one.shuffle(pairs)
    made = []
    for water, state in pairs[:most]:
        made.append((water, state))
        if one.random() < 0.1:
            made.append((f"{_slip('Alderbank', one)} Pond", state))
        if one.random() < 0.2:
            made.append(("", one.choice(STATES)))
    return made


def _fauna(many, weights, waters):
    """The names written at each water, the commoner ones first."""
    import numpy as np

    kept = np.empty((waters, FAUNA), dtype=np.int64)
    share = weights / weights.sum()
    for water in range(waters):
        kept[water] = many.choice(len(share), FAUNA, replace=False, p=share)
    return kept


def write(desk, path, rows, seed=1):
    """Write a CSV of so many rows to ``path``, a block at a time."""
    import duckdb
    import numpy as np
    import pyarrow as pa

    one, many = random.Random(seed), np.random.default_rng(seed)
    species = pa.array(names(desk, one))
    where = places(desk, one)
    waters, states = (pa.array([w[i] or None for w in where]) for i in (0, 1))
    notes = pa.array([n or None for n in NOTES])
    weights = 1 / np.arange(1, len(species) + 1) ** 0.6
    fauna = _fauna(many, weights, len(where))
    spread = 1 / np.arange(1, len(where) + 1) ** 0.7
    days = np.arange("1981-01-01", "2024-01-01", dtype="datetime64[D]").astype(str)
    dates = pa.array(days.tolist())
    headings = ("id", "date", "water", "state", "species", "length_mm", "number", "note")
    block = f"{path}.block"
    with open(path, "wb") as out, duckdb.connect() as base:
        out.write((",".join(headings) + "\n").encode())
        for start in range(0, rows, 500_000):
            size = min(500_000, rows - start)
            at = many.choice(len(where), size, p=spread / spread.sum())
            which = fauna[at, np.minimum(many.geometric(0.08, size) - 1, FAUNA - 1)]
            stray = many.random(size) < 0.002
            which[stray] = many.integers(0, len(species), stray.sum())
            lengths = np.clip(many.normal(260, 110, size), 20, 1400).astype(int)
            columns = [
                pa.array(np.arange(start, start + size)),
                dates.take(pa.array(many.integers(0, len(days), size))),
                waters.take(pa.array(at)),
                states.take(pa.array(at)),
                species.take(pa.array(which)),
                pa.array(lengths),
                pa.array(many.poisson(2, size) + 1),
                notes.take(pa.array(many.integers(0, len(NOTES), size))),
            ]
            table = pa.table(columns, names=list(headings))
            base.from_arrow(table).to_csv(block, header=False)
            with open(block, "rb") as written:
                shutil.copyfileobj(written, out, 1 << 20)
    os.unlink(block)
