"""Records at scale, as ratios in one run: to the engine's own copy, and to a loop in Python.

A million rows here, of the kind that ``varied`` makes. ``OPERCLE_BENCH_ROWS`` asks for more; 10 and
50 million are run by hand.
Ratios are printed, and only gross failures fail: a loaded machine is no fault of the code.
"""

import csv
import os
import subprocess
import sys
import time

import pytest

from tests.benchmarks import varied

ROWS = int(os.environ.get("OPERCLE_BENCH_ROWS", "1000000"))
RUN = """
import sys, time
from opercle import Knowledge
know = Knowledge(tell=lambda _: None)
know.desk
begun = time.perf_counter()
answer = know.settle([sys.argv[1]], sys.argv[2], to="parquet")
took = time.perf_counter() - begun
peak = next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(took, int(peak) / 1024)
"""
"""The peak is that of the program itself: ru_maxrss also counts the process it was started from."""
COPY = """
import sys, time, duckdb
base = duckdb.connect(config={"threads": "2"})
begun = time.perf_counter()
base.execute(f"COPY (SELECT * FROM read_csv('{sys.argv[1]}', all_varchar=true))"
             f" TO '{sys.argv[2]}' (FORMAT parquet)").fetchall()
print(time.perf_counter() - begun)
"""


def ran(script, *args):
    done = subprocess.run(
        [sys.executable, "-c", script, *map(str, args)], capture_output=True, text=True, check=True
    )
    return [float(n) for n in done.stdout.split()]


@pytest.fixture(scope="module")
def table(know, tmp_path_factory):
    path = tmp_path_factory.mktemp("bench") / "records.csv"
    varied.write(know.desk, path, ROWS)
    return path


def test_a_run_costs_a_small_multiple_of_copying_the_table(know, table, tmp_path, capsys):
    (copied,) = ran(COPY, table, tmp_path / "copy.parquet")
    settled, memory = ran(RUN, table, tmp_path / "out")
    with capsys.disabled():
        print(
            f"\nsettle {ROWS} rows: {settled / copied:.2f} times the engine's own copy; "
            f"peak memory {memory:.0f} MB"
        )
    assert memory < 1024
    # every name is decided once at every water, which a million rows do not hide
    assert settled < 12 * copied + 60


def test_a_run_is_many_times_faster_than_a_loop_with_likeness_by_row(know, table, tmp_path, capsys):
    from rapidfuzz import fuzz, process

    known = {name.casefold(): name for name in know.desk.keys}
    begun, rows = time.perf_counter(), 0
    with open(table, encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            name = row["species"].casefold()
            if name not in known:
                process.extractOne(name, known, scorer=fuzz.ratio)
            rows += 1
            if rows == 4000:
                break
    by_row = (time.perf_counter() - begun) / rows
    settled, _ = ran(RUN, table, tmp_path / "out")
    faster = by_row * ROWS / settled
    with capsys.disabled():
        print(f"\nsettle {ROWS} rows: {faster:.0f} times faster than a loop by row")
    assert faster > 10


def test_time_grows_no_faster_than_the_rows(know, table, tmp_path, capsys):
    fifth = tmp_path / "fifth.csv"
    varied.write(know.desk, fifth, ROWS // 5)
    small, _ = ran(RUN, fifth, tmp_path / "small")
    large, _ = ran(RUN, table, tmp_path / "large")
    with capsys.disabled():
        print(f"\n{ROWS} rows take {large / small:.2f} times as long as {ROWS // 5}")
    assert large < 8 * small
