"""The web face: pages, HTTP API, SPARQL endpoint and linked data over the one door."""
