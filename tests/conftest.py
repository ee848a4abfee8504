"""What all tests share: one opened knowledge, compiled into a folder of the session."""

import os

import pytest


@pytest.fixture(scope="session", autouse=True)
def cache(tmp_path_factory):
    """A cache folder of the session, so that no test touches the user's."""
    folder = tmp_path_factory.mktemp("opercle-cache")
    before = os.environ.get("OPERCLE_CACHE")
    os.environ["OPERCLE_CACHE"] = str(folder)
    yield folder
    if before is None:
        os.environ.pop("OPERCLE_CACHE", None)
    else:
        os.environ["OPERCLE_CACHE"] = before


@pytest.fixture(scope="session")
def know(cache):
    """The knowledge, opened once."""
    from opercle import Knowledge

    return Knowledge(tell=lambda _: None)


@pytest.fixture(scope="session")
def desk(know):
    """The desk at which questions are worked, for tests that look inside."""
    return know.desk


@pytest.fixture(scope="session")
def site(know):
    """The address of one server for all tests that ask as clients do."""
    from tests.browser.server import serving

    with serving(know) as address:
        yield address
