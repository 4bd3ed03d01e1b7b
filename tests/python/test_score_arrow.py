"""Tables in and out by Arrow: every producer, every type, the same bits, nothing lost."""

from __future__ import annotations

import csv
import gc
import importlib.util
import os
import random
import signal
import subprocess
import sys
import textwrap
import threading
import time
from collections.abc import Callable, Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path
from types import ModuleType
from typing import Any

import duckdb
import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.csv as pacsv
import pyarrow.parquet as pq
import pytest

import studbay
from studbay.errors import InputError, SchemaError, StudbayError

Fields = dict[str, Any]


def _neighbour(name: str) -> ModuleType:
    """A file beside this one."""
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


conftest: Any = _neighbour("conftest")


def flat(count: int, seed: int) -> list[Fields]:
    """Random houses with one wall, valid and not, answers as words."""
    rng = random.Random(seed)
    houses = []
    for place in range(count):
        house = conftest.flat_house(rng, place)
        for name, value in house.items():
            if isinstance(value, bool):
                house[name] = "yes" if value else "no"
        if rng.random() < 0.1:
            house["wall_area_ft2"] = rng.choice([-1.0, None, 1e9])
        if rng.random() < 0.05:
            house["fuel"] = rng.choice(["feul", "", None])
        houses.append(house)
    return houses


def table(houses: list[Fields]) -> pa.Table:
    """The houses as a table, with columns of the user's own around them."""
    names = sorted({name for house in houses for name in house})
    columns = {name: [house.get(name) for house in houses] for name in names}
    mine = {"county": [f"county {place % 7}" for place in range(len(houses))]}
    return pa.table(mine | columns | {"note": [None] * len(houses)})


def expected(houses: list[Fields], units: str = "ip") -> list[Fields]:
    """The scalar door's figures, and its faults as a row tells them."""
    rows: list[Fields] = []
    for house in houses:
        try:
            # Of two names of one field, a row keeps the column that comes first.
            figures = studbay.assess(**dict(sorted(house.items()))).to_dict(units)
        except InputError as error:
            rows.append({"faults": "; ".join(str(issue) for issue in error.issues)})
        else:
            rows.append(figures | {"findings": ";".join(figures["findings"]), "faults": None})
    return rows


def bits(values: list[Any]) -> list[Any]:
    """Numbers by their bits."""
    return [float(v).hex() if isinstance(v, float | int) else v for v in values]


def assert_same(scored: object, rows: list[Fields], units: str = "ip") -> None:
    """Every figure of every row, by its bits; null where there is none."""
    got = pa.table(scored)
    assert got.num_rows == len(rows)
    for result in studbay.results():
        name = result.name_si if units == "si" and result.name_si else result.name_ip
        wanted = [row.get(name) for row in rows]
        assert bits(got[name].to_pylist()) == bits(wanted), name
    assert got["faults"].to_pylist() == [row["faults"] for row in rows]


DEMO: Fields = {
    "house_id": ["a", "b", "c"],
    "wall_area_ft2": [1200.0, 900.0, -1.0],
    "series_r": [3.06, 4.0, 3.06],
    "heating_degree_days_f": [5600.0, 5600.0, 5600.0],
    "heating_efficiency": [0.8, 0.9, 0.8],
    "fuel": ["natural_gas", "propane", "natural_gas"],
    "fuel_price": [1.5, 2.5, 1.5],
    "installed_cost": [2400.0, 1800.0, 2400.0],
    "knob_and_tube": ["yes", None, "no"],
    "county": ["Elm", "Oak", None],
}


@pytest.fixture(scope="module")
def reference() -> pa.Table:
    """The demo, scored from one plain table of pyarrow."""
    return pa.table(studbay.score(pa.table(DEMO)))


def plain(scored: object) -> list[dict[str, Any]]:
    """The rows as Python's own values."""
    rows: list[dict[str, Any]] = pa.table(scored).to_pylist()
    return rows


# ---------------------------------------------------------------- the same bits


