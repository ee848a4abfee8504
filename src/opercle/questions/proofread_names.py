"""The names of fishes in running text, found in one pass.

Knows: every English and scientific name with its plurals as a dictionary of words, the longest
match first; what each name means when it stands alone; genera shortened to a letter.
Refuses to know: names in other languages, and words that are ordinary English before they are a
fish's (spot, king, native): they are not taken for fishes. It judges nothing.
"""

import re
from collections.abc import Iterator
from typing import NamedTuple
from weakref import WeakKeyDictionary

from opercle.questions.desk import Desk
from opercle.questions.proofread_text import word_set
from opercle.store import Row

WORD = re.compile(r"[^\W\d_]+(?:['’](?!s\b)[^\W\d_]+)*")
_SHORT = re.compile(r"\b([A-Z][a-z]{0,2})\.[ \n*_]{0,2}([a-z]{4,})\b")
_GAP = " \n\t-‐‑*_'’>"
_ORDINARY = word_set(
    """argentina columbia native spot spots giant king star blue silver rock pink red lemon cover
    spring snake flag bone pig goat sail tile trigger barber minister freckle freckles bait bill
    bull butt
    bang bow cab calico chicken chat baker bachelor blink blob blower bumper buffalo bunker convict
    comet corporal dart daylight dog doormat doormats donkey dusky elf fiddler flake flasher
    football forerunner friar frigate giants goldens grinder grinders hamlet haze hog jack jacks
    jumper jumbo kicker kit kite lawyer lean leopard lump lumpy mango mama mongrel monk mort mummy
    mud muddy northern papa patch pelican permit phantom pied pigs pope pug racer rainbow raven
    rays razorback robin rounder router runner sailor sandy scorpion sergeant silky silvers skate
    skates skip skipper sleeper sleepers sleepy slick slimy slip slippery smoker smoothie spade
    speck specks speckles spike spikes spinner squat squire stripe stripes sword tailor tinker toad
    toby tongue torpedo trumpet tusk umber watermelon wife whip witch bat crab cats cat dollar
    goldfinger dolly hickory chad gag goo gou ned gator hick hicks lush maria mariah mayan
    morgan pallid pout queen rigg rugger sable schoolmaster schooner slab snotty sole soles sooty
    spanish spatula springer squealer stinger streaker striper's tang tangs tansy toro toter trag
    warsaw welshman whitey wiper woof yellowbelly zebra cherub chi chum cod's couch crana dab dare
    giants' gizzard glasseye hag horsehead intergrade backcross joey leaf lean lump machete
    mademoiselle magneto mattie millions mingo palmer paloma parr peal piper pinkie poinsettia
    portsider pricker reefer ridgeback roach saboga sail scooter shoalie sierra slicker slimer
    skimmer snapper's suzuki taly tench's tile bloodsucker campbellite eel's emperor emperors
    appleknocker bashaw native's sunny sunnie"""
)
_GROUP = re.compile(r"(?:idae|inae|formes|oidei|oidea)$")


class Use(NamedTuple):
    """One use of a name: its kind, its fish, and the statement that says so."""

    kind: str
    taxon: str
    use: str
    name: str
    followed: bool


class Name:
    """A name in the dictionary: its form and uses, and what it means alone."""

    __slots__ = ("common", "form", "group_word", "meaning", "scientific", "uses")

    def __init__(self, form: str) -> None:
        self.form = form
        self.uses: list[Use] = []
        self.scientific = False
        self.common = False
        self.group_word: str | None = None
        self.meaning: Meaning | None = None


class Meaning(NamedTuple):
    """The one taxon that a name means, or None, and all that it may mean."""

    taxon: str | None
    taxa: tuple[str, ...]
    standing: str


class Mention(NamedTuple):
    """A name in the text, from ``start`` to ``end``."""

    start: int
    end: int
    name: Name
    taxon: str | None
    taxa: tuple[str, ...]
    standing: str
    scientific: bool
    short: bool = False


