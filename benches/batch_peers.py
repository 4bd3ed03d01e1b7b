"""Scoring tables of houses against the tools an analyst has at hand.

    python benches/batch_peers.py                    # every case at 1 M rows
    python benches/batch_peers.py memory --large     # one case, also at 10 M rows
    python benches/batch_peers.py parquet csv --rows 300000 --threads 1 --json out.json

Each peer is held to the figures of studbay, to 1e-9 on 10,000 rows, before it is timed. Rounds are
interleaved (A B C, A B C, ...), so that a slow moment of the machine hits all of them. The ratios
say how many times as long as studbay a peer takes. `benches/README.md` says what each case is.
"""

from __future__ import annotations

import argparse
import gc
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pyarrow as pa

CHECKED_ROWS = 10_000
TOLERANCE = 1e-9
SHAPES = ("full", "heat")
CASES = ("memory", "strings", "threads", "parquet", "csv", "peak")

Run = Callable[[], object]


# ------------------------------------------------------------------ contestants
# Imported late: a child that measures memory must hold one tool alone, and Polars reads the number
# of its threads when it is imported.


def in_memory(name: str, houses: pa.Table, threads: int) -> Callable[[], Any]:
    """Scores a table in memory with one tool."""
    if name == "studbay":
        import pyarrow as pa

        import studbay

        return lambda: pa.table(studbay.score(houses, threads=threads))
    if name == "numpy":
        from peers import numpy_blocks

        # In one piece, so that columns become arrays without a copy.
        whole = houses.combine_chunks()
        return lambda: numpy_blocks.score(whole, threads)
    if name == "polars":
        import polars as pl
        from peers import polars_lazy

        # Its own table in and out: the way from and to Arrow is not charged.
        frame = pl.DataFrame(houses)
        return lambda: polars_lazy.score(frame)
    if name == "duckdb":
        from peers import duckdb_sql

        connection = duckdb_sql.connect(threads)
        return lambda: duckdb_sql.score(connection, houses)
    if name == "numba":
        from peers import numba_kernel

        whole = houses.combine_chunks()
        return lambda: numba_kernel.score(whole, threads)
    raise ValueError(name)


MEMORY_TOOLS = ("studbay", "numpy", "polars", "duckdb", "numba")


def file_run(name: str, source: Path, target: Path, threads: int) -> Run:
    """Scores a file into a file of the same kind with one tool."""
    kind = source.suffix
    if name == "studbay":
        import studbay

        return lambda: studbay.score_file(source, target, force=True, threads=threads)
    if name == "polars":
        import polars as pl
        from peers import polars_lazy

        def by_polars() -> None:
            houses = pl.scan_parquet(source) if kind == ".parquet" else pl.scan_csv(source)
            results = polars_lazy.query(houses, houses.collect_schema().names())
            if kind == ".parquet":
                # The quickest of its codecs here; zstd is the default.
                results.sink_parquet(target, compression="snappy")
            else:
                results.sink_csv(target)

        return by_polars
    if name == "polars read":
        import polars as pl

        read = pl.read_parquet if kind == ".parquet" else pl.read_csv
        return lambda: read(source)
    if name == "duckdb":
        from peers import duckdb_sql

        connection = duckdb_sql.connect(threads)
        scan = f"read_{kind[1:]}('{source}')"
        names = connection.sql(f"SELECT * FROM {scan}").columns
        how = "FORMAT parquet" if kind == ".parquet" else "FORMAT csv, HEADER"
        statement = f"COPY ({duckdb_sql.query(scan, names)}) TO '{target}' ({how})"
        return lambda: connection.execute(statement)
    if name == "studbay stream":
        import pyarrow as pa
        import pyarrow.parquet as pq

        import studbay

        def by_stream() -> None:
            # Without this it keeps what it has read.
            with pq.ParquetFile(source, pre_buffer=False) as file:
                batches = file.iter_batches(1 << 16)
                reader = pa.RecordBatchReader.from_batches(file.schema_arrow, batches)
                scored = pa.RecordBatchReader.from_stream(
                    studbay.score_stream(reader, threads=threads)
                )
                with pq.ParquetWriter(target, scored.schema) as writer:
                    for batch in scored:
                        writer.write_batch(batch)

        return by_stream
    raise ValueError(name)


