"""Every failure that a user can meet, with its exit status.

Knows: how an error is told (what is wrong, where, what to do next).
Refuses to know: who prints it.
"""


class OpercleError(Exception):
    """Base of all errors told to a user; ``status`` is the exit status of the command line."""

    status = 4

    def __init__(self, what: str, where: str = "", remedy: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.remedy = remedy

    def __str__(self) -> str:
        told = self.what if not self.where else f"{self.what}\n  where: {self.where}"
        return told if not self.remedy else f"{told}\n  to do: {self.remedy}"


class UsageError(OpercleError):
    """The command or call is wrong: a year that is not one, an unknown option."""

    status = 2


class UnknownError(OpercleError):
    """Nothing by that name is known; ``nearest`` holds the closest spellings."""

    status = 3

    def __init__(
        self, what: str, where: str = "", remedy: str = "", nearest: tuple[str, ...] = ()
    ) -> None:
        super().__init__(what, where, remedy)
        self.nearest = nearest


class FileError(OpercleError):
    """A file could not be read or is damaged."""


class RuleError(OpercleError):
    """A rule file is broken, unsafe, unstratified or names an undefined term."""


class QueryError(UsageError):
    """A SPARQL query is malformed or asks for what is not allowed."""


class EndpointError(OpercleError):
    """A SPARQL server cannot be reached, does not answer in time, or not with a result."""
