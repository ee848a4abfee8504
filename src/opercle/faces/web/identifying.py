"""The page on which a fish is identified, one question after another.

Knows: what was said so far, all of it in the address, so that every step can be kept or gone back.
Refuses to know: which question is best, and which fish it is; the answer says both.
"""

from typing import Any, NamedTuple

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from opercle.errors import OpercleError
from opercle.faces.web import pictures, showing
from opercle.faces.web.asking import clipped


class Said(NamedTuple):
    """What was said of a fish so far: places, what was seen, and whether the water is unknown."""

    places: dict[str, str | None]
    seen: tuple[str, ...]
    no_water: bool

    def also(self, question: str, value: str | None, skipped: bool) -> "Said":
        """This and one answer more; the same where neither value nor skip was given."""
        if question == "water":
            places = {**self.places, "water": value} if value and not skipped else self.places
            return Said(places, self.seen, self.no_water or skipped)
        if not value and not skipped:
            return self
        kept = tuple(s for s in self.seen if not s.startswith(f"{question}="))
        return self._replace(seen=(*kept, f"{question}={'not-seen' if skipped else value}"))

    def pairs(self) -> list[tuple[str, str]]:
        """As parameters of an address."""
        told = [(k, v) for k, v in self.places.items() if v] + [("see", s) for s in self.seen]
        return [*told, ("no-water", "1")] if self.no_water else told


def identify(request: Request) -> Response:
    """One question after another, from place and what was seen so far.

    An answer that cannot be taken is told, and the question is put again.
    """
    asked_for = request.query_params
    places = {k: showing.param(request, k) for k in ("water", "state", "within")}
    seen = tuple(t for v in asked_for.getlist("see")[:60] if (t := clipped(v)))
    before = Said(places, seen, "no-water" in asked_for)
    question = showing.param(request, "ask")
    said = before
    if question:
        said = before.also(question, showing.param(request, "value"), "skip" in asked_for)
    told: dict[str, Any] = {"title": "Identify", "answer": None, "next": None, "fault": None}
    told["begun"] = "go" in asked_for or bool(said.pairs())
    if told["begun"]:
        try:
            told |= _identified(request, said)
        except OpercleError as error:
            if said == before:
                raise
            told["fault"], said = error, before
            told |= _identified(request, said)
    told |= {"seen": said.seen, "places": said.places, "kept": said.pairs()}
    return showing.page(request, "identify.html", told, 400 if told["fault"] else 200)


def _identified(request: Request, said: Said) -> dict[str, Any]:
    answer = showing.asked_of(request, "identify", said.seen, **said.places)
    done = {s.partition("=")[0] for s in said.seen}
    if said.no_water or said.places["water"]:
        done.add("water")
    rows = [r for r in answer.fields["next"] if r["ask"] not in done]
    row = rows[0] if rows and answer.outcome == "open" else None
    left = [c for c in answer.fields.get("candidates", ()) if c["standing"] != "against"]
    return {"answer": answer, "next": row, "figures": pictures.of_candidates(left)}


ROUTES = [Route("/identify", identify)]
