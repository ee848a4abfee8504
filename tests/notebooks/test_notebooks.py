"""The notebooks of the examples run to their end, and show what their words promise."""

import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

FOLDER = Path("examples/notebooks")
NAMES = sorted(p.name for p in FOLDER.glob("*.ipynb"))


RUN = """import sys, nbformat, nbclient
notebook = nbformat.read(sys.argv[1], as_version=4)
nbclient.NotebookClient(notebook, timeout=120, kernel_name="python3").execute()
nbformat.write(notebook, sys.argv[2])
"""


@pytest.fixture(scope="module")
def ran(know, tmp_path_factory):
    """Both run at once, each in a process of its own with its kernel."""
    know.status()  # compiled once, in the folder that the kernels use
    folder = tmp_path_factory.mktemp("notebooks")
    started = {
        name: subprocess.Popen(
            [sys.executable, "-c", RUN, str(FOLDER / name), str(folder / name)],
            stderr=subprocess.PIPE,
            text=True,
        )
        for name in NAMES
    }
    for name, process in started.items():
        _, told = process.communicate(timeout=240)
        assert process.returncode == 0, f"{name}: {told[-3000:]}"
    return {name: nbformat.read(folder / name, as_version=4) for name in NAMES}


def shown(notebook):
    """All that the cells put out, as text."""
    told = []
    for cell in notebook.cells:
        for out in cell.get("outputs", ()):
            data = out.get("data", {})
            told += [out.get("text", ""), data.get("text/html", ""), data.get("text/plain", "")]
    return "\n".join(told)


def test_there_are_two_notebooks():
    assert len(NAMES) == 2


@pytest.mark.parametrize("name", NAMES)
def test_a_notebook_runs_to_its_end_without_a_word_on_standard_error(ran, name):
    cells = [c for c in ran[name].cells if c.cell_type == "code"]
    assert all(c["execution_count"] for c in cells)
    assert not [o for c in cells for o in c["outputs"] if o.get("name") == "stderr"]


@pytest.mark.parametrize("name", NAMES)
def test_a_notebook_says_that_its_scenario_is_invented_and_is_kept_without_outputs(name):
    notebook = nbformat.read(FOLDER / name, as_version=4)
    assert "invented" in notebook.cells[0].source
    assert not any(c.get("outputs") for c in notebook.cells)


def test_the_lesson_shows_a_drawing_and_what_decides(ran):
    told = shown(ran["is-it-really-a-bass.ipynb"])
    assert "</svg>" in told
    assert "nest guarding" in told
    assert "<td>yes</td>" in told
    assert "<td>no</td>" in told


def test_the_log_keeps_open_what_is_open(ran):
    told = shown(ran["a-creel-log.ipynb"])
    assert "Micropterus coosae" in told
    assert "unknown" in told
    assert "open" in told