# ------------------------------------------------------------------ data on disk


def write_houses(path: Path, rows: int, shape: str) -> None:
    """A file of houses, written batch by batch."""
    import pyarrow as pa
    import pyarrow.csv as pa_csv
    import pyarrow.parquet as pq
    from peers import data

    def batches() -> Iterator[pa.RecordBatch]:
        for first in range(0, rows, data.BATCH_ROWS):
            part = min(data.BATCH_ROWS, rows - first)
            yield pa.RecordBatch.from_pydict(data.columns(part, shape, first))

    schema = data.table(1, shape).schema
    if path.suffix == ".parquet":
        with pq.ParquetWriter(path, schema) as writer:
            for batch in batches():
                writer.write_batch(batch)
        return
    options = pa_csv.WriteOptions(quoting_style="none")
    with pa_csv.CSVWriter(path, schema, write_options=options) as writer:
        for batch in batches():
            writer.write_batch(batch)


# ------------------------------------------------------------------ peers held to studbay


def differences(name: str, ours: pa.Table, theirs: pa.Table) -> list[str]:
    """What a peer has otherwise than studbay, a line each."""
    import numpy as np
    from peers import data

    faults = []
    if ours["house_id"].to_pylist() != theirs["house_id"].to_pylist():
        faults.append(f"{name}: house_id differs")
    for column in data.RESULTS:
        mine = ours[column].to_numpy(zero_copy_only=False).astype(float)
        other = theirs[column].to_numpy(zero_copy_only=False).astype(float)
        missing = np.isnan(mine) != np.isnan(other)
        if missing.any():
            faults.append(f"{name}: {column} is missing otherwise in {missing.sum()} rows")
        off = np.abs(mine - other) > TOLERANCE * np.maximum(1, np.abs(mine))
        if off.any():
            row = int(off.argmax())
            faults.append(f"{name}: {column} of row {row} is {other[row]}, not {mine[row]}")
    if ours["readiness"].to_pylist() != theirs["readiness"].to_pylist():
        faults.append(f"{name}: readiness differs")
    return faults


def check_peers(threads: int) -> None:
    """Ends the program where a peer is wrong."""
    import pyarrow as pa
    from peers import data

    faults = []
    for shape in SHAPES:
        for houses in [t := data.table(CHECKED_ROWS, shape), data.with_dictionary(t)]:
            ours = in_memory("studbay", houses, threads)()
            rejected = ours.num_rows - ours["faults"].null_count
            if rejected:
                faults.append(f"studbay rejects {rejected} of the houses")
            for name in MEMORY_TOOLS[1:]:
                theirs = pa.table(in_memory(name, houses, threads)())
                faults += differences(f"{name}, {shape}", ours, theirs)
    if faults:
        sys.exit("\n".join(faults))
    print(f"every peer agrees with studbay to {TOLERANCE:g} on {CHECKED_ROWS:,} rows\n")


def check_files(paths: dict[str, Path], kind: str, label: str) -> None:
    """The same for what they wrote."""
    import pyarrow.csv as pa_csv
    import pyarrow.parquet as pq

    def read(path: Path) -> pa.Table:
        if kind == "parquet":
            return pq.read_table(path)
        return pa_csv.read_csv(path)

    ours = read(paths["studbay"])
    faults = []
    for name, path in paths.items():
        if name != "studbay":
            faults += differences(f"{name}, {label}", ours, read(path))
    if faults:
        sys.exit("\n".join(faults))


# ------------------------------------------------------------------ time


def interleaved(runs: dict[str, Run], rounds: int) -> dict[str, list[float]]:
    """Seconds of every round of every run; one round before is not counted."""
    seconds: dict[str, list[float]] = {name: [] for name in runs}
    for round_ in range(rounds + 1):
        for name, run in runs.items():
            gc.collect()
            begun = time.perf_counter()
            result = run()
            taken = time.perf_counter() - begun
            del result
            if round_:
                seconds[name].append(taken)
    return seconds


def load() -> float:
    """How many processes wanted a core in the last minute."""
    return os.getloadavg()[0]


