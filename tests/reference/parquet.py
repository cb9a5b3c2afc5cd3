"""Lets Apache Arrow read what `easeoff sweep --parquet` and `easeoff merge --parquet` wrote, and compare every cell.

Usage: python parquet.py EASEOFF    (the program, built with --features parquet)
pyarrow is an independent reader, a package for Python.
"""

import csv
import json
import math
import pathlib
import subprocess
import sys
import tempfile

import pyarrow as pa
import pyarrow.parquet as pq

# Numbers and words are varied; one pair of pulse widths is refused, so its run fails; in a let-off the heat never
# reaches its limit, and there is no load to measure masking on.
SWEEP = ["sweep", "--demo", "let-off", "--scores", "lurch,heat time,masking", "--parquet"]
VARIED = ["--vary", "tune.calibration.low_us=1000,1400", "--vary", "tune.drag.law=duty,current"]
VARIED += ["--vary", "tune.calibration.neutral_us=1500,1300"]


def run(program, folder, *words):
    done = subprocess.run([program, *words], cwd=folder, capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"easeoff {' '.join(words)}: {done.stderr}")


def cell(text, kind):
    if text == "" and kind != pa.int64():
        return None
    return text if kind == pa.string() else int(text) if kind == pa.int64() else float(text)


def same_as_csv(folder):
    """The number of rows that were compared, and of those that failed and of cells without end."""
    file = pq.ParquetFile(folder / "sweep.parquet")
    table = file.read()
    with open(folder / "sweep.csv", newline="", encoding="utf-8") as text:
        heads, *rows = csv.reader(text)
    assert table.column_names == heads, (table.column_names, heads)
    kinds = [pa.int64(), pa.float64(), pa.string(), *[pa.float64()] * (len(heads) - 4), pa.string()]
    assert table.schema.types == kinds, table.schema
    cells = [[cell(text, kind) for text, kind in zip(row, kinds)] for row in rows]
    assert [list(row.values()) for row in table.to_pylist()] == cells
    told = json.loads(file.metadata.metadata[b"easeoff"])
    written = json.loads((folder / "run.json").read_text(encoding="utf-8"))
    assert told["scores"] == written["scores"] and told["settings_sha256"] == written["settings_sha256"]
    never = sum(math.inf in row for row in cells)
    return len(cells), sum(row[-1] is not None for row in cells), never


def main(program):
    program = str(pathlib.Path(program).resolve())
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        run(program, folder, *SWEEP, *VARIED, "--out", "whole")
        parts = [f"part{k}" for k in (1, 2, 3)]
        for k, part in enumerate(parts, 1):
            run(program, folder, *SWEEP, *VARIED, "--shard", f"{k}/3", "--out", part)
            same_as_csv(folder / part)
        run(program, folder, "merge", *parts, "--parquet", "--out", "joined")
        count, failed, never = same_as_csv(folder / "whole")
        whole, joined = [(folder / f / "sweep.parquet").read_bytes() for f in ("whole", "joined")]
        assert whole == joined, "the joined file differs from the one in one piece"
        assert 0 < failed < count and never, f"{failed} failed, {never} have a score that never comes: too few tried"
        print(f"pyarrow reads {count} rows as sweep.csv has them; {failed} failed, {never} have a score that never comes")


if __name__ == "__main__":
    main(sys.argv[1])
