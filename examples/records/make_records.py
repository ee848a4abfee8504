"""Makes the example tables: an angling club's river log and a county's lake cards.

Everything here is invented: the club, the county, the catches and the cards. Only the waters and
the fishes are real. The same seed gives the same bytes.

    python examples/records/make_records.py [FOLDER]
"""

import csv
import os
import random
import sys

SEED = 20240611

# what the members of the invented club write, with how often
LOG_NAMES = [
    ("largemouth bass", 60), ("LMB", 40), ("Lg mouth bass", 12), ("largemuth bass", 8),
    ("spotted bass", 40), ("Shoal bass", 40), ("shoalies", 8), ("Flint River Smallmouth", 6),
    ("redeye bass", 30), ("Redeye", 16), ("striped bass", 25), ("BASS, STRIPED", 6),
    ("striper", 15), ("hybrid striped bass", 12), ("bluegill", 50), ("bream", 30), ("BG", 14),
    ("shellcracker", 25), ("redear", 12), ("redbreast", 20), ("Redbreast Sunfish", 20),
    ("stumpknocker", 6), ("warmouth", 14), ("crappie", 18), ("Blk Crappie", 10),
    ("W. Crappie", 8), ("channel catfish", 30), ("Ch cat", 8), ("flathead", 14),
    ("flathead catfish", 14), ("bowfin", 10), ("mudfish", 6), ("longnose gar", 12),
    ("chain pickerel", 10), ("jack", 6), ("trout", 8), ("bluegill and redear", 6),
    ("LMB/spots", 4), ("BG x redear", 4), ("sunfish sp.", 8), ("bass?", 6), ("no fish", 12),
    ("crayfish", 4), ("snapping turtle", 4), ("", 6), ("big one that got away", 3),
]  # fmt: skip
# how long the fishes of the log get, in inches; all that is not here gets to 24
SMALL = {
    **dict.fromkeys(("bluegill", "BG", "bream", "stumpknocker", "sunfish sp."), 10),
    **dict.fromkeys(("shellcracker", "redear", "redbreast", "Redbreast Sunfish", "warmouth"), 10),
    **dict.fromkeys(("bluegill and redear", "BG x redear"), 10),
    **dict.fromkeys(("crappie", "Blk Crappie", "W. Crappie", "jack", "trout"), 15),
}
LOG_WATERS = [
    ("Flint River", "GA", 40), ("Chattahoochee River", "GA", 30), ("Coosa River", "AL", 16),
    ("Tallapoosa River", "AL", 12), ("Chipola River", "FL", 10), ("Ocmulgee River", "GA", 12),
    ("Altamaha River", "GA", 8), ("Etowah R", "GA", 8), ("Sawmill Branch", "GA", 6), ("", "GA", 5),
]  # fmt: skip

# what stands on the invented county's cards: a common and often a scientific name
CARDS = [
    ("Walleye", "Stizostedion vitreum", 40), ("Walleye", "Sander vitreus", 30),
    ("WALLEYED PIKE", "", 12), ("pickerel", "", 10), ("Northern Pike", "Esox lucius", 40),
    ("N. Pike", "", 16), ("Muskellunge", "Esox masquinongy", 14), ("tiger musky", "", 8),
    ("Yellow Perch", "Perca flavescens", 50), ("PERCH, YELLOW", "", 20),
    ("Rock Bass", "Ambloplites rupestris", 36), ("Rock Bass", "Amploplites rupestris", 4),
    ("Smallmouth Bass", "Micropterus dolomieui", 30), ("SMB", "", 14),
    ("Largemouth Bass", "Micropterus salmoides (Lacepède, 1802)", 40),
    ("Largemouth Bass", "Micropterus dolomieu", 3), ("Pumpkinseed", "Lepomis gibbosus L.", 30),
    ("Bluegill", "Lepomis macrochirus", 40), ("BG x PS", "", 8), ("hybrid sunfish", "", 8),
    ("Black Crappie", "Pomoxis nigromaculata", 20), ("calico bass", "", 8),
    ("White Sucker", "Catostomus commersoni", 30), ("Cisco", "Coregonus artedii", 12),
    ("tullibee", "", 10), ("Burbot", "Lota lota", 10), ("lawyer", "", 4),
    ("Brown Bullhead", "Ictalurus nebulosus", 14), ("bullhead", "Ameiurus sp.", 12),
    ("carp", "Cyprinus carpio", 14), ("Lake Trout fingerlings", "", 10), ("saugeye", "", 6),
    ("Brook Trout (hatchery)", "", 10), ("splake", "", 5), ("unidentified minnow", "", 8),
    ("Mimic shiner cf.", "Notropis cf. volucellus", 3), ("yellow perch & pumpkinseed", "", 4),
    ("Shoal Bass", "Micropterus cataractae", 2), ("zander", "", 2), ("painted turtle", "", 3),
]  # fmt: skip
CARD_LAKES = [
    ("Lake Winnebago", "Wisconsin", "04030201", 30), ("Lake Mendota", "Wisconsin", "07090002", 20),
    ("Leech L", "Minnesota", "07010102", 20), ("Mille Lacs Lake", "Minnesota", "07010207", 20),
    ("Long Lake", "Minnesota", "", 12), ("Alder Pond", "Wisconsin", "", 10),
    ("Lake Superior", "Michigan", "", 6), ("", "Minnesota", "0701", 6),
]  # fmt: skip


