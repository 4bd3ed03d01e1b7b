"""The distributed door: the same bits on Spark, whatever the partitions."""

from __future__ import annotations

import importlib.util
import random
import shutil
import sys
import warnings
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pyarrow as pa
import pytest

import studbay
import studbay.spark
from studbay.errors import InputError, SchemaError

Fields = dict[str, Any]

pytestmark = [
    pytest.mark.spark,
    pytest.mark.skipif(importlib.util.find_spec("pyspark") is None, reason="pyspark is missing"),
    pytest.mark.skipif(shutil.which("java") is None, reason="java is missing"),
    # Spark tells of pandas 3, which this door does without.
    pytest.mark.filterwarnings("ignore::FutureWarning"),
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
]


@pytest.fixture(scope="module")
def spark() -> Iterator[Any]:
    """Two executors' worth of cores on this machine."""
    with warnings.catch_warnings(), pytest.MonkeyPatch.context() as patch:
        warnings.simplefilter("ignore")
        # The workers' Python is otherwise whatever `python3` is on the path.
        patch.setenv("PYSPARK_PYTHON", sys.executable)
        from pyspark.sql import SparkSession

        session = (
            SparkSession.builder.master("local[2]")
            .appName("studbay tests")
            .config("spark.ui.enabled", "false")
            .config("spark.driver.bindAddress", "127.0.0.1")
            .config("spark.driver.host", "127.0.0.1")
            .config("spark.sql.shuffle.partitions", "4")
            .config("spark.sql.execution.arrow.maxRecordsPerBatch", "999")
            .getOrCreate()
        )
        session.sparkContext.setLogLevel("ERROR")
        yield session
        session.stop()


def houses(count: int) -> pa.Table:
    """Random houses, some of which cannot be scored, with columns of the user's own."""
    rng = random.Random(11)

    def some(*values: Any) -> list[Any]:
        return [rng.choice(values) for _ in range(count)]

    def between(low: float, high: float) -> list[float]:
        return [rng.uniform(low, high) for _ in range(count)]

    return pa.table(
        {
            "place": pa.array(range(count)),
            "house_id": [f"house {place}" for place in range(count)],
            "county": some("Elm", "Oak", None),
            "wall_area_ft2": [rng.choice([a, a, a, -1.0]) for a in between(1, 5_000)],
            "series_r": between(1, 20),
            "heating_degree_days_f": pa.array(some(3_000, 5_600, None), pa.int32()),
            "heating_efficiency": between(0.5, 4),
            "fuel": some("natural_gas", "propane", "electricity", "fuel_oil_2"),
            "fuel_price": between(0, 8),
            "installed_cost": between(100, 9_000),
            "life_years": pa.array(some(10, 30, None), pa.int16()),
            "knob_and_tube": pa.array(some(True, False, None)),
            "cfm50_before": between(100, 9_000),
            "cfm50_after": between(100, 9_000),
            "bill": pa.array([Decimal("1.50"), None] * (count // 2), pa.decimal128(9, 2)),
            "tags": pa.array([["a"], None] * (count // 2)),
        }
    )


def test_ten_thousand_rows_have_the_bits_of_the_local_door(spark: Any) -> None:
    given = houses(10_000)
    wanted = pa.table(studbay.score(given))
    frame = spark.createDataFrame(given)
    for partitions in (1, 7):
        scored = studbay.spark.score(frame.repartition(partitions))
        got = scored.toArrow().sort_by("place")
        assert got.column_names == wanted.column_names
        for name in wanted.column_names:
            assert got[name].to_pylist() == wanted[name].to_pylist(), name
    rejected = scored.where("faults is not null").count()
    assert rejected == studbay.score(given).counts.rejected > 1_000
    types = {field.name: field.dataType.simpleString() for field in scored.schema}
    assert types["bill"] == "decimal(9,2)"
    assert types["tags"] == "array<string>"
    assert types["bags"] == "bigint"
    assert types["readiness"] == types["faults"] == "string"


def test_si_and_joins(spark: Any) -> None:
    given = houses(100)
    scored = studbay.spark.score(spark.createDataFrame(given), units="si")
    assert "fill_mass_kg" in scored.columns
    joined = scored.join(spark.createDataFrame(given).select("house_id", "fuel"), "house_id")
    assert joined.count() == 100
    assert joined.groupBy("fuel").count().count() == 4


def test_several_surfaces(spark: Any) -> None:
    surface = {"area_ft2": 800.0, "layers": [{"r": 0.6, "material": None}]}
    other = {"area_ft2": 100.0, "layers": [{"r": None, "material": "gypsum_board_1_2in"}]}
    given = houses(40).drop_columns(["wall_area_ft2", "series_r"])
    given = given.append_column("surfaces", pa.array([[surface, other]] * 40))
    got = studbay.spark.score(spark.createDataFrame(given)).toArrow().sort_by("place")
    wanted = pa.table(studbay.score(given))
    assert got["npv"].to_pylist() == wanted["npv"].to_pylist()
    assert got["npv"].null_count < 40
    assert "surfaces" not in got.column_names


def test_faults_of_the_columns_are_said_at_once(spark: Any) -> None:
    frame = spark.createDataFrame(houses(4).drop_columns(["fuel"]))
    with pytest.raises(SchemaError, match="there is no column fuel"):
        studbay.spark.score(frame)
    with pytest.raises(InputError, match="must be one of ip, si"):
        studbay.spark.score(spark.createDataFrame(houses(4)), units="metric")
    with pytest.raises(InputError, match=r"studbay\.spark\.score"):
        studbay.score(frame)


def test_the_recipe_in_the_document_is_this_one() -> None:
    text = (Path(__file__).parents[2] / "docs" / "SPARK.md").read_text(encoding="utf-8")
    assert "studbay.spark.score(houses)" in text