def test_ten_thousand_houses_have_the_bits_of_the_scalar_door() -> None:
    houses = flat(10_000, 3)
    rows = expected(houses)
    whole = table(houses)
    scored = studbay.score(whole)
    assert_same(scored, rows)
    assert scored.counts.read == len(scored) == 10_000
    assert scored.counts.rejected == sum(row["faults"] is not None for row in rows) > 300
    assert scored.counts.scored + scored.counts.rejected == scored.counts.read
    assert scored.counts.on_hold == sum(row.get("readiness") == "hold" for row in rows) > 0
    # Whatever the chunks, the threads and the door.
    first = pa.table(scored)
    for size in (1, 513, 4_096):
        chunks = pa.Table.from_batches(whole.to_batches(max_chunksize=size))
        for threads in (1, 2, 5):
            assert pa.table(studbay.score(chunks, threads=threads)).equals(first)
    assert pa.table(studbay.score_stream(whole, threads=2)).equals(first)


def test_files_of_the_same_houses_have_the_same_bits(tmp_path: Path) -> None:
    whole = table(flat(10_000, 3))
    rows = pa.table(studbay.score(whole))
    wanted = rows.filter(pc.is_null(rows["faults"])).drop_columns("faults").to_pylist()
    numbers = {name for name, value in wanted[0].items() if not isinstance(value, str)}
    pq.write_table(whole, tmp_path / "in.parquet")
    pacsv.write_csv(whole, tmp_path / "in.csv")
    for source in ("in.parquet", "in.csv"):
        for target in ("out.parquet", "out.csv"):
            report = studbay.score_file(tmp_path / source, tmp_path / target, force=True)
            assert report.counts.read == 10_000
            if target == "out.parquet":
                found = pq.read_table(tmp_path / target).to_pylist()
            else:
                with (tmp_path / target).open(encoding="utf-8", newline="") as file:
                    found = list(csv.DictReader(file))
            assert len(found) == len(wanted) == report.counts.scored
            for ours, theirs in zip(found, wanted, strict=True):
                for name in (result.name_ip for result in studbay.results()):
                    value = ours[name]
                    if name in numbers and isinstance(value, str):
                        value = float(value) if value else None
                    assert value == theirs[name], (source, target, name)


def test_slices_of_a_long_table_are_scored_alike() -> None:
    houses = flat(2_000, 4)
    long = pa.concat_tables([table(houses)] * 30).combine_chunks()
    one = pa.table(studbay.score(long, threads=1))
    many = pa.table(studbay.score(long, threads=4))
    assert one.equals(many)
    assert one.slice(58_000).equals(pa.table(studbay.score(table(houses))))
    rejects = studbay.score(long).rejects.to_arrow()
    row = np.array(rejects["row"])
    assert (np.diff(row) > 0).all()
    assert rejects.drop_columns(["row", "faults"]).equals(long.take(row - 1))


def test_si() -> None:
    houses = flat(500, 5)
    assert_same(studbay.score(table(houses), units="si"), expected(houses, "si"), "si")


# ---------------------------------------------------------------- producers and consumers

PRODUCERS: dict[str, Callable[[pa.Table], Any]] = {
    "pyarrow Table": lambda t: t,
    "pyarrow RecordBatch": lambda t: t.to_batches()[0],
    "pyarrow RecordBatchReader": lambda t: t.to_reader(max_chunksize=2),
    "polars": lambda t: pl.DataFrame(t),
    "polars chunks": lambda t: pl.concat([pl.DataFrame(t[:1]), pl.DataFrame(t[1:])], rechunk=False),
    "pandas": lambda t: t.to_pandas(),
    "duckdb": lambda t: duckdb.from_arrow(t),
    "scored table": lambda t: _Stream(t),
}


class _Stream:
    """Offers the stream and nothing else."""

    def __init__(self, table: pa.Table) -> None:
        self._table = table

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object:
        return self._table.__arrow_c_stream__(requested_schema)


@pytest.mark.parametrize("producer", PRODUCERS)
def test_producers(producer: str, reference: pa.Table) -> None:
    scored = studbay.score(PRODUCERS[producer](pa.table(DEMO)))
    assert plain(scored) == reference.to_pylist()
    streamed = studbay.score_stream(PRODUCERS[producer](pa.table(DEMO)))
    assert plain(streamed) == reference.to_pylist()


def wider(kind: pa.DataType) -> pa.DataType:
    """Strings with long offsets."""
    return pa.large_string() if pa.types.is_string(kind) else kind


