"""The demonstration: three questions, asked and answered as a user would.

Knows: which questions to show.
Refuses to know: the answers.
"""

import json
import os
from typing import Any

from opercle.answers import Answer
from opercle.errors import FileError
from opercle.knowledge import Knowledge

_FILE = "three-answers.json"


def run(know: Knowledge, out: str | None, as_json: bool) -> int:
    """Ask three questions; with ``out`` write the answers into that folder too."""
    asked: list[tuple[str, str, Answer]] = [
        ("opercle really rock bass", "really", know.really("rock bass")),
        (
            'opercle why "largemouth bass" --not Moronidae',
            "why",
            know.why("largemouth bass", rather_than="Moronidae"),
        ),
        (
            "opercle name redeye bass --water Flint --year 1990",
            "name",
            know.name("redeye bass", water="Flint", year=1990),
        ),
    ]
    written = [_write(out, asked)] if out else []
    if as_json:
        told: dict[str, Any] = {
            "question": {},
            "outcome": "done",
            "answer": "Three questions were asked and answered.",
            "because": [],
            "cautions": [],
            "answers": [a.to_dict() for _, _, a in asked],
            "files": written,
        }
        print(json.dumps(told, ensure_ascii=False))
        return 0
    from opercle.faces import text

    for command, kind, answer in asked:
        print(f"\n$ {command}\n")
        text.show(kind, answer)
    for path in written:
        print(f"written: {path}")
    return 0


def _write(folder: str, asked: list[tuple[str, str, Answer]]) -> str:
    path = os.path.join(folder, _FILE)
    told = [{"command": command, **answer.to_dict()} for command, _, answer in asked]
    try:
        os.makedirs(folder, exist_ok=True)
        with open(path + ".part", "w", encoding="utf-8") as file:
            json.dump(told, file, ensure_ascii=False, indent=1)
        os.replace(path + ".part", path)
    except OSError as error:
        raise FileError(
            f"The answers cannot be written: {error.strerror}", path, "Choose another folder."
        ) from None
    return path
