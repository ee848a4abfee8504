"""Questions about what can be seen and counted on a fish.

Knows: four kinds: how many; what state; which character tells two fishes apart surely; which fish
of several shows what is told.
Refuses to know: colour, habits, characters that vary within a species, and wrong answers that
could be right: they come from fishes whose values cannot meet those of the fish asked about.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations
from random import Random

from opercle.answers import listed
from opercle.questions.features import COUNT, HABITS, STATE
from opercle.questions.quiz import OPTIONS, Item, Option, Stock, cited
from opercle.questions.subjects import upper
from opercle.questions.values import AGREES, DECIDES, Value, bounded, by_use, widened

_HIDDEN = "by dissection"
_TOLD = 3


def _usable(stock: Stock, taxon: str, kind: str) -> list[tuple[str, Value]]:
    """The dependable characters of a kind known of a taxon, the easiest seen first."""
    found = []
    for key, value in stock.of(taxon).items():
        feature = stock.known.get(key)
        if feature is None or feature.kind != kind or not feature.dependable or key in HABITS:
            continue
        if bounded(value) and not (value.range is not None and value.range.most is None):
            found.append((key, value))
    return sorted(found, key=lambda kv: by_use(stock.known[kv[0]].character))


def _others(stock: Stock, rng: Random, taxon: str) -> list[str]:
    """The other fishes of the sheet, then their kin in an order of the seed's own."""
    kin = list(stock.kin)
    rng.shuffle(kin)
    return [t for t in (*stock.taxa, *kin) if t != taxon]


def count(stock: Stock, rng: Random) -> Iterator[Item]:
    """How many spines, rays, scales: the wrong numbers are those of fishes that differ."""
    for taxon in stock.taxa:
        for key, value in _usable(stock, taxon, COUNT):
            label = stock.known[key].character.label
            wrong = _wrong_counts(stock, _others(stock, rng, taxon), key, value)
            if len(wrong) < 2:
                continue
            right = Option(
                str(value.range), True, f"so has {stock.name(taxon)}", cited(stock, value)
            )
            asks = f"How many {label} does {stock.name(taxon)} have?"
            yield Item("count", taxon, f"count {key}", asks, (right, *wrong))


def _wrong_counts(stock: Stock, pool: Sequence[str], key: str, value: Value) -> list[Option]:
    found: list[Option] = []
    taken = [value]
    for other in pool:
        theirs = stock.of(other).get(key)
        if theirs is None or theirs.range is None or theirs.range.most is None:
            continue
        if any(not v.cannot_meet(theirs) for v in taken):
            continue
        why = f"that is {stock.name(other)}"
        found.append(Option(str(theirs.range), False, why, cited(stock, theirs)))
        taken.append(theirs)
        if len(found) == OPTIONS - 1:
            break
    return found


def state(stock: Stock, rng: Random) -> Iterator[Item]:
    """What a part looks like: the wrong states are those of fishes that cannot share it."""
    for taxon in stock.taxa:
        for key, value in _usable(stock, taxon, STATE):
            character = stock.known[key].character
            wrong: list[Option] = []
            taken = [value]
            for other in _others(stock, rng, taxon):
                theirs = stock.of(other).get(key)
                if theirs is None or any(not v.cannot_meet(theirs) for v in taken):
                    continue
                why = f"that is {stock.name(other)}"
                wrong.append(Option(_told(stock, theirs), False, why, cited(stock, theirs)))
                taken.append(theirs)
            if len(wrong) < 2 or character.seen == _HIDDEN:
                continue
            why = f"so it is in {stock.name(taxon)}"
            right = Option(_told(stock, value), True, why, cited(stock, value))
            asks = f"{upper(stock.name(taxon))}: {character.asks[:1].lower()}{character.asks[1:]}"
            options = (right, *wrong[: OPTIONS - 1])
            yield Item("state", taxon, f"state {key}", asks, options)


def _told(stock: Stock, value: Value) -> str:
    return str(stock.values.told(value))


def sure(stock: Stock, rng: Random) -> Iterator[Item]:
    """Which character tells two fishes apart surely: the others are alike in both, or mislead."""
    for one, two in combinations(stock.taxa, 2):
        alike, deciding = [], []
        for key, feature in stock.known.items():
            a, b = stock.of(one).get(key), stock.of(two).get(key)
            if a is None or b is None or key in HABITS:
                continue
            verdict = stock.values.verdict(key, None, a, b)
            if not feature.counts:
                alike.append(_misleads(stock, key, a, b))
            elif verdict == DECIDES and feature.character.seen != _HIDDEN:
                deciding.append((key, a, b))
            elif verdict == AGREES and feature.dependable and _alike(a, b):
                alike.append(_same(stock, key, a, b, one, two))
        if len(alike) < 2:
            continue
        deciding.sort(key=lambda d: by_use(stock.known[d[0]].character))
        for key, a, b in deciding[:_TOLD]:
            rng.shuffle(alike)
            label = stock.known[key].character.label
            why = f"{_told(stock, a)} in {stock.name(one)}, {_told(stock, b)} in {stock.name(two)}"
            right = Option(label, True, why, (*cited(stock, a)[:1], *cited(stock, b)[:1]))
            asks = f"Which of these tells {stock.name(one)} from {stock.name(two)} for certain?"
            wrong = tuple(alike[: OPTIONS - 1])
            yield Item("sure", one, f"{one} {two}", asks, (right, *wrong))