def test_consumers(reference: pa.Table) -> None:
    scored = studbay.score(pl.DataFrame(DEMO))
    assert scored.to_polars().to_dicts() == reference.to_pylist()
    assert scored.to_arrow().to_pylist() == reference.to_pylist()
    frame = scored.to_pandas()
    assert frame["npv"].tolist()[:2] == reference["npv"].to_pylist()[:2]
    assert frame.groupby("readiness")["npv"].count().to_dict() == {"check": 1, "hold": 1}
    assert scored.to_pandas().merge(pd.DataFrame(DEMO)[["house_id", "fuel"]]).shape[0] == 3
    counted = duckdb.sql("select readiness, count(*) n from scored group by all order by all")
    assert counted is not None
    assert counted.fetchall() == [("check", 1), ("hold", 1), (None, 1)]
    assert pl.DataFrame(scored).filter(pl.col("readiness") == "hold").height == 1
    # Views of strings would not do for pyarrow here.
    kept = studbay.score(pa.table(DEMO)).to_arrow().filter(pc.field("readiness") == "hold")
    assert kept.sort_by("findings")["house_id"].to_pylist() == ["a"]
    # A reader may ask for other types.
    wide = [pa.field(f.name, wider(f.type)) for f in reference.schema]
    asked = pa.RecordBatchReader.from_stream(scored, schema=pa.schema(wide)).read_all()
    assert asked.schema.types[0] == pa.large_string()
    assert asked.to_pylist() == reference.to_pylist()


def test_results_and_rejects_apart() -> None:
    given = pa.table(DEMO | {"row": [7, 8, 9]})
    scored = studbay.score(given)
    results, rejects = scored.results, scored.rejects
    assert (len(scored), len(results), len(rejects)) == (3, 2, 1)
    assert "faults" not in results.columns
    assert results.columns == scored.columns[:-1]
    assert rejects.columns == ["row_2", *given.column_names, "faults"]
    (reject,) = plain(rejects)
    assert reject["row_2"] == 3
    assert {name: reject[name] for name in given.column_names} == given.to_pylist()[2]
    assert reject["faults"] == "wall_area_ft2 = -1: allowed is above 0 to 1000000 ft²"
    assert plain(results) == [
        {k: v for k, v in row.items() if k != "faults"} for row in plain(scored)[:2]
    ]
    # Where nothing is wrong, and where all is.
    good = studbay.score(given.slice(0, 2))
    assert (len(good.results), len(good.rejects), good.rejects.to_polars().height) == (2, 0, 0)
    bad = studbay.score(given.slice(2))
    assert (len(bad.results), len(bad.rejects), bad.results.to_polars().height) == (0, 1, 0)


def test_own_columns_go_through_untouched() -> None:
    mine = pa.table(
        {
            "when": pa.array([date(2020, 1, 2), None, date(2021, 1, 2)]),
            "list": pa.array([[1], [], None], pa.list_(pa.int8())),
            "struct": pa.array([{"a": 1}, None, {"a": 3}]),
            "kind": pa.array(["x", "y", "x"]).dictionary_encode(),
            "raw": pa.array([b"\xff", b"", None]),
            "money": pa.array([Decimal("1.50"), None, Decimal("2.25")]),
            "time": pa.array([1, 2, None], pa.timestamp("us", tz="UTC")),
            "runs": pa.RunEndEncodedArray.from_arrays([2, 3], pa.array([1.5, None])),
            "map": pa.array([[("a", 1)], None, []], pa.map_(pa.string(), pa.int32())),
            "null": pa.nulls(3),
        }
    )
    given = pa.table(DEMO)
    for name in mine.column_names:
        given = given.append_column(name, mine[name])
    scored = studbay.score(given)
    assert pa.table(scored).select(mine.column_names).equals(mine)
    rejects = pa.table(scored.rejects)
    assert rejects.drop_columns(["row", "faults"]).to_pylist() == given.slice(2).to_pylist()
    assert pa.table(scored.results).select(mine.column_names).to_pylist() == mine[:2].to_pylist()


# ---------------------------------------------------------------- types

TEXTS = [pa.string(), pa.large_string(), pa.string_view()]
TEXTS += [pa.dictionary(pa.int8(), pa.string()), pa.dictionary(pa.uint32(), pa.large_string())]