class Lexicon:
    """All names over one desk, read once by one query."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.names: dict[str, Name] = {}
        self.first: dict[str, int] = {}
        self.binomials: dict[str, dict[str, Name]] = {}
        self.by_epithet: dict[str, dict[str, Name]] = {}
        self.groups: dict[str, Name] = {}
        self.group_words = desk.words_known()
        for row in desk.query("proofread_names"):
            self._take(row)
        for key in sorted(self.names, key=self._weight):
            self._spread(key, self.names[key])

    def _take(self, row: Row) -> None:
        words = WORD.findall(row["form"].lower())
        if not words or (len(words) == 1 and (words[0] in _ORDINARY or len(words[0]) < 3)):
            return
        key = " ".join(words)
        name = self.names.get(key)
        if name is None:
            name = self.names[key] = Name(row["form"])
        kind = row["kind"][3:]
        name.uses.append(Use(kind, row["t"], row["use"], row["n"], bool(row.get("followed"))))
        if kind in ("scientific", "synonym") or (kind == "misapplied" and row["form"][0].isupper()):
            name.scientific = True
            self._latin(words, name)
        else:
            name.common = True
            name.form = row["form"] if not name.scientific else name.form

    def _weight(self, key: str) -> int:
        """Group words first, then standard names: basses is the plural of bass, not of basse."""
        if key.replace(" ", "") in self.group_words:
            return 0
        return 1 if any(u.kind == "standard" for u in self.names[key].uses) else 2

    def _latin(self, words: list[str], name: Name) -> None:
        if len(words) > 1:
            self.binomials.setdefault(words[0], {}).setdefault(" ".join(words[1:]), name)
            self.by_epithet.setdefault(words[1], {}).setdefault(words[0], name)
        else:
            self.groups[words[0]] = name

    def _spread(self, key: str, name: Name) -> None:
        """Put a name under its plurals and its other spellings too."""
        joined = key.replace(" ", "")
        name.group_word = self.group_words.get(joined) if name.common else None
        forms = [key]
        if name.common:
            forms += plurals(key)
            if "-" in name.form or name.group_word:
                forms += [joined, *plurals(joined)]
        for form in forms:
            self.names.setdefault(form, name)
            head, _, rest = form.partition(" ")
            length = 1 + (rest.count(" ") + 1 if rest else 0)
            if length > self.first.get(head, 0):
                self.first[head] = length

    # ---- what a name means -----------------------------------------------------------------

    def meaning(self, name: Name) -> Meaning:
        """What a name means standing alone: the name followed first, then the list's standard."""
        if name.meaning is None:
            name.meaning = self._meaning(name)
        return name.meaning

    def _meaning(self, name: Name) -> Meaning:
        for kind in ("scientific", "standard"):
            taxa = {u.taxon for u in name.uses if u.kind == kind and u.followed}
            if len(taxa) == 1:
                return Meaning(next(iter(taxa)), tuple(taxa), kind)
        taxa = {u.taxon for u in name.uses if u.kind == "standard"}
        if len(taxa) == 1:
            return Meaning(next(iter(taxa)), tuple(taxa), "standard")
        every = tuple(dict.fromkeys(u.taxon for u in name.uses))
        rows = [{"t": u.taxon, "kind": f"op:{u.kind}"} for u in name.uses]
        kept = every if len(every) == 1 else tuple(self.desk.narrow(every, rows))
        kinds = {u.kind for u in name.uses}
        standing = "synonym" if kinds <= {"synonym", "misapplied"} else "nickname"
        standing = "old" if kinds == {"old"} else "group" if "group" in kinds else standing
        return Meaning(kept[0] if len(kept) == 1 else None, kept, standing)

    # ---- the pass over the text ------------------------------------------------------------

    def mentions(
        self, text: str, words: list[str], spans: list[tuple[int, int]]
    ) -> Iterator[Mention]:
        """Every name in the words of a text, the longest first, none within another."""
        first, names, free = self.first, self.names, 0
        for i in [i for i, word in enumerate(words) if word in first]:
            if i < free:
                continue
            word = words[i]
            reach = min(first[word], len(words) - i)
            key = word
            keys = [key]
            for j in range(i + 1, i + reach):
                gap = text[spans[j - 1][1] : spans[j][0]]
                if gap.strip(_GAP) or "\n\n" in gap:
                    break
                key = f"{key} {words[j]}"
                keys.append(key)
            for length in range(len(keys), 0, -1):
                name = names.get(keys[length - 1])
                if name is None:
                    continue
                found = self._mention(text, name, spans[i][0], spans[i + length - 1][1], length)
                if found is not None:
                    free = i + length
                    yield found
                    break

    def _mention(self, text: str, name: Name, start: int, end: int, length: int) -> Mention | None:
        capital = text[start].isupper()
        scientific = name.scientific and (capital or length > 1)
        if name.common and scientific and (length == 1 or not capital):
            scientific = capital and not _opens(text, start)
        if not scientific and not name.common:
            return None
        if length == 1 and not scientific and text[start:end].isupper() and end - start < 4:
            return None
        meaning = self.meaning(name)
        return Mention(start, end, name, *meaning, scientific)

    def shortened(self, text: str, start: int, end: int, seen: set[str]) -> Iterator[Mention]:
        """``M. salmoides``: by the genera that the text has named, else by the only one."""
        for match in _SHORT.finditer(text, start, end):
            head = match[1].lower()
            by_genus = self.by_epithet.get(match[2], {})
            fit = {g: n for g, n in by_genus.items() if g.startswith(head)}
            named = {g: n for g, n in fit.items() if g in seen} or fit
            kept = {n.form: n for n in named.values() if self.meaning(n).standing == "scientific"}
            if len(kept) == 1:
                name = next(iter(kept.values()))
                meant = self.meaning(name)
                at, to = match.span()
                yield Mention(at, to, name, meant.taxon, meant.taxa, meant.standing, True, True)


def plurals(key: str) -> list[str]:
    """The likely plurals of a name: rock basses, perches, crappies, sunfish and sunfishes."""
    if key.endswith(("ss", "x", "ch", "sh")):
        return [key + "es"]
    if key.endswith("wife"):
        return [key[:-2] + "ves"]
    if key.endswith("y") and key[-2:-1] not in "aeiou":
        return [key[:-1] + "ies"]
    return [key + "s"] if not key.endswith("s") else []


def italic_name(name: Name) -> bool:
    """True for a genus, species or subspecies; the names of families and above stand upright."""
    return name.scientific and not _GROUP.search(name.form)


def _opens(text: str, start: int) -> bool:
    """True if a word opens a sentence, where any word has a capital."""
    before = text[max(0, start - 6) : start].rstrip(' \n\t*_"“(#->')
    return not before or before[-1] in ".!?:|"


_kept: "WeakKeyDictionary[Desk, Lexicon]" = WeakKeyDictionary()


def lexicon(desk: Desk) -> Lexicon:
    """The names of a desk, read once."""
    if desk not in _kept:
        _kept[desk] = Lexicon(desk)
    return _kept[desk]
