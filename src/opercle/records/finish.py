"""The end of a run: count again, write the pages and lists, and put all in place at once.

Knows: the files a run leaves and their names; that rows in = rows out + rows refused, or nothing
is put in place. Refuses to know: how anything was decided.
"""

import os
import shutil
import time
from collections.abc import Sequence
from typing import Any

from opercle.answers import Answer
from opercle.build import VERSION
from opercle.questions.desk import Desk
from opercle.records import digest, engines, summary
from opercle.records.decided import HEADINGS, Decided
from opercle.records.deciding import Decider
from opercle.records.job import OUTCOMES, Done, Options, fail, kind_of, knowledge, save, write_csv

_CHUNK = 16 << 20


def finish(
    decider: Decider,
    decided: Decided,
    done: Sequence[Done],
    options: Options,
    engine: engines.Engine,
    work: str,
    heard: Any,
) -> Answer:
    """Check the counts, write what a run leaves, and rename it into the folder."""
    desk = decider.desk
    final = os.path.join(work, "final")
    shutil.rmtree(final, ignore_errors=True)
    os.makedirs(final)
    heard("writing", 0, 1)
    counted = digest.digest(done)
    names = _names(done)
    made: list[str] = []
    rows_out = 0
    for one, name in zip(done, names, strict=True):
        rows_out += _rows(one, name, options, final, made)
        write_csv(
            os.path.join(final, f"{name}-rejects.csv"),
            ("line", "reason", "row"),
            [tuple(r) for r in one.staged.rejects],
        )
        made.append(f"{name}-rejects.csv")
    rejected = sum(len(o.staged.rejects) for o in done)
    rows_in = sum(o.staged.rows_in for o in done)
    _agree(rows_in, rows_out, rejected, counted)
    write_csv(
        os.path.join(final, "decisions.csv"),
        HEADINGS,
        list(digest.decision_lines(done, decided)),
    )
    facts = _facts(desk, done, options, engine, rows_in, rows_out, rejected, counted, decided)
    page = summary.page(decider, done, facts, counted)
    with open(os.path.join(final, "summary.html"), "w", encoding="utf-8") as file:
        file.write(page)
    made += ["decisions.csv", "summary.html", "summary.json", "manifest.json"]
    files = [os.path.join(options.out, m) for m in made]
    save(os.path.join(final, "summary.json"), {**facts, "files": files})
    save(os.path.join(final, "manifest.json"), _manifest(desk, done, options, engine, facts, made))
    _place(final, options.out, made)
    return _answer(options, facts, files)


def _names(done: Sequence[Done]) -> list[str]:
    taken: dict[str, int] = {}
    names = []
    for one in done:
        stem = one.source.stem
        taken[stem] = taken.get(stem, 0) + 1
        names.append(stem if taken[stem] == 1 else f"{stem}-{taken[stem]}")
    return names


# ---- the rows ----------------------------------------------------------------------------------


def _rows(one: Done, name: str, options: Options, final: str, made: list[str]) -> int:
    """Put the rows of one input together; returns how many there are, counted in the files."""
    if options.to == "dwca":
        from opercle.records import archive

        path = f"{name}-dwca.zip"
        count = archive.write(one, os.path.join(final, path))
        made.append(path)
        return count
    if kind_of(options, one.source) == "parquet":
        made.append(f"{name}-settled.parquet")
        return _parquet(one, os.path.join(final, f"{name}-settled.parquet"))
    made.append(f"{name}-settled.csv")
    return _csv(one, os.path.join(final, f"{name}-settled.csv"))


def _csv(one: Done, path: str) -> int:
    write_csv(path, one.plan.headings, [])
    count = 0
    with open(path, "ab") as out:
        for part in one.rows:
            with open(part, "rb") as file:
                shutil.copyfileobj(file, out, _CHUNK)
            count += counted_csv(part)
        out.flush()
        os.fsync(out.fileno())
    return count


