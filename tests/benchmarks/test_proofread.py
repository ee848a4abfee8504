"""How long proofreading takes on 1 MB, against finding its word spans with one expression."""

import re
import time
from pathlib import Path

from opercle.questions.proofread import findings
from opercle.questions.proofread_text import Page

LESSONS = Path(__file__).parent.parent / "outside" / "lessons"
WORDS = re.compile(r"\w+")
SIZE = 1_000_000


def best(work, times=2):
    taken = []
    for _ in range(times):
        start = time.process_time()  # which other work on the machine stretches less
        work()
        taken.append(time.process_time() - start)
    return min(taken)


def test_proofreading_1_mb_within_twenty_times_finding_its_words(know, capsys):
    one = "\n\n".join((LESSONS / n).read_text("utf-8") for n in ("rock-bass.md", "crappie.txt"))
    one = one.replace("```", "")
    text = (one * (SIZE // len(one) + 1))[:SIZE]
    findings(know.desk, Page(one, "markdown"))
    words = best(lambda: [m.span() for m in WORDS.finditer(text)], 5)
    whole = best(lambda: findings(know.desk, Page(text, "text")))
    marked = best(lambda: findings(know.desk, Page(text, "markdown")))
    with capsys.disabled():
        print(
            f"\nproofread of 1 MB dense with names: {whole / words:.1f} times its word spans as "
            f"plain text, {marked / words:.1f} times as Markdown"
        )
    assert whole < 40 * words, "20 is wanted; this guards against a gross fall alone"


def test_one_line_of_4_mb_takes_no_more_than_its_share(know, capsys):
    line = "The rock bass has six anal spines and hides under the bank all day long. "
    small, large = (Page(line * (n // len(line)), "markdown") for n in (SIZE, 4 * SIZE))
    findings(know.desk, Page(line, "markdown"))
    ratio = best(lambda: findings(know.desk, large), 1) / best(
        lambda: findings(know.desk, small), 2
    )
    with capsys.disabled():
        print(f"\nproofread of one line of 4 MB: {ratio:.1f} times one line of 1 MB")
    assert ratio < 20, "linear is wanted; this guards against a gross fall alone"
