"""One reading of all facts for the tests of what is written out."""

import pytest


@pytest.fixture(scope="session")
def held(desk):
    from opercle.exports.held import Held

    return Held(desk)


@pytest.fixture(scope="session")
def shared_held(held):
    """The writers use the facts read already, so that they are read once for all tests."""
    from opercle.exports import checklist, skos, tables

    patch = pytest.MonkeyPatch()
    for module in (checklist, skos, tables):
        patch.setattr(module, "Held", lambda desk: held)
    yield held
    patch.undo()


@pytest.fixture(scope="session")
def out(tmp_path_factory):
    return tmp_path_factory.mktemp("exports")
