"""A SPARQL 1.1 Protocol server of a few lines over an Oxigraph store in memory, run as a process of
its own: ``python plain_server.py FILE [union]``. It shares no code with ``opercle serve``."""

import http.server
import sys
import urllib.parse

import pyoxigraph as ox

FORMS = {".ttl": ox.RdfFormat.TURTLE, ".nq": ox.RdfFormat.N_QUADS}


class Handler(http.server.BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    wbufsize = -1  # one packet an answer
    store: ox.Store
    union = False

    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"])).decode()
        query = urllib.parse.parse_qs(body)["query"][0]
        try:
            found = self.store.query(query, use_default_graph_as_union=self.union)
            if isinstance(found, ox.QueryTriples):
                text = ox.serialize(found, format=ox.RdfFormat.N_TRIPLES)
                self.told(200, "application/n-triples", text)
            else:
                text = found.serialize(format=ox.QueryResultsFormat.JSON)
                self.told(200, "application/sparql-results+json", text)
        except SyntaxError as error:
            self.told(400, "text/plain", str(error).encode())

    def told(self, status, media, body):
        self.send_response(status)
        self.send_header("Content-Type", media)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *args):
        pass


if __name__ == "__main__":
    path = sys.argv[1]
    Handler.store = ox.Store()
    Handler.store.bulk_load(path=path, format=FORMS[path[path.rindex(".") :]])
    Handler.union = sys.argv[2:] == ["union"]
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    print(server.server_address[1], flush=True)
    server.serve_forever()
