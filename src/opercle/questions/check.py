"""Whether the knowledge, or files laid over it, keeps the shapes.

Knows: when findings are faults and when they are only warnings, and how that is said.
Refuses to know: what a shape demands, and how it is checked.
"""

from collections import Counter
from collections.abc import Sequence

from opercle import check
from opercle.answers import Answer

CONFORMS, FAULTS = "conforms", "faults"


def ask(files: Sequence[str] = ()) -> Answer:
    """Answer ``check``: conforms, or faults, with every finding's file and line.

    Without files the whole knowledge is checked; with files, these are laid over it and only
    findings about what they state are told. Warnings alone do not make faults. Raises FileError,
    with file, line and remedy, for a file that cannot be read or is malformed.
    """
    facts = check.ground(files)
    found = check.findings(facts)
    faults = [f for f in found if f.severity == check.VIOLATION]
    return Answer(
        {"files": list(files)},
        FAULTS if faults else CONFORMS,
        _says(list(files), faults, len(found) - len(faults)),
        fields={
            "findings": [f._asdict() for f in found],
            "by_shape": dict(Counter(f.shape for f in found).most_common()),
            "triples": len(facts.store),
        },
    )


def _says(files: Sequence[str], faults: Sequence[check.Finding], warnings: int) -> str:
    what = ", ".join(files) if files else "The knowledge"
    also = f" {_number(warnings, 'warning')} besides." if warnings else ""
    if not faults:
        return f"{what} {'keep' if len(files) > 1 else 'keeps'} the shapes.{also}"
    where = len({f.file for f in faults})
    return (
        f"{what} {'break' if len(files) > 1 else 'breaks'} the shapes: "
        f"{_number(len(faults), 'fault')} in {_number(where, 'file')}.{also}"
    )


def _number(count: int, thing: str) -> str:
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"