def report(title: str, rows: int, seconds: dict[str, list[float]], base: str) -> dict[str, Any]:
    """Prints a case; `base` is what the others are held against."""
    medians = {name: statistics.median(times) for name, times in seconds.items()}
    print(f"{title}, {rows:,} rows, load {load():.1f}")
    print(f"  {'':22} {'median s':>9} {'least':>8} {'most':>8} {'M rows/s':>9} {'ratio':>6}")
    lines = {}
    for name, times in seconds.items():
        ratio = medians[name] / medians[base]
        rate = rows / medians[name] / 1e6
        print(
            f"  {name:22} {medians[name]:9.3f} {min(times):8.3f} {max(times):8.3f} "
            f"{rate:9.2f} {ratio:6.2f}"
        )
        lines[name] = {"seconds": times, "median": medians[name], "ratio": ratio}
    print(flush=True)
    return {"case": title, "rows": rows, "load": load(), "base": base, "runs": lines}


def memory_case(rows: int, args: argparse.Namespace) -> Iterator[dict[str, Any]]:
    from peers import data

    for shape in SHAPES:
        houses = data.table(rows, shape)
        runs = {name: in_memory(name, houses, args.threads) for name in MEMORY_TOOLS}
        title = f"in memory, {shape}, {args.threads} threads"
        yield report(title, rows, interleaved(runs, args.rounds), "studbay")


def strings_case(rows: int, args: argparse.Namespace) -> Iterator[dict[str, Any]]:
    from peers import data

    plain = data.table(rows, "full")
    columns = {"string": plain, "dictionary": data.with_dictionary(plain)}
    for kind, arrow in [("large_string", "large_string"), ("string_view", "string_view")]:
        place = plain.column_names.index("fuel")
        columns[kind] = plain.set_column(place, "fuel", plain["fuel"].cast(arrow))
    runs = {
        f"fuel as {kind}": in_memory("studbay", houses, args.threads)
        for kind, houses in columns.items()
    }
    yield report(
        "studbay by the type of fuel", rows, interleaved(runs, args.rounds), "fuel as dictionary"
    )


def threads_case(rows: int, args: argparse.Namespace) -> Iterator[dict[str, Any]]:
    from peers import data

    # Polars takes its number of threads once, when it is imported.
    houses = data.table(rows, "full")
    runs = {
        f"{name}, {threads} threads": in_memory(name, houses, threads)
        for name in MEMORY_TOOLS
        if name != "polars"
        for threads in (1, args.threads)
    }
    base = f"studbay, {args.threads} threads"
    yield report("threads", rows, interleaved(runs, args.rounds), base)


def file_case(kind: str, rows: int, args: argparse.Namespace) -> Iterator[dict[str, Any]]:
    tools = ["studbay", "polars", "duckdb", "polars read"]
    for shape in SHAPES:
        with tempfile.TemporaryDirectory(dir=args.scratch) as scratch:
            small = Path(scratch, f"small.{kind}")
            write_houses(small, CHECKED_ROWS, shape)
            outputs = {name: Path(scratch, f"{name}.{kind}") for name in tools[:3]}
            for name, path in outputs.items():
                file_run(name, small, path, args.threads)()
            check_files(outputs, kind, f"{kind}, {shape}")

            source = Path(scratch, f"houses.{kind}")
            write_houses(source, rows, shape)
            runs = {
                name: file_run(name, source, outputs.get(name, source), args.threads)
                for name in tools
            }
            title = f"{kind} to {kind}, {shape}, {args.threads} threads"
            result = report(title, rows, interleaved(runs, args.rounds), "studbay")
            sizes = {name: path.stat().st_size for name, path in outputs.items()}
            sizes["input"] = source.stat().st_size
            print("  MB: " + ", ".join(f"{name} {n / 1e6:.0f}" for name, n in sizes.items()), "\n")
            yield result | {"bytes": sizes}


# ------------------------------------------------------------------ memory


def resident_peak() -> int:
    """The most memory that this process held, in bytes.

    Where the system tells it of this program alone. `ru_maxrss` may be that of the parent, which
    a child takes over.
    """
    try:
        status = Path("/proc/self/status").read_text()
        line = next(line for line in status.splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) * 1024
    except (OSError, StopIteration):
        import resource

        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        return peak if sys.platform == "darwin" else peak * 1024


