"""Three invented texts: quiet where they are right, and loud where a fault was sown.

The texts, their schools, clubs and classes are invented and say so; what they say of fishes was
written for this test from the knowledge's own cited values (no other source). ``seeded.tsv`` lists
every fault sown: file, the right words, the wrong ones, the kind, and words of the finding. The
faults were written before the judges had seen them: the first run found 57 of 60 and raised two
false alarms on the right texts; the judges were then mended, so that the texts are no blind test
any more.
"""

import csv
from pathlib import Path

import pytest

HERE = Path(__file__).parent
TEXTS = ("rock-bass.md", "crappie.txt", "sunfish.srt")


def seeds(name):
    with open(HERE / "seeded.tsv", encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))
    return [r for r in rows if r["file"] == name]


def sown(name):
    text = (HERE / name).read_text(encoding="utf-8")
    for row in seeds(name):
        right, wrong = (row[k].replace("\\n", "\n") for k in ("right", "wrong"))
        assert text.count(right) == 1, f"{name}: {right!r} stands {text.count(right)} times"
        text = text.replace(right, wrong)
    return text


def faults(answer):
    return [f for f in answer.fields["findings"] if f["kind"] != "not-judged"]


@pytest.mark.parametrize("name", TEXTS)
def test_a_correct_text_gives_at_most_one_false_finding_a_thousand_words(know, name):
    found = faults(know.proofread(str(HERE / name)))
    words = len((HERE / name).read_text(encoding="utf-8").split())
    assert len(found) <= words / 1000, found


def missed(know, name, path):
    path.write_text(sown(name), encoding="utf-8")
    found = faults(know.proofread(str(path)))
    lost = [
        row
        for row in seeds(name)
        if not any(f["kind"] == row["kind"] and row["text"] in f["text"] for f in found)
    ]
    return lost, found


@pytest.mark.parametrize("name", TEXTS)
def test_nine_in_ten_faults_sown_are_found_with_their_kind(know, name, tmp_path, capsys):
    lost, found = missed(know, name, tmp_path / name)
    many = len(seeds(name))
    with capsys.disabled():
        print(f"\n{name}: {many - len(lost)} of {many} found, {len(found)} findings")
        for row in lost:
            print(f"  missed: {row['kind']}: {row['wrong']}")
    assert many - len(lost) >= 0.9 * many


@pytest.mark.parametrize("name", TEXTS)
def test_a_sown_text_draws_few_findings_that_belong_to_no_fault_sown(know, name, tmp_path):
    _, found = missed(know, name, tmp_path / name)
    wrong = " | ".join(" ".join(r["wrong"].replace("\\n", " ").split()) for r in seeds(name))
    stray = [f for f in found if f["text"] not in wrong]
    words = len(sown(name).split())
    # one false alarm a thousand words, and one more for what a sown fault drags along
    assert len(stray) <= words / 1000 + 2, stray


def test_every_kind_of_the_contract_is_sown():
    kinds = {row["kind"] for name in TEXTS for row in seeds(name)}
    assert kinds >= {
        "spelling",
        "nickname",
        "name-changed",
        "not-that-family",
        "figure",
        "authority",
        "meaning",
        "range",
        "style",
    }


def test_a_finding_says_the_value_it_rests_on_and_its_source(know, tmp_path):
    path = tmp_path / "sown.md"
    path.write_text("The rock bass has nine anal spines.\n", encoding="utf-8")
    (found,) = faults(know.proofread(str(path)))
    assert found["line"] == 1
    assert found["column"] == 19
    assert found["text"].startswith("nine")
    assert "5-7" in found["says"]
    assert found["because"]
    assert found["because"][0]["source"]
