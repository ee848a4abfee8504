"""The example lesson has the five faults that its README tells, and no other."""

from pathlib import Path

LESSONS = Path(__file__).parents[2] / "examples" / "lessons"
SOWN = [
    ("figure", "nine anal spines"),
    ("style", "Lepomis gulosus"),
    ("spelling", "Lepomis cyanelus"),
    ("not-that-family", "sunfish"),
    ("nickname", "goggle-eye"),
]


def test_the_example_lesson_has_the_faults_sown_in_it_and_no_other(know):
    answer = know.proofread(str(LESSONS / "creek-day.md"))
    assert [(f["kind"], f["text"]) for f in answer.fields["findings"]] == SOWN
    assert all(f["says"] for f in answer.fields["findings"])


def test_the_fishes_of_the_commands_in_its_readme_make_a_sheet(know):
    told = (LESSONS / "README.md").read_text("utf-8")
    assert 'opercle handout "rock bass" warmouth "green sunfish"' in told
    assert know.handout("rock bass", "warmouth", "green sunfish", quiz=0).outcome == "made"
