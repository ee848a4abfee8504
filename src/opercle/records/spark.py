"""The same SQL on Spark, for tables too large for one machine.

Knows: sessions, views and writing by partition. Needs the extra ``spark`` and a Java.
Refuses to know: the SQL; it is the text that DuckDB runs.
"""

import os
import shutil
from collections.abc import Sequence
from typing import Any

from opercle.errors import FileError, OpercleError, UsageError
from opercle.records.joins import Plan


class Spark:
    """Spark in local workers, or where ``master`` says."""

    name = "spark"

    def __init__(self, folder: str, master: str | None) -> None:
        try:
            from pyspark.sql import SparkSession
        except ImportError:
            raise UsageError(
                "Spark is not installed.", "--engine spark", "pip install 'opercle[spark]'"
            ) from None
        self.folder = folder
        try:
            self.base: Any = (
                SparkSession.builder.appName("opercle settle")
                .master(master or "local[2]")
                .config("spark.ui.enabled", "false")
                .config("spark.sql.shuffle.partitions", "4")
                .config("spark.sql.ansi.enabled", "false")
                .config("spark.ui.showConsoleProgress", "false")
                .config("spark.log.level", "ERROR")
                .config("spark.sql.session.timeZone", "UTC")
                .getOrCreate()
            )
        except Exception as error:
            raise OpercleError(
                f"Spark does not start: {str(error).splitlines()[0]}",
                master or "local[2]",
                "Spark needs Java 17 or later; say where it is with JAVA_HOME.",
            ) from None
        self.base.sparkContext.setLogLevel("ERROR")

    def records(self, parts: Sequence[str]) -> None:
        """Make the parts the table ``records``."""
        self.base.read.parquet(*parts).createOrReplaceTempView("records")

    def put(self, name: str, path: str) -> None:
        """Make a Parquet file a look-up table."""
        self.base.read.parquet(path).createOrReplaceTempView(name)

    def ask(self, sql: str) -> Any:
        """Run SQL; returns an Arrow table."""
        import pyarrow as pa

        frame = self.base.sql(sql)
        rows = frame.collect()
        kinds = {"string": pa.string(), "int": pa.int32(), "bigint": pa.int64()}
        schema = pa.schema([(n, kinds[k]) for n, k in frame.dtypes])
        columns = list(zip(*rows, strict=True)) or [()] * len(schema)
        arrays = [pa.array(c, f.type) for c, f in zip(columns, schema, strict=True)]
        return pa.Table.from_arrays(arrays, schema=schema)

    def write(
        self, plan: Plan, parts: Sequence[str], folder: str, to: str, heard: Any
    ) -> list[str]:
        """Run the SQL over all parts at once; what an unfinished run left is written again."""
        whole = os.path.join(folder, "spark")
        heard(0, 1)
        if not os.path.exists(os.path.join(whole, "_SUCCESS")):
            shutil.rmtree(whole, ignore_errors=True)
            self.records(parts)
            frame = self.base.sql(plan.sql).toDF(*plan.distinct)
            try:
                frame.write.parquet(whole, compression="snappy")
            except Exception as error:
                raise FileError(
                    f"Spark cannot write the rows: {str(error).splitlines()[0]}", whole
                ) from None
        made = sorted(os.path.join(whole, n) for n in os.listdir(whole) if n.endswith(".parquet"))
        return made if to == "parquet" else self._as_csv(made, folder)

    @staticmethod
    def _as_csv(parts: Sequence[str], folder: str) -> list[str]:
        import duckdb

        made = []
        with duckdb.connect() as base:
            for number, part in enumerate(parts):
                path = os.path.join(folder, f"rows-{number:05d}.csv")
                source, target = part.replace("'", "''"), f"{path}.part".replace("'", "''")
                base.execute(
                    f"COPY (SELECT * FROM read_parquet('{source}')) TO '{target}' "
                    "(FORMAT csv, HEADER false, NULLSTR '')"
                )
                os.replace(f"{path}.part", path)
                made.append(path)
        return made

    def close(self) -> None:
        """Let go of everything."""
        self.base.stop()
