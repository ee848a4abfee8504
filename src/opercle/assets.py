"""Finds ontology/ and shapes/, in a wheel or in a checkout.

Knows: where the files lie.
Refuses to know: what is in them.
"""

import os

from opercle.errors import FileError

_HERE = os.path.dirname(os.path.abspath(__file__))


def folder(name: str) -> str:
    """Return the absolute path of ``ontology`` or ``shapes``.

    Raises FileError if neither the wheel's nor the checkout's folder is there.
    """
    for base in (os.path.join(_HERE, "_assets"), os.path.dirname(os.path.dirname(_HERE))):
        path = os.path.join(base, name)
        if os.path.isdir(path):
            return path
    raise FileError(
        f"The folder {name}/ of the knowledge is missing.",
        _HERE,
        "Install Opercle again, or run it from a whole checkout.",
    )


def files(name: str, ending: str) -> list[str]:
    """All files of a folder whose name ends in ``ending``, sorted, sub-folders included."""
    found = [
        os.path.join(top, file)
        for top, _, names in os.walk(folder(name))
        for file in names
        if file.endswith(ending)
    ]
    return sorted(found)
