"""Plain questions read by a small grammar that shows what it understood.

Knows: a dozen forms of question in English, and when none fits.
Refuses to know: any fish. A sentence that fits no form is not guessed at.
"""

import re
from typing import NamedTuple
from urllib.parse import urlencode

_A = r"(?:an?|the|any)\s+"
_SURE = r"(?:really|actually|truly|in fact|even)\s+"
_ONE, _TWO = rf"(?:{_A})?(?P<one>.+?)", rf"(?:{_A})?(?P<two>.+?)"
_TELL = r"how (?:do i |can i |do you |to )?tell"
_DIFFER = r"(?:what is |what['’]s )?the difference between"
_NOT = r"(?:isn['’]?t|aren['’]?t)"
_FORMS: tuple[tuple[str, str], ...] = (
    (
        "why",
        rf"why (?:is|are|{_NOT}) (?:{_A})?(?P<taxon>.+?) (?:a|in|of) .+? "
        rf"(?:and|but|rather than|instead of),? (?:not )?(?:{_A}|in |of )?(?P<other>.+)",
    ),
    (
        "why",
        rf"why (?:is|are) (?:{_A})?(?P<taxon>.+?) not "
        rf"(?:{_A}|(?:in|of) (?:the )?)?(?P<other>.+)",
    ),
    ("why", rf"why {_NOT} {_A}(?P<taxon>.+?) {_A}(?P<other>.+)"),
    (
        "really",
        rf"(?:is|are) (?:{_A})?(?P<name>.+?) {_SURE}(?:{_A})?(?:true |real )?(?P<word>.+)",
    ),
    ("really", rf"(?:is|are) (?:{_A})?(?P<name>.+?) {_A}(?:true |real |kind of )?(?P<word>.+)"),
    ("compare", rf"{_TELL} {_ONE} from {_TWO}(?: apart)?"),
    ("compare", rf"{_DIFFER} {_ONE} and {_TWO}"),
    ("compare", rf"{_ONE} (?:vs\.?|versus|or) {_TWO}"),
    (
        "key",
        r"(?:a )?key (?:to|for) (?:the )?(?P<taxon>.+?)(?: (?:in|of) (?:the )?(?P<water>.+))?",
    ),
    ("water", r"(?:what|which) fish(?:es)? (?:live|are|occur|swim)s? in (?:the )?(?P<water>.+)"),
    (
        "name",
        rf"(?:what|which)(?: fish)? (?:is|are|does) (?:{_A}|called )?[\"“]?(?P<name>.+?)[\"”]?"
        r"(?: mean)?(?: in (?:the )?(?P<where>(?!\d).+?))?(?: in (?P<year>\d{4}))?",
    ),
    ("name", r"(?P<name>.+?) in (?:the )?(?P<where>(?!\d).+?)(?: in (?P<year>\d{4}))?"),
    ("name", r"(?P<name>.+?) in (?P<year>\d{4})"),
    ("account", rf"(?:tell me|what is known) about (?:{_A})?(?P<taxon>.+)"),
)
_RULES = [(kind, re.compile(form, re.I)) for kind, form in _FORMS]
_ASKING = re.compile(r"^(?:why|how|what|which|who|where|when|is|are|does|do|can|should)\b", re.I)
MOST = 200


class Read(NamedTuple):
    """A sentence as read: the kind of question, its parts, and in words what was understood."""

    kind: str
    parts: dict[str, str]
    says: str

    @property
    def path(self) -> str:
        """Where the question is answered."""
        paths = {"compare": "/compare", "key": "/key", "water": "/waters", "account": "/account"}
        path = paths.get(self.kind, f"/answer/{self.kind}")
        return f"{path}?{urlencode(self.parts)}"


_SAYS = {
    "why": "Why is “{taxon}” placed where it is, and not with “{not}”?",
    "really": "Is “{name}” really what the word “{word}” means?",
    "compare": "How are “{a}” and “{b}” told apart?",
    "key": "A key to “{taxon}”.",
    "water": "Which fishes live in “{water}”?",
    "account": "What is known of “{taxon}”?",
    "name": "Which fish does the name “{name}” mean?",
}


def read(sentence: str) -> Read | None:
    """What a sentence asks; None for a question that fits no form known here.

    What is no question is read as a name.
    """
    plain = " ".join(sentence.split())[:MOST].rstrip("?!. ")
    for kind, form in _RULES:
        found = form.fullmatch(plain)
        if found:
            return _read(kind, {k: v.strip() for k, v in found.groupdict().items() if v})
    if _ASKING.match(plain) and " " in plain:
        return None
    return _read("name", {"name": plain})


def _read(kind: str, parts: dict[str, str]) -> Read:
    if kind == "why":
        parts = {"taxon": parts["taxon"], "not": parts["other"]}
    if kind == "compare":
        parts = {"a": parts["one"], "b": parts["two"]}
    return Read(kind, parts, _SAYS[kind].format_map(parts))