def cast(table: pa.Table, name: str, kind: pa.DataType) -> pa.Table:
    """The table with one column of another type."""
    place = table.column_names.index(name)
    column = table[name]
    if pa.types.is_dictionary(kind):
        column = column.cast(kind.value_type).dictionary_encode().cast(kind)
    return table.set_column(place, name, column.cast(kind))


@pytest.mark.parametrize("kind", TEXTS, ids=str)
def test_every_kind_of_text(kind: pa.DataType, reference: pa.Table) -> None:
    given = pa.table(DEMO)
    for name in ("house_id", "fuel", "knob_and_tube", "county"):
        given = cast(given, name, kind)
    assert plain(studbay.score(given)) == reference.to_pylist()
    assert plain(studbay.score(given.slice(1))) == reference.slice(1).to_pylist()
    # Numbers as text are numbers.
    given = cast(pa.table(DEMO), "wall_area_ft2", pa.string())
    assert plain(studbay.score(cast(given, "wall_area_ft2", kind)))[:2] == reference.to_pylist()[:2]


WHOLE = [pa.int8(), pa.int16(), pa.int32(), pa.int64(), pa.uint16(), pa.uint64()]
DECIMALS = [pa.decimal32(9, 1), pa.decimal64(18, 1), pa.decimal128(20, 4), pa.decimal256(50, 3)]


@pytest.mark.parametrize("kind", [*WHOLE, pa.float16(), pa.float32(), *DECIMALS], ids=str)
def test_every_kind_of_number(kind: pa.DataType) -> None:
    given = pa.table(DEMO)
    place = given.column_names.index("series_r")
    numbers = pa.array([3.0, 4.0, None]).cast(kind)
    as_double = studbay.score(given.set_column(place, "series_r", pa.array([3.0, 4.0, None])))
    scored = studbay.score(given.set_column(place, "series_r", numbers))
    assert plain(scored) == plain(as_double)
    # pyarrow has no way to encode small decimals and halves.
    if kind.bit_width >= 32 and kind not in DECIMALS[:2]:
        coded = given.set_column(place, "series_r", numbers.dictionary_encode())
        assert plain(studbay.score(coded)) == plain(as_double)


def test_decimals_and_singles_take_the_nearest_double() -> None:
    given = pa.table(DEMO)
    place = given.column_names.index("fuel_price")
    text = "1.234567890123456789"
    for column, value in (
        (pa.array([Decimal("1.2345")] * 3, pa.decimal128(6, 4)), 1.2345),
        (pa.array([Decimal("1.2345")] * 3, pa.decimal256(60, 30)), 1.2345),
        (pa.array([Decimal(text)] * 3, pa.decimal128(38, 18)), float(text)),
        (pa.array([1.2345] * 3, pa.float32()), float(np.float32(1.2345))),
        (pa.array([1.2345] * 3, pa.float16()), float(np.float16(1.2345))),
    ):
        double = given.set_column(place, "fuel_price", pa.array([value] * 3))
        single = given.set_column(place, "fuel_price", column)
        assert plain(studbay.score(single)) == plain(studbay.score(double))


def test_booleans_answer_questions(reference: pa.Table) -> None:
    given = pa.table(DEMO | {"knob_and_tube": [True, None, False]})
    assert plain(studbay.score(given)) == reference.to_pylist()


def test_whole_numbers_name_houses() -> None:
    given = pa.table(DEMO | {"house_id": [1, 2, 3]})
    scored = studbay.score(given)
    assert scored.counts.scored == 2
    assert pa.table(scored)["house_id"].to_pylist() == [1, 2, 3]


def test_null_is_not_given_and_nan_is_a_fault() -> None:
    given = pa.table(DEMO | {"rebate": [None, float("nan"), 0.0]})
    faults = pa.table(studbay.score(given))["faults"].to_pylist()
    assert faults[0] is None
    assert "rebate = NaN: is not a finite number" in faults[1]
    nulls = given.set_column(given.column_names.index("rebate"), "rebate", pa.nulls(3))
    assert studbay.score(nulls).counts.scored == 2
    # pandas writes its missing numbers as nulls.
    frame = pd.DataFrame(DEMO | {"rebate": [np.nan, 1.0, 0.0]})
    assert studbay.score(frame).counts.scored == 2


