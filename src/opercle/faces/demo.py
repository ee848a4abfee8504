"""The demonstration: three questions, one table of records settled, one class sheet.

Knows: which questions to show, which table comes with the package, where all of it is written.
Refuses to know: the answers. The table is invented, and the demonstration says so.
"""

import json
import os
from typing import Any

from opercle import assets
from opercle.answers import Answer
from opercle.errors import FileError
from opercle.faces import drawing, handout
from opercle.faces import settle as settling
from opercle.knowledge import Knowledge

FOLDER = "opercle-demo"
RECORDS = os.path.join("examples", "records")
_ANSWERS = "three-answers.json"
_TABLE = "river-log.csv"
_INVENTED = (
    f"{_TABLE} is the log of an angling club. The club and its catches are invented; only the "
    "waters and the fishes are real."
)
_SHEET = ("rock bass", "warmouth", "green sunfish")

Asked = list[tuple[str, str, Answer]]


def run(know: Knowledge, out: str | None, as_json: bool) -> int:
    """Ask, settle, make a sheet, all into the folder ``out``; returns the exit status."""
    folder = out or FOLDER
    _opened(folder)
    asked = _asked(know)
    written = [_answers(folder, asked)]
    table = os.path.join(assets.folder(RECORDS), _TABLE)
    settled = know.settle([table], os.path.join(folder, "settled"))
    sheet = handout.written(know, know.handout(*_SHEET), "html", folder)
    files = [*written, *settled.fields["files"], *sheet.fields["files"]]
    if as_json:
        print(json.dumps(_told(asked, settled, sheet, files), ensure_ascii=False))
    else:
        _show(asked, settled, sheet, folder, table)
    return 0


def _asked(know: Knowledge) -> Asked:
    """The command, the kind of answer and the answer, three times."""
    return [
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


def _opened(folder: str) -> None:
    try:
        os.makedirs(folder, exist_ok=True)
        if not os.access(folder, os.W_OK):
            raise PermissionError(13, "Permission denied")
    except OSError as error:
        raise FileError(
            f"The demonstration cannot write: {error.strerror}", folder, "Choose a folder with -o."
        ) from None


def _answers(folder: str, asked: Asked) -> str:
    path = os.path.join(folder, _ANSWERS)
    told = [{"command": command, **answer.to_dict()} for command, _, answer in asked]
    drawing.write(path, json.dumps(told, ensure_ascii=False, indent=1) + "\n", "list of answers")
    return path


def _told(asked: Asked, settled: Answer, sheet: Answer, files: list[str]) -> dict[str, Any]:
    return {
        "question": {},
        "outcome": "done",
        "answer": (
            "Three questions were asked and answered, "
            f"{settled.fields['rows_in']} invented records settled, and one class sheet made."
        ),
        "because": [],
        "cautions": [_INVENTED],
        "answers": [a.to_dict() for _, _, a in asked],
        "settled": settled.to_dict(),
        "handout": {"answer": sheet.answer, "files": sheet.fields["files"]},
        "files": files,
    }


def _show(asked: Asked, settled: Answer, sheet: Answer, folder: str, table: str) -> None:
    from opercle.faces import text

    for command, kind, answer in asked:
        print(f"\n$ {command}\n")
        text.show(kind, answer)
    print(f"written: {os.path.join(folder, _ANSWERS)}")
    print(f"\n$ opercle settle {table} -o {os.path.join(folder, 'settled')}\n\n{_INVENTED}\n")
    settling.show(settled)
    names = " ".join(f'"{name}"' if " " in name else name for name in _SHEET)
    print(f"\n$ opercle handout {names} -o {folder}\n")
    handout.show(sheet)
