"""How long an identification over all species takes, against reading their characters once."""

import time

READ = """
SELECT ?t ?s ?c ?least ?most ?state WHERE {
  ?t dwc:taxonRank "species" ; op:goesBy ?s .
  ?s op:onCharacter ?c .
  OPTIONAL { ?s op:least ?least }
  OPTIONAL { ?s op:most ?most }
  OPTIONAL { ?s op:state ?state }
}
"""


def best(work, times=3):
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def test_identify_over_all_species_within_ten_times_reading_their_characters(know, capsys):
    desk = know.desk
    seen = {"anal-spines": "3", "dorsal-spines": "10", "body-form": "deep-flat"}
    know.identify(seen)
    reading = best(lambda: desk.snapshot.rows(READ))
    asking = best(lambda: know.identify(seen))
    placed = best(lambda: know.identify(seen, water="Lake Erie"))
    with capsys.disabled():
        print(
            f"\nidentify over all species: {asking / reading:.2f} times one query that reads their "
            f"characters; with a water {placed / reading:.2f} times"
        )
    assert asking < 10 * reading
    assert placed < 10 * reading