def test_no_rows() -> None:
    for empty in (pa.table(DEMO).slice(0, 0), pa.table(DEMO).schema.empty_table()):
        scored = studbay.score(empty)
        assert (len(scored), scored.counts.read) == (0, 0)
        assert pa.table(scored).schema == pa.table(studbay.score(pa.table(DEMO))).schema
        assert scored.results.to_polars().height == scored.rejects.to_polars().height == 0
        assert pa.table(studbay.score_stream(empty)).num_rows == 0


def test_text_that_is_no_utf8_is_read_all_the_same() -> None:
    given = pa.table(DEMO)
    raw = pa.array([b"caf\xe9", b"b", b"c"])
    view = pa.Array.from_buffers(pa.string(), 3, raw.buffers())
    wide = pa.array([b"caf\xe9 and so much more of it", b"b", b"c"], pa.large_binary())
    wide = pa.Array.from_buffers(pa.large_string(), 3, wide.buffers())
    for column in (view, wide, view.dictionary_encode()):
        for name in ("house_id", "fuel"):
            place = given.column_names.index(name)
            scored = studbay.score(given.set_column(place, name, column))
            assert len(scored) == 3
            faults = pa.table(scored)["faults"].to_pylist()
            assert (faults[0] is None) == (name == "house_id")
            if name == "fuel":
                assert "fuel = caf\ufffd" in faults[0]


# ---------------------------------------------------------------- faults


def test_faults_of_the_columns_all_at_once() -> None:
    given = pa.table(DEMO).rename_columns({"fuel": "feul"}).drop_columns(["installed_cost"])
    given = given.append_column("rebate", pa.array([date(2020, 1, 1)] * 3))
    for door in (studbay.score, studbay.score_stream):
        with pytest.raises(SchemaError) as caught:
            door(given)
        assert isinstance(caught.value, StudbayError | ValueError)
        assert caught.value.faults == tuple(str(caught.value).splitlines())
        assert any("is it the column feul?" in fault for fault in caught.value.faults)
        assert any("installed_cost" in fault for fault in caught.value.faults)
    fixed = pa.table(DEMO).append_column("rebate", pa.array([date(2020, 1, 1)] * 3))
    with pytest.raises(SchemaError, match="rebate is Date32: a number, text"):
        studbay.score(fixed)
    with pytest.raises(SchemaError, match="a name that a result takes"):
        studbay.score(pa.table(DEMO | {"npv": [1, 2, 3]}))
    with pytest.raises(SchemaError, match="stands twice"):
        studbay.score(pa.table(DEMO).append_column("fuel", pa.array(["x"] * 3)))


