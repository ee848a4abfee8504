"""The one door: every face asks through here.

Knows: which question answers what.
Refuses to know: how answers are shown.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any

from opercle import build
from opercle.answers import Answer
from opercle.questions.desk import Desk


class Knowledge:
    """The knowledge, opened once. Every method returns an Answer of the contract.

    >>> from opercle import Knowledge
    >>> Knowledge().really("white perch").outcome
    'no'

    ``packs`` are Turtle files laid over the knowledge for this object alone; ``tell`` is given
    notices such as that the knowledge is being compiled. Raises FileError, RuleError.
    """

    def __init__(
        self, packs: Sequence[str] = (), tell: Callable[[str], None] = build.notice
    ) -> None:
        self._packs = tuple(packs)
        self._tell = tell

    @cached_property
    def desk(self) -> Desk:
        """The opened snapshot with its words and proofs."""
        return Desk(build.open_snapshot(self._packs, self._tell))

    def name(
        self,
        name: str,
        *,
        water: str | None = None,
        state: str | None = None,
        year: str | int | None = None,
    ) -> Answer:
        """What a name means, here and then. ``year`` is four figures."""
        from opercle.questions import name as question

        return question.ask(self.desk, name, water, state, year)

    def really(self, name: str, *, word: str | None = None) -> Answer:
        """Whether a fish is really the bass, perch, trout … of its name."""
        from opercle.questions import really as question

        return question.ask(self.desk, name, word)

    def why(self, taxon: str, *, rather_than: str) -> Answer:
        """Why a taxon belongs where it is placed and not to the other."""
        from opercle.questions import why as question

        return question.ask(self.desk, taxon, rather_than)

    def account(self, taxon: str) -> Answer:
        """All that is known here of a family, genus or species."""
        from opercle.questions import account as question

        return question.ask(self.desk, taxon)

    def compare(self, *taxa: str) -> Answer:
        """How two to six fishes are told apart."""
        from opercle.questions import compare as question

        return question.ask(self.desk, taxa)

    def identify(
        self,
        observations: Mapping[str, str] | Iterable[str] = (),
        *,
        water: str | None = None,
        state: str | None = None,
        within: str | None = None,
    ) -> Answer:
        """Which fish this is: ``{"anal-spines": "6"}`` or ``["anal-spines=6"]``."""
        from opercle.questions import identify as question

        return question.ask(self.desk, observations, water, state, within)

    def key(self, taxon: str, *, water: str | None = None) -> Answer:
        """A dichotomous key for a group, or for its fishes of one water."""
        from opercle.questions import key as question

        return question.ask(self.desk, taxon, water)

    def draw(
        self, taxon: str, *, beside: str | None = None, kind: str = "fish", notes: bool = True
    ) -> Answer:
        """A picture as SVG text: ``kind`` is fish, tree or map; ``beside`` a second fish.

        Without ``notes`` the picture leaves out what the page around it tells itself.
        """
        from opercle import draw as question

        return question.ask(self.desk, taxon, beside, kind, notes)

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

    def prove(self, subject: str, predicate: str, value: str) -> Answer:
        """Whether a triple of prefixed names is stated, derived or neither, with the tree."""
        from opercle.questions import prove as question

        return question.ask(self.desk, subject, predicate, value)

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
