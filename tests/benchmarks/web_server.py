"""A server in a process of its own for the benchmarks: ``python web_server.py KIND PORT``.

``empty`` is a FastAPI application with one route; ``opercle`` is ours with a constant route beside.
"""

import sys

import uvicorn
from fastapi import FastAPI
from starlette.requests import Request
from starlette.responses import JSONResponse
from starlette.routing import Route

CONSTANT = {"outcome": "constant", "because": ["nothing"] * 20}


def empty() -> FastAPI:
    app = FastAPI()

    @app.get("/constant")
    def constant() -> dict[str, object]:
        return CONSTANT

    return app


def ours() -> object:
    from opercle.faces.web.app import make
    from opercle.faces.web.fair import Share
    from opercle.faces.web.pool import Limits
    from opercle.knowledge import Knowledge

    app = make(Knowledge(), Limits(seconds=1.5), share=Share(per_second=0))

    def constant(request: Request) -> JSONResponse:
        return JSONResponse(CONSTANT)

    app.router.routes.insert(0, Route("/constant", constant))
    return app


if __name__ == "__main__":
    made = empty() if sys.argv[1] == "empty" else ours()
    uvicorn.run(made, port=int(sys.argv[2]), log_level="error", access_log=False)