WRONG: dict[str, tuple[Callable[[], object], str]] = {
    "a lazy frame": (lambda: pl.DataFrame(DEMO).lazy(), r"\.collect\(\)"),
    "a list": (lambda: pa.table(DEMO).to_batches(), "reader"),
    "a tuple": (lambda: (1, 2), "reader"),
    "a path": (lambda: "houses.csv", "score_file"),
    "a path object": (lambda: Path("houses.csv"), "score_file"),
    "a dict": (lambda: DEMO, "a table was expected"),
    "nothing": (lambda: None, "a table was expected"),
    "a column": (lambda: pl.Series("house_id", ["a"]), "cannot be read as a table"),
    "an array": (lambda: pa.array([1, 2]), "cannot be read as a table"),
    "a class": (lambda: pl.DataFrame, "cannot be read as a table"),
    "null structs": (
        lambda: pa.array([None], pa.struct([("house_id", pa.string())])),
        "cannot be read as a table",
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_what_is_no_table(name: str) -> None:
    make, advice = WRONG[name]
    for door in (studbay.score, studbay.score_stream):
        with pytest.raises(InputError, match=advice) as caught:
            door(make())  # type: ignore[arg-type]
        assert caught.value.issues[0].field == "table"


def test_a_column_of_no_type() -> None:
    nothing = {"mine": [None] * 3, "rebate": [None] * 3}
    for given in (pl.DataFrame(DEMO | nothing), pa.table(DEMO | nothing)):
        scored = studbay.score(given)
        assert scored.counts.scored == 2
        assert scored.to_polars()["mine"].null_count() == 3


def test_wrong_arguments() -> None:
    given = pa.table(DEMO)
    with pytest.raises(InputError, match="must be one of ip, si"):
        studbay.score(given, units="metric")
    for threads in (0, -1, 5_000):
        with pytest.raises(InputError, match="from 1 to 1024"):
            studbay.score(given, threads=threads)


def failing(error: BaseException | None) -> pa.RecordBatchReader:
    """A reader that gives one batch and then fails."""
    (batch,) = pa.table(DEMO).to_batches()

    def batches() -> Iterator[pa.RecordBatch]:
        yield batch
        if error is not None:
            raise error

    return pa.RecordBatchReader.from_batches(batch.schema, batches())


def test_a_reader_that_fails() -> None:
    with pytest.raises(InputError, match="the disk is gone"):
        studbay.score(failing(OSError("the disk is gone")))
    stream = studbay.score_stream(failing(OSError("the disk\0 is gone")))
    with pytest.raises((OSError, pa.ArrowException), match="the disk"):
        pa.table(stream)
    assert studbay.score(failing(None)).counts.read == 3


def test_a_stream_is_read_once() -> None:
    stream = studbay.score_stream(pa.table(DEMO))
    assert stream.counts.read == 0
    assert pa.table(stream).num_rows == 3
    assert (stream.counts.read, stream.counts.rejected, stream.counts.on_hold) == (3, 1, 1)
    with pytest.raises(InputError, match="read before"):
        pa.table(stream)


def test_a_scored_table_can_be_read_often_and_outlives_its_source() -> None:
    scored = studbay.score(pl.DataFrame(DEMO))
    gc.collect()
    assert plain(scored) == plain(scored)
    readers = [pa.RecordBatchReader.from_stream(scored) for _ in range(3)]
    del scored
    gc.collect()
    assert [reader.read_all().num_rows for reader in readers] == [3, 3, 3]


# ---------------------------------------------------------------- several surfaces


def nested(count: int, seed: int) -> list[Fields]:
    """Houses of both sorts; layers as structs, since a column has one type."""
    rng = random.Random(seed)
    houses = []
    for place in range(count):
        house = rng.choice([conftest.flat_house, conftest.nested_house])(rng, place)
        for name, value in house.items():
            if isinstance(value, bool):
                house[name] = "yes" if value else "no"
        for surface in house.get("surfaces", []):
            if "layers" in surface:
                surface["layers"] = [
                    layer
                    if isinstance(layer, dict)
                    else {"material": layer}
                    if isinstance(layer, str)
                    else {"r": layer}
                    for layer in surface["layers"]
                ]
            if rng.random() < 0.05:
                surface.pop("cavity_depth_mm", None)
                surface["cavity_depth_in"] = -1.0
        houses.append(house)
    return houses


def test_houses_with_several_surfaces() -> None:
    houses = nested(3_000, 7)
    rows = expected(houses)
    given = table(houses)
    scored = studbay.score(given)
    assert_same(scored, rows)
    faults = pa.table(scored)["faults"].to_pylist()
    assert any("surfaces[0].cavity_depth_in = -1" in fault for fault in faults if fault)
    first = pa.table(scored)
    assert "surfaces" not in first.column_names
    for size in (7, 1_000):
        chunks = pa.Table.from_batches(given.to_batches(max_chunksize=size))
        assert pa.table(studbay.score(chunks, threads=3)).equals(first)
    assert pa.table(studbay.score(given.slice(1_000))).equals(first.slice(1_000))
    assert_same(studbay.score(given, units="si"), expected(houses, "si"), "si")
    rejects = pa.table(scored.rejects)
    assert rejects["surfaces"].type == given["surfaces"].type


@pytest.mark.parametrize(
    "producer", [lambda t: pl.DataFrame(t), duckdb.from_arrow, lambda t: t.to_pandas()]
)
def test_surfaces_of_other_producers(producer: Callable[[pa.Table], Any]) -> None:
    houses = nested(300, 8)
    assert_same(studbay.score(producer(table(houses))), expected(houses))


def heads(count: int) -> Fields:
    """The columns of houses without their surfaces."""
    names = ("house_id", "heating_degree_days_f", "heating_efficiency", "fuel", "fuel_price")
    return {name: DEMO[name][:1] * count for name in (*names, "installed_cost")}


def test_layers_in_short() -> None:
    house = {name: values[0] for name, values in heads(1).items()}
    for layers in (["gypsum_board_1_2in", "plaster_wood_lath_3_4in"], [0.6, 1.5]):
        surfaces = [{"area_ft2": 800.0, "layers": layers}, {"area_ft2": 100.0, "series_r": 3.0}]
        given = pa.table(heads(1) | {"surfaces": [surfaces]})
        wanted = expected([house | {"surfaces": surfaces}])
        assert_same(studbay.score(given), wanted)
        kind = pa.large_list(given["surfaces"].type.value_type)
        assert_same(studbay.score(cast(given, "surfaces", kind)), wanted)


def test_lists_that_hold_nothing() -> None:
    kind = pa.list_(pa.struct([("area_ft2", pa.float64()), ("series_r", pa.float64())]))
    surfaces = pa.array([[{"area_ft2": 1.0, "series_r": 3.0}], [], None, [None]], kind)
    scored = studbay.score(pa.table(heads(4) | {"surfaces": surfaces}))
    faults = pa.table(scored)["faults"].to_pylist()
    assert faults[0] is None
    assert "a house has 1 to 200 surfaces" in faults[1]
    assert "wall_area_ft2" in faults[2]
    assert "surfaces[0]: must be a table of named values" in faults[3]


def test_surfaces_of_a_wrong_type() -> None:
    for wrong, reason in (
        (["[]"], "a list of surfaces"),
        ([[1.0]], "a list of surfaces"),
        ([[{"area_ft2": [1.0]}]], r"surfaces\.area_ft2 is"),
        ([[{"area_ft2": 1.0, "layers": 1.0}]], "a list of layers"),
        ([[{"area_ft2": 1.0, "layers": [[1.0]]}]], "a list of layers"),
        ([[{"area_ft2": 1.0, "layers": [{"r": [1.0]}]}]], r"surfaces\.layers\.r is"),
    ):
        with pytest.raises(SchemaError, match=reason):
            studbay.score(pa.table(heads(1) | {"surfaces": wrong}))


def test_a_column_of_that_name_in_a_table_of_flat_houses() -> None:
    given = pa.table(DEMO).append_column("surfaces", pa.array(["2", None, "4"]))
    rows = pa.table(studbay.score(given))
    assert rows["surfaces"].to_pylist() == ["2", None, "4"]
    assert rows["npv"].equals(pa.table(studbay.score(pa.table(DEMO)))["npv"])


# ---------------------------------------------------------------- long work


def test_progress() -> None:
    calls: list[tuple[int, int | None]] = []
    given = pa.table(DEMO)
    long = pa.concat_tables([given] * 50_000).combine_chunks()
    studbay.score(long, progress=lambda done, total: calls.append((done, total)))
    assert calls[-1] == (150_000, 150_000)
    assert [done for done, _ in calls] == sorted(done for done, _ in calls)
    calls.clear()
    unknown: list[object] = []
    studbay.score(long.to_reader(), progress=lambda *call: unknown.append(call))
    assert unknown[-1] == (150_000, None)
    for frame in (pl.DataFrame(DEMO), pd.DataFrame(DEMO)):
        calls.clear()
        studbay.score(frame, progress=lambda *call: calls.append(call))
        assert calls == [(3, 3)]

    def stop(done: int, total: int | None) -> None:
        raise RuntimeError("enough")

    with pytest.raises(RuntimeError, match="enough"):
        studbay.score(given, progress=stop)


@pytest.mark.skipif(os.name == "nt", reason="no such signals")
def test_an_interrupt_ends_a_long_score() -> None:
    program = f"""
        import os, signal, sys, threading, time
        import pyarrow as pa
        import studbay

        batch = pa.table({DEMO!r}).to_batches()[0]
        big = pa.concat_tables([pa.table(batch)] * 2_000).combine_chunks().to_batches()[0]

        def forever():
            while True:
                yield big

        reader = pa.RecordBatchReader.from_batches(batch.schema, forever())
        sent = []

        def interrupt():
            time.sleep(1.0)
            sent.append(time.perf_counter())
            os.kill(os.getpid(), signal.SIGINT)

        threading.Thread(target=interrupt).start()
        try:
            studbay.score(reader, threads=2)
        except KeyboardInterrupt:
            print(time.perf_counter() - sent[0])
    """
    out = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(program)],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    # Far less on a quiet machine.
    assert float(out.stdout) < 2.0


def test_others_run_while_rows_are_scored() -> None:
    long = pa.concat_tables([pa.table(DEMO)] * 100_000).combine_chunks()
    ticks = 0
    done = threading.Event()

    def tick() -> None:
        nonlocal ticks
        while not done.is_set():
            ticks += 1
            time.sleep(0.001)

    thread = threading.Thread(target=tick)
    thread.start()
    begun = time.perf_counter()
    studbay.score(long, threads=1)
    taken = time.perf_counter() - begun
    done.set()
    thread.join()
    assert ticks > taken / 0.001 / 20


def test_many_threads_at_once() -> None:
    given = table(flat(3_000, 9))
    wanted = pa.table(studbay.score(given))
    same: list[bool] = []

    def work() -> None:
        for _ in range(3):
            same.append(pa.table(studbay.score(given)).equals(wanted))

    threads = [threading.Thread(target=work) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert same == [True] * 18


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork")
def test_a_forked_process_can_score() -> None:
    program = f"""
        import os, signal
        import pyarrow as pa
        import studbay

        big = pa.concat_tables([pa.table({DEMO!r})] * 20_000).combine_chunks()
        assert studbay.score(big, threads=2).counts.read == 60_000
        child = os.fork()
        if child == 0:
            signal.alarm(30)
            os._exit(0 if studbay.score(big, threads=2).counts.read == 60_000 else 1)
        assert os.waitpid(child, 0)[1] == 0
    """
    subprocess.run(
        [sys.executable, "-W", "ignore", "-c", textwrap.dedent(program)], timeout=60, check=True
    )


def test_a_stream_takes_little_memory() -> None:
    program = f"""
        import resource
        import pyarrow as pa
        import studbay

        batch = pa.concat_tables([pa.table({DEMO!r})] * 10_000).combine_chunks().to_batches()[0]

        def run(times):
            batches = (batch for _ in range(times))
            reader = pa.RecordBatchReader.from_batches(batch.schema, batches)
            scored = pa.RecordBatchReader.from_stream(studbay.score_stream(reader))
            assert sum(len(b) for b in scored) == times * 30_000
            return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss

        run(2)
        first = run(2)
        print(run(20) / first)
    """
    if os.name == "nt":
        pytest.skip("no such count of memory")
    out = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(program)],
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    )
    assert float(out.stdout) < 1.1


