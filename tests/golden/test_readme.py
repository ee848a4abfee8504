"""What README shows is what the tool prints.

After a change in the knowledge, write it anew with ``python tests/golden/test_readme.py`` and read
the difference before committing it.
"""

import contextlib
import io
import re
from pathlib import Path

README = Path(__file__).parents[2] / "README.md"
ANSWER = ["name", "redeye", "bass", "--water", "Flint", "--year", "1990"]


def printed(argv: list[str]) -> str:
    from opercle.faces import cli

    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert cli.main(argv) == 0
    return "\n".join(line.rstrip() for line in out.getvalue().rstrip().splitlines())


def answer_block() -> str:
    return f"```console\n$ opercle {' '.join(ANSWER)}\n{printed(ANSWER)}\n```"


def status_block() -> str:
    from opercle import Knowledge

    answer = Knowledge(tell=lambda _: None).status()
    counts, kinds = answer.fields["counts"], answer.fields["statements"]
    families = answer.fields["count_shares"]
    lines = [
        "| | |",
        "|---|---|",
        f"| species, genera, families | {counts['species']}, {counts['genera']}, "
        f"{counts['families']} |",
        f"| name uses; names borne by several fishes | {counts['name uses']:,}; "
        f"{counts['names borne by several']:,} |",
        f"| waters; sources | {counts['waters']:,}; {counts['sources']:,} |",
        f"| statements | {kinds['all']:,} |",
        f"| read in their sources | {answer.fields['read_share']:.0%} |",
    ]
    for family in ("Centrarchidae", "Elassomatidae", "Moronidae", "Percidae"):
        share = families[family]
        lines.append(f"| counts of {family} read | {share['read'] / share['all']:.0%} |")
    return "\n".join(lines)


def between(text: str, mark: str) -> str:
    found = re.search(rf"<!-- {mark} -->\n(.*?)\n?<!-- /{mark} -->", text, re.S)
    assert found is not None
    return found.group(1)


def test_readme_shows_the_answer_that_the_tool_prints(monkeypatch):
    monkeypatch.delenv("COLUMNS", raising=False)
    assert between(README.read_text(encoding="utf-8"), "answer") == answer_block()


def test_readme_shows_the_shares_that_status_prints():
    assert between(README.read_text(encoding="utf-8"), "status") == status_block()


def rewrite() -> None:
    text = README.read_text(encoding="utf-8")
    for mark, block in (("answer", answer_block()), ("status", status_block())):
        pattern = rf"(<!-- {mark} -->\n).*?(<!-- /{mark} -->)"
        text = re.sub(pattern, lambda m, b=block: m[1] + b + "\n" + m[2], text, flags=re.S)
    README.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    rewrite()