def _alike(a: Value, b: Value) -> bool:
    """True if a fish of either kind can show what the other shows as a rule."""
    if a.range is not None and b.range is not None:
        return a.range.usual.overlaps(b.range.usual)
    return bool(widened(a.states) & widened(b.states))


def _same(stock: Stock, key: str, a: Value, b: Value, one: str, two: str) -> Option:
    if _told(stock, a) == _told(stock, b):
        why = f"{_told(stock, a)} in both"
    else:
        why = (
            f"{_told(stock, a)} in {stock.name(one)}, {_told(stock, b)} in {stock.name(two)}: "
            "they can be alike"
        )
    label = stock.known[key].character.label
    return Option(label, False, why, (*cited(stock, a)[:1], *cited(stock, b)[:1]))


def _misleads(stock: Stock, key: str, a: Value, b: Value) -> Option:
    label = stock.known[key].character.label
    why = "colour never decides: it shifts with stress, light, water and season"
    return Option(label, False, why, (*cited(stock, a)[:1], *cited(stock, b)[:1]))


def which(stock: Stock, rng: Random) -> Iterator[Item]:
    """Which fish shows what is told: each of the others is ruled out by one of the characters."""
    if len(stock.taxa) < 2:
        return
    for taxon in stock.taxa:
        others = [t for t in stock.taxa if t != taxon]
        rng.shuffle(others)
        mine = [kv for kind in (COUNT, STATE) for kv in _usable(stock, taxon, kind)]
        mine = [kv for kv in mine if stock.known[kv[0]].character.seen != _HIDDEN]
        chosen, out = _cover(stock, mine, others[: OPTIONS - 1])
        if not out or not chosen:
            continue
        signs = listed([_sign(stock, key, value) for key, value in chosen])
        statements = tuple(s for _, v in chosen for s in cited(stock, v)[:1])
        right = Option(stock.bare(taxon), True, "all of it fits", statements)
        wrong = tuple(_ruled_out(stock, other, key) for other, key in out)
        asks = f"A fish shows {signs}. Which of these can it be?"
        yield Item("which", taxon, f"which {taxon}", asks, (right, *wrong))


def _cover(
    stock: Stock, mine: Sequence[tuple[str, Value]], others: Sequence[str]
) -> tuple[list[tuple[str, Value]], list[tuple[str, str]]]:
    """Few characters that rule out as many of the others as can be; and by which each goes."""
    left = list(others)
    chosen: list[tuple[str, Value]] = []
    out: list[tuple[str, str]] = []
    while left and len(chosen) < _TOLD:
        ranked = [(len(_against(stock, kv, left)), -i, kv) for i, kv in enumerate(mine)]
        best = max(ranked, key=lambda r: r[:2], default=(0, 0, None))
        if not best[0] or best[2] is None:
            break
        gone = _against(stock, best[2], left)
        chosen.append(best[2])
        out += [(other, best[2][0]) for other in gone]
        left = [t for t in left if t not in gone]
    return chosen, out


def _against(stock: Stock, mine: tuple[str, Value], others: Sequence[str]) -> list[str]:
    key, value = mine
    return [t for t in others if (v := stock.of(t).get(key)) and value.cannot_meet(v)]


def _sign(stock: Stock, key: str, value: Value) -> str:
    """One value that the fish shows, in the words of the character."""
    label = stock.known[key].character.label
    if value.range is not None:
        usual = value.range.usual
        number = usual.least if usual.most is None else int((usual.least + usual.most) / 2)
        return f"{number:g} {label.removesuffix('s') if number == 1 else label}"
    order = [label for s, label in stock.known[key].states if s in value.states]
    return f"{label}: {order[0]}" if order else label


def _ruled_out(stock: Stock, other: str, key: str) -> Option:
    value = stock.of(other)[key]
    label = stock.known[key].character.label
    told = _told(stock, value)
    why = f"it has {told} {label}" if value.range is not None else f"its {label}: {told}"
    return Option(stock.bare(other), False, why, cited(stock, value))
