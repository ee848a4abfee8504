"""Opens the knowledge behind a SPARQL server.

Knows: that its version must be ours, and which long lists are made from what it holds.
Refuses to know: the Protocol; that is ``endpoint``.
"""

from typing import Any

from opercle import endpoint, reading
from opercle.build import VERSION
from opercle.errors import EndpointError
from opercle.store import Snapshot


def open_endpoint(address: str, timeout: float | None = None) -> Snapshot:
    """The knowledge behind a SPARQL 1.1 server. Raises UsageError, EndpointError.

    ``timeout`` is in seconds for each request. The rules for proofs are those shipped here, so the
    server's knowledge must be of the same version.
    """
    server = endpoint.Server(address, timeout or endpoint.TIMEOUT)
    found = endpoint.Endpoint(server, {"keys": _keys_of, "rules": lambda _: _rule_list()})
    if found.facts.get("version") != VERSION:
        raise EndpointError(
            f"The server holds the knowledge of Opercle {found.facts.get('version')}; "
            f"this is {VERSION}.",
            address,
            "Load the export of this version, or ask with that one.",
        )
    return found


def _keys_of(snapshot: Snapshot) -> list[str]:
    """The keys of all names, for spelling."""
    rows = snapshot.rows("SELECT DISTINCT ?f { ?x skosxl:literalForm ?f }")
    return sorted({reading.normal(row["f"]) for row in rows})


def _rule_list() -> list[dict[str, Any]]:
    from opercle import rules

    return [rule._asdict() for rule in rules.read_all()]