def child(name: str, source: Path, target: Path, threads: int) -> None:
    """Runs one path alone and prints what it held."""
    run = file_run(name, source, target, threads)
    before = resident_peak()
    begun = time.perf_counter()
    run()
    seconds = time.perf_counter() - begun
    print(json.dumps({"imports": before, "peak": resident_peak(), "seconds": seconds}))


def peak_case(sizes: list[int], args: argparse.Namespace) -> Iterator[dict[str, Any]]:
    paths = [("studbay", "parquet"), ("studbay stream", "parquet"), ("studbay", "csv")]
    paths += [(name, kind) for name in ("polars", "duckdb") for kind in ("parquet", "csv")]
    first: dict[tuple[str, str], int] = {}
    print("memory above the imports, MB")
    for rows in sizes:
        for kind in ("parquet", "csv"):
            with tempfile.TemporaryDirectory(dir=args.scratch) as scratch:
                source = Path(scratch, f"houses.{kind}")
                write_houses(source, rows, "full")
                for name, its_kind in paths:
                    if its_kind != kind:
                        continue
                    target = Path(scratch, f"out.{kind}")
                    command = [sys.executable, __file__, "--child", name, str(source), str(target)]
                    command += ["--threads", str(args.threads)]
                    env = os.environ | {"POLARS_MAX_THREADS": str(args.threads)}
                    done = subprocess.run(command, env=env, stdout=subprocess.PIPE, check=True)
                    target.unlink(missing_ok=True)
                    held = json.loads(done.stdout)
                    above = held["peak"] - held["imports"]
                    before = first.setdefault((name, kind), above)
                    growth = above / before - 1 if before else 0.0
                    print(
                        f"  {name:16} {kind:8} {rows:11,} rows  {above / 1e6:8.0f}"
                        f"  (imports {held['imports'] / 1e6:.0f})  {growth:+8.1%}"
                        f"  {held['seconds']:.1f} s",
                        flush=True,
                    )
                    yield {"case": "peak", "path": name, "kind": kind, "rows": rows} | held
    print()


# ------------------------------------------------------------------ the program


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("cases", nargs="*", metavar="CASE", help=f"of {', '.join(CASES)}; or all")
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--large", action="store_true", help="also 10 M rows, and 20 M for peak")
    parser.add_argument("--json", type=Path, help="where the figures go; else they are printed")
    parser.add_argument("--scratch", type=Path, help="a folder with room for the files")
    parser.add_argument("--child", nargs=3, metavar=("TOOL", "IN", "OUT"), help=argparse.SUPPRESS)
    args = parser.parse_args()
    unknown = sorted(set(args.cases) - set(CASES))
    if unknown:
        parser.error(f"no such case: {', '.join(unknown)}")
    return args


@contextmanager
def collected(path: Path | None) -> Iterator[list[dict[str, Any]]]:
    """A list of results that is written even where a later case fails."""
    results: list[dict[str, Any]] = []
    try:
        yield results
    finally:
        text = json.dumps(results, indent=1 if path else None)
        if path:
            path.write_text(text + "\n")
        else:
            print(text)


def main() -> None:
    """Measures and prints."""
    args = arguments()
    # Before anything of theirs is imported.
    for variable in ("POLARS_MAX_THREADS", "NUMBA_NUM_THREADS"):
        os.environ[variable] = str(args.threads)
    for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ[variable] = "1"
    if args.child:
        name, source, target = args.child
        child(name, Path(source), Path(target), args.threads)
        return
    cases = args.cases or CASES
    sizes = [args.rows] + ([10 * args.rows] if args.large else [])
    check_peers(args.threads)
    with collected(args.json) as results:
        for rows in sizes:
            if "memory" in cases:
                results.extend(memory_case(rows, args))
            if "strings" in cases and rows == args.rows:
                results.extend(strings_case(rows, args))
            if "threads" in cases and rows == args.rows:
                results.extend(threads_case(rows, args))
            for kind in ("parquet", "csv"):
                if kind in cases and rows == args.rows:
                    results.extend(file_case(kind, rows, args))
        if "peak" in cases:
            large = [20 * args.rows] if args.large else []
            results.extend(peak_case([args.rows, *large], args))


if __name__ == "__main__":
    main()
