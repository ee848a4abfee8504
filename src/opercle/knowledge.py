"""The one door: every face asks through here.

Knows: which question answers what.
Refuses to know: how answers are shown.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any, NamedTuple

from opercle import build
from opercle.answers import Answer
from opercle.errors import UsageError
from opercle.questions.desk import Desk


class _Drawing(NamedTuple):
    """The picture of a fish, or of two side by side, when it is asked for."""

    desk: Desk
    fishes: tuple[str, ...]

    def __call__(self) -> str:
        from opercle import draw

        beside = self.fishes[1] if len(self.fishes) > 1 else None
        made = draw.ask(self.desk, self.fishes[0], beside, "fish", False, True)
        return str(made.fields["svg"])


def _fishes(answer: Answer) -> tuple[str, ...]:
    """The fishes that an answer is on, where they are one or two."""
    fields = answer.fields
    if isinstance(fields.get("subject"), str):
        return (fields["subject"],)
    if answer.outcome == "found":
        return (fields["scientificName"],)
    if answer.outcome not in ("settled", "yes", "no", "compared"):
        return ()
    rows = fields.get("bearers") or fields.get("taxa") or fields.get("candidates") or ()
    found = tuple(dict.fromkeys(row["scientificName"] for row in rows))
    return found if len(found) in (1, 2) else ()


class Knowledge:
    """The knowledge, opened once. Every method returns an Answer of the contract.

    >>> from opercle import Knowledge
    >>> Knowledge().really("white perch").outcome
    'no'

    ``packs`` are Turtle files laid over the knowledge for this object alone; ``tell`` is given
    notices such as that the knowledge is being compiled. With ``endpoint`` the facts and inferences
    lie behind a SPARQL 1.1 server and ``timeout`` is in seconds for each request to it. Raises
    FileError, RuleError, EndpointError.
    """

    def __init__(
        self,
        packs: Sequence[str] = (),
        tell: Callable[[str], None] = build.notice,
        *,
        endpoint: str | None = None,
        timeout: float | None = None,
    ) -> None:
        if packs and endpoint:
            raise UsageError(
                "A local pack is laid over the knowledge on this machine, not over a server's.",
                "--with, --endpoint",
                "Load the pack's facts into the server: export them from here, with their "
                "inferences.",
            )
        self._packs = tuple(packs)
        self._tell = tell
        self._endpoint = endpoint
        self._timeout = timeout

    @cached_property
    def desk(self) -> Desk:
        """The opened snapshot with its words and proofs."""
        if self._endpoint:
            from opercle import remote

            return Desk(remote.open_endpoint(self._endpoint, self._timeout))
        return Desk(build.open_snapshot(self._packs, self._tell))

    def _drawable(self, answer: Answer) -> Answer:
        """The answer with a drawing of its one or two fishes, made only where it is shown."""
        fishes = _fishes(answer)
        return answer._replace(drawing=_Drawing(self.desk, fishes)) if fishes else answer

    def name(
        self,
        name: str,
        *,
        water: str | None = None,
        state: str | None = None,
        year: str | int | None = None,
        according_to: str | None = None,
        coast: str | None = None,
    ) -> Answer:
        """What a name means, here and then. ``year`` is four figures.

        ``according_to`` is the names list or work whose names the record follows, such as
        “Page et al. 2013” or “AFS 2023”; ``coast`` is coast or inland.
        """
        from opercle.questions import name as question

        answer = question.ask(self.desk, name, water, state, year, according_to, coast)
        return self._drawable(answer)

    def really(self, name: str, *, word: str | None = None) -> Answer:
        """Whether a fish is really the bass, perch, trout … of its name."""
        from opercle.questions import really as question

        return self._drawable(question.ask(self.desk, name, word))

    def why(self, taxon: str, *, rather_than: str) -> Answer:
        """Why a taxon belongs where it is placed and not to the other."""
        from opercle.questions import why as question

        return self._drawable(question.ask(self.desk, taxon, rather_than))

    def account(self, taxon: str) -> Answer:
        """All that is known here of a family, genus or species."""
        from opercle.questions import account as question

        return self._drawable(question.ask(self.desk, taxon))

    def compare(self, *taxa: str) -> Answer:
        """How two to six fishes are told apart."""
        from opercle.questions import compare as question

        return self._drawable(question.ask(self.desk, taxa))

    def identify(
        self,
        observations: Mapping[str, str] | Iterable[str] = (),
        *,
        water: str | None = None,
        state: str | None = None,
        within: str | None = None,
        logic: bool = False,
    ) -> Answer:
        """Which fish this is: ``{"anal-spines": "6"}`` or ``["anal-spines=6"]``.

        With ``logic`` every candidate also has HermiT's verdict and reason (extra ``logic``).
        """
        from opercle.questions import identify as question

        seen = observations if isinstance(observations, Mapping) else list(observations)
        answer = self._drawable(question.ask(self.desk, seen, water, state, within))
        if not logic:
            return answer
        from opercle.questions import logical_identify

        return logical_identify.added(self.desk, answer, seen)

    def key(self, taxon: str, *, water: str | None = None) -> Answer:
        """A dichotomous key for a group, or for its fishes of one water."""
        from opercle.questions import key as question

        return question.ask(self.desk, taxon, water)

    def draw(
        self,
        taxon: str,
        *,
        beside: str | None = None,
        kind: str = "fish",
        notes: bool = True,
        labels: bool = True,
    ) -> Answer:
        """A picture as SVG text: ``kind`` is fish, tree or map; ``beside`` a second fish.

        Without ``notes`` the picture leaves out what the page around it tells itself; without
        ``labels`` a fish stands alone in its frame.
        """
        from opercle import draw as question

        return question.ask(self.desk, taxon, beside, kind, notes, labels)

    def handout(
        self,
        *taxa: str,
        question: str | None = None,
        seed: int = 1,
        quiz: int = 8,
    ) -> Answer:
        """A class sheet on fishes: what tells them apart, cautions, a quiz with its answers.

        ``question`` heads the sheet, and names the fishes where ``taxa`` is empty; ``seed``
        chooses another quiz, ``quiz`` how many questions it has.
        """
        from opercle.questions import handout as asked

        return asked.ask(self.desk, taxa, question, seed, quiz)

    def proofread(self, path: str) -> Answer:
        """What is wrong with the fishes in a text file: plain text, Markdown or SubRip.

        ``findings`` hold line, column, text, kind, says, suggest. Raises FileError.
        """
        from opercle.questions import proofread as question

        return question.ask(self.desk, path, self._tell)

    def settle(
        self,
        files: Sequence[str],
        out: str = "settled",
        *,
        heard: Callable[[str, int, int], None] = lambda stage, done, of: None,
        **options: Any,
    ) -> Answer:
        """Settle tables of records into the folder ``out``; every row goes out or is refused.

        ``options`` are the fields of ``records.job.Options``; ``heard`` is told the stage, what is
        done and what there is.
        """
        from opercle.records import job

        return job.settle(self.desk, files, job.Options(out=out, **options), heard)

    def export(
        self,
        to: str,
        out: str | None = None,
        *,
        inferred: bool = False,
        table_form: str = "parquet",
        heard: Callable[[str, int, int], None] = lambda stage, done, of: None,
    ) -> Answer:
        """Write the knowledge out: turtle, jsonld, nquads, skos, dwca, tables or void.

        ``out`` is a file or a folder for it. Of the RDF forms ``inferred`` adds what rules derived;
        ``table_form`` is parquet or csv. The answer's ``files`` are the paths. Raises UsageError,
        FileError; a file that stands under its name is always whole.
        """
        from opercle import exports

        return exports.ask(
            self.desk, to, out, inferred=inferred, table_form=table_form, heard=heard
        )

    def prove(self, subject: str, predicate: str, value: str, *, drawn: bool = False) -> Answer:
        """Whether a triple of prefixed names is stated, derived or neither, with the tree.

        ``drawn`` adds the tree as a picture, SVG text in the field ``svg``.
        """
        from opercle.questions import prove as question

        answer = question.ask(self.desk, subject, predicate, value)
        if not drawn:
            return answer
        from opercle.draw import proof

        return proof.added(answer)

    def tangles(self, name: str | None = None, *, drawn: bool = False) -> Answer:
        """Which names tangle which species: all, or what hangs on one name or fish.

        ``drawn`` adds a picture, SVG text in the field ``svg``.
        """
        from opercle.questions import tangles as question

        answer = question.ask(self.desk, name)
        if not drawn:
            return answer
        from opercle.draw import tangles

        return tangles.added(answer)

    def status(self) -> Answer:
        """What the knowledge holds and how much of it was read."""
        from opercle.questions import status as question

        return question.ask(self.desk)

    def check(self, files: Sequence[str] = (), *, logic: bool = False) -> Answer:
        """Whether the knowledge, or the files given on top of it, keeps the shapes.

        With ``logic`` HermiT judges the whole as OWL 2 DL too (extra ``logic``).
        """
        from opercle.questions import check as question

        answer = question.ask(files)
        if not logic:
            return answer
        from opercle.questions import logical

        return logical.added(self.desk, answer)

    def query(self, sparql: str) -> Any:
        """Run SPARQL over stated and derived facts; returns pyoxigraph's result."""
        from opercle.questions import sparql as question

        return question.ask(self.desk, sparql)