def pick(random_one, table):
    """One row of a table, by its weight."""
    return random_one.choices(table, weights=[row[-1] for row in table])[0]


def river_log(random_one, rows):
    """The club's log: loose dates, lengths in inches, notes with commas and quotes."""
    yield "trip date", "river", "state", "what caught", "length (in)", "kept", "remarks"
    remarks = ["", "", "", "on a fly", 'said "biggest yet"', "below the dam, dusk", "=SUM(A1:A9)"]
    for _ in range(rows):
        name, _ = pick(random_one, LOG_NAMES)
        river, state, _ = pick(random_one, LOG_WATERS)
        year = random_one.randint(1968, 2023)
        month, day = random_one.randint(3, 11), random_one.randint(1, 28)
        date = (
            f"{month}/{day}/{year}"
            if random_one.random() < 0.8
            else f"{month}/{day}/{year % 100:02d}"
        )
        length = "" if not name else f"{random_one.triangular(3, SMALL.get(name, 24), 6):.1f}"
        if random_one.random() < 0.004:
            length = "96"
        kept = random_one.choice(["y", "n", ""])
        yield date, river, state, name, length, kept, random_one.choice(remarks)


def lake_cards(random_one, rows):
    """The county's cards: ISO dates from 1921 on, millimetres, unit codes."""
    yield "card", "eventDate", "lake", "state", "huc8", "commonName", "scientificName", "length_mm"
    for number in range(1, rows + 1):
        name, scientific, _ = pick(random_one, CARDS)
        lake, state, huc, _ = pick(random_one, CARD_LAKES)
        date = f"{random_one.randint(1921, 2019)}-{random_one.randint(5, 10):02d}"
        small = any(w in name for w in ("seed", "gill", "sunfish", "PS", "Perch", "Rock", "PERCH"))
        length = str(int(random_one.triangular(40, 220 if small else 480, 120)))
        if random_one.random() < 0.004:
            length = "2900"
        yield f"LC-{number:04d}", date, lake, state, huc, name, scientific, length


def main(folder):
    """Write both tables; the log has three damaged lines, as real logs have."""
    random_one = random.Random(SEED)
    log = os.path.join(folder, "river-log.csv")
    with open(log, "w", encoding="utf-8-sig", newline="") as file:
        writer = csv.writer(file)
        for number, row in enumerate(river_log(random_one, 1000)):
            writer.writerow(row)
            if number == 400:
                file.write("6/1/1999,Flint River,GA,bluegill,7.5\r\n")
            if number == 600:
                file.write("6/2/2001,Flint River,GA,redbreast,6.0,y,good day,third cast\r\n")
            if number == 800:
                file.write('7/4/2003,Flint River,GA,bass,12.0,n,"never closed\r\n')
    cards = os.path.join(folder, "lake-cards.tsv")
    with open(cards, "w", encoding="utf-8", newline="") as file:
        csv.writer(file, delimiter="\t", lineterminator="\n").writerows(
            lake_cards(random_one, 1000)
        )
    return log, cards


if __name__ == "__main__":
    print(*main(sys.argv[1] if len(sys.argv) > 1 else os.path.dirname(os.path.abspath(__file__))))