def counted_csv(path: str) -> int:
    """The records in a well-formed CSV: line ends outside quotes."""
    count, inside = 0, False
    with open(path, "rb") as file:
        while chunk := file.read(_CHUNK):
            if not inside and b'"' not in chunk:
                count += chunk.count(b"\n")
                continue
            for number, piece in enumerate(chunk.split(b'"')):
                inside = not inside if number else inside
                if not inside:
                    count += piece.count(b"\n")
    return count


def _parquet(one: Done, path: str) -> int:
    """One file, or a folder of parts where there are several. Links, so that a kill loses none."""
    from pyarrow import parquet

    if len(one.rows) > 1:
        os.makedirs(path)
    count = 0
    for number, part in enumerate(one.rows):
        target = path if len(one.rows) == 1 else os.path.join(path, f"part-{number:05d}.parquet")
        try:
            os.link(part, target)
        except OSError:
            shutil.copyfile(part, target)
        count += parquet.read_metadata(target).num_rows
    return count


def _agree(rows_in: int, rows_out: int, rejected: int, counted: digest.Digest) -> None:
    if rows_in != rows_out + rejected:
        raise fail(
            f"{rows_in} rows came in, {rows_out} went out and {rejected} were refused.", "the rows"
        )
    if sum(counted.outcomes.values()) != rows_out:
        told = sum(counted.outcomes.values())
        raise fail(f"{rows_out} rows went out and {told} were decided.", "the decisions")


# ---- lists and answers -------------------------------------------------------------------------


def _facts(
    desk: Desk,
    done: Sequence[Done],
    options: Options,
    engine: engines.Engine,
    rows_in: int,
    rows_out: int,
    rejected: int,
    counted: digest.Digest,
    decided: Decided,
) -> dict[str, Any]:
    return {
        "rows_in": rows_in,
        "rows_out": rows_out,
        "rows_rejected": rejected,
        "by_outcome": {k: counted.outcomes.get(k, 0) for k in OUTCOMES},
        "by_settled_by": dict(counted.by.most_common()),
        "by_doubt": dict(counted.doubts.most_common()),
        "distinct_names": counted.names,
        "distinct_by_outcome": {k: counted.distinct.get(k, 0) for k in OUTCOMES},
        "columns": [
            {
                "file": o.source.path,
                "read": o.columns.told(),
                "notes": [*o.source.notes, *o.columns.report],
            }
            for o in done
        ],
        "decisions_read": options.decisions,
        "decisions_unused": decided.unused(),
        "engine": engine.name,
        "knowledge": knowledge(desk),
        "version": VERSION,
        "made": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
    }


def _manifest(
    desk: Desk,
    done: Sequence[Done],
    options: Options,
    engine: engines.Engine,
    facts: dict[str, Any],
    made: Sequence[str],
) -> dict[str, Any]:
    from opercle.records.staging import sha256

    return {
        "inputs": [
            {
                "file": os.path.basename(o.source.path),
                "kind": o.source.kind,
                "sha256": o.staged.sha256,
                "rows_in": o.staged.rows_in,
                "rows_rejected": len(o.staged.rejects),
                "parts": o.staged.rows,
            }
            for o in done
        ],
        "knowledge": knowledge(desk),
        "decisions": sha256(options.decisions) if options.decisions else None,
        "names_by": options.names_by,
        "engine": engine.name,
        "version": facts["version"],
        "made": facts["made"],
        "files": list(made),
    }


def _place(final: str, out: str, made: Sequence[str]) -> None:
    """Rename everything into the folder, the manifest last."""
    for name in made:
        target = os.path.join(out, name)
        if os.path.isdir(target):
            shutil.rmtree(target)
        elif os.path.isdir(os.path.join(final, name)) and os.path.exists(target):
            os.unlink(target)
        os.replace(os.path.join(final, name), target)


def _answer(options: Options, facts: dict[str, Any], files: list[str]) -> Answer:
    shares = facts["by_outcome"]
    told = (
        f"{facts['rows_in']} rows: {shares['settled']} settled, {shares['open']} open, "
        f"{shares['unknown']} unknown, {facts['rows_rejected']} refused."
    )
    question = {
        "out": options.out,
        "engine": options.engine,
        "names_by": options.names_by,
        "decisions": options.decisions,
    }
    return Answer(question, "done", told, [], [], {**facts, "files": files})