def test_pyarrow_is_not_needed() -> None:
    program = f"""
        import sys

        class Refuse:
            def find_spec(self, name, path=None, target=None):
                if name.split(".")[0] in ("pyarrow", "pandas", "numpy"):
                    raise ImportError(name + " is not to be had")

        import polars

        for name in ("pyarrow", "pandas", "numpy"):
            assert name not in sys.modules
        sys.meta_path.insert(0, Refuse())
        import studbay

        scored = studbay.score(polars.DataFrame({DEMO!r}))
        assert polars.DataFrame(scored).shape == (3, 27), polars.DataFrame(scored).shape
        assert scored.to_polars()["faults"].null_count() == 2
        assert "pyarrow" not in sys.modules and "numpy" not in sys.modules
    """
    subprocess.run([sys.executable, "-c", textwrap.dedent(program)], timeout=60, check=True)


def test_repr_says_what_became_of_the_rows() -> None:
    scored = studbay.score(pa.table(DEMO))
    lines = repr(scored).splitlines()
    assert lines[0] == "<Scored: 3 read, 2 scored (1 on hold), 1 rejected>"
    assert lines[1:3] == ["house_id: Utf8", "county: Utf8"]
    assert repr(scored.rejects).startswith("<Table: 1 rows>\nrow: Int64\nhouse_id: Utf8")
    assert repr(scored.counts) == "<Counts: 3 read, 2 scored (1 on hold), 1 rejected>"
    assert scored.counts == studbay.score(pl.DataFrame(DEMO)).counts
    assert len({scored.counts, studbay.score(pl.DataFrame(DEMO)).counts}) == 1
    stream = studbay.score_stream(pa.table(DEMO))
    assert repr(stream).startswith("<ScoredStream: 0 read, 0 scored")
    assert signal.getsignal(signal.SIGINT) is not None
