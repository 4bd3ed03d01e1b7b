"""Summaries and selections: small tables to check by hand, and the demo portfolio."""

from __future__ import annotations

import csv
import importlib.util
import json
import math
import random
import subprocess
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import polars as pl
import pytest

import studbay
from studbay.errors import InputError, SchemaError

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo-data"

COLUMNS = [
    "house_id",
    "county",
    "readiness",
    "findings",
    "net_cost",
    "annual_savings",
    "lifetime_savings",
    "lifetime_co2e_kg",
    "bags",
    "simple_payback_years",
    "sir",
    "cost_per_tonne",
    "faults",
]
#: Invented, with round numbers. `e` could not be scored.
ROWS: list[tuple[Any, ...]] = [
    ("a", "North", "clear", "", 1000.0, 100.0, 3000.0, 10_000.0, 10, 10.0, 3.0, 100.0, None),
    (
        "b",
        "North",
        "check",
        "lead_safe_work",
        2000.0,
        400.0,
        9000.0,
        20_000.0,
        20,
        5.0,
        4.5,
        100.0,
        None,
    ),
    (
        "c",
        "South",
        "hold",
        "knob_and_tube",
        500.0,
        500.0,
        15_000.0,
        50_000.0,
        5,
        1.0,
        30.0,
        10.0,
        None,
    ),
    ("d", "South", "clear", "no_saving", 3000.0, 0.0, 0.0, -100.0, 30, None, 0.0, None, None),
    ("e", "South", *[None] * 10, "fuel = coal: must be one of propane"),
    ("f", "South", "clear", "", 4000.0, 400.0, 12_000.0, 10_000.0, 40, 10.0, 3.0, 400.0, None),
]


def table() -> pl.DataFrame:
    return pl.DataFrame(ROWS, schema=COLUMNS, orient="row")


def run(*arguments: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "studbay.cli", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, encoding="utf-8", check=False)


def test_every_figure_of_six_rows() -> None:
    total = studbay.summarize(table()).total
    # Paybacks 1, 5, 10, 10: ranks 0.3, 0.75, 1.5, 2.25 and 2.7 from 0.
    assert total == pytest.approx(
        {
            "houses_read": 6,
            "houses_scored": 5,
            "houses_rejected": 1,
            "houses_hold": 1,
            "houses_check": 1,
            "houses_clear": 3,
            "houses_incomplete": 0,
            "net_cost_sum": 10_500.0,
            "annual_savings_sum": 1400.0,
            "lifetime_savings_sum": 39_000.0,
            "lifetime_co2e_t_sum": 89.9,
            "bags_sum": 105.0,
            "net_cost_on_hold": 500.0,
            "annual_savings_on_hold": 500.0,
            "lifetime_savings_on_hold": 15_000.0,
            "lifetime_co2e_t_on_hold": 50.0,
            "bags_on_hold": 5.0,
            "houses_with_payback": 4,
            "houses_without_payback": 1,
            "payback_years_p10": 2.2,
            "payback_years_p25": 4.0,
            "payback_years_p50": 7.5,
            "payback_years_p75": 10.0,
            "payback_years_p90": 10.0,
        },
        rel=1e-15,
    )


def test_by_a_column() -> None:
    summary = studbay.summarize(table(), by="county")
    groups = pl.DataFrame(summary)
    assert groups["county"].to_list() == ["North", "South"]
    assert groups["net_cost_sum"].to_list() == [3000.0, 7500.0]
    assert groups["houses_rejected"].to_list() == [0, 1]
    assert groups["payback_years_p50"].to_list() == [7.5, 5.5]
    document = summary.to_dict()
    assert document["groups"] == groups.to_dicts()
    assert document["rejected_by_reason"] == [{"field": "fuel", "code": "not_a_choice", "rows": 1}]
    assert document["on_hold_by_finding"] == {"knob_and_tube": 1}
    assert pl.DataFrame(summary.reasons).to_dicts() == document["rejected_by_reason"]
    assert json.loads(json.dumps(document)) == document
    readiness = pl.DataFrame(studbay.summarize(table(), by="readiness"))
    assert readiness["readiness"].to_list() == ["check", "clear", "hold", None]


def test_results_and_rejects_apart_come_to_the_same() -> None:
    whole = studbay.summarize(table(), by="county")
    scored = table().filter(pl.col("readiness").is_not_null()).drop("faults")
    rejects = table().filter(pl.col("readiness").is_null()).select("county", "faults")
    apart = studbay.summarize(scored, "county", rejects=rejects)
    assert apart.to_dict() == whole.to_dict()
    with pytest.raises(SchemaError, match="there is no column faults"):
        studbay.summarize(scored, rejects=scored)


def test_sums_are_exact_in_any_order() -> None:
    rng = random.Random(3)
    costs = [rng.uniform(-1, 1) * 10 ** rng.randint(-9, 15) for _ in range(2000)]
    paid = pl.DataFrame({"readiness": ["clear"] * 2000, "net_cost": costs}).with_columns(
        [pl.lit(1.0).alias(name) for name in COLUMNS[5:12]]
    )
    for seed in range(5):
        total = studbay.summarize(paid.sample(fraction=1, shuffle=True, seed=seed)).total
        assert total["net_cost_sum"] == math.fsum(costs)


def test_a_summary_shows_itself() -> None:
    summary = studbay.summarize(table(), by="county")
    text = str(summary)
    assert text.startswith("1 of 5 scored houses are on hold")
    assert "modelled, not measured" in text
    assert "$10,500" in text
    assert "€10,500" in summary.text(currency="€")
    assert repr(summary) == "<Summary: 6 read, 5 scored (1 on hold), 1 rejected, by county>"
    odd = table().with_columns(pl.lit("<b>&\x1b[2J").alias("county"))
    html = studbay.summarize(odd, by="county")._repr_html_()
    assert "&lt;b&gt;&amp;" in html
    assert "<b>" not in html
    assert "\x1b" not in html
    assert "\x1b" not in str(studbay.summarize(odd, by="county"))


def test_the_list_under_a_budget() -> None:
    # By ratio: b 4.5, then a and f with 3.0 in the order of the table; f does not fit.
    selection = studbay.select(table(), budget=6500)
    chosen = pl.DataFrame(selection)
    assert chosen["house_id"].to_list() == ["b", "a"]
    assert chosen["rank"].to_list() == [1, 2]
    assert chosen["row"].to_list() == [2, 1]
    assert chosen["running_cost"].to_list() == [2000.0, 3000.0]
    assert chosen["look_first"].to_list() == [True, False]
    assert chosen["county"].to_list() == ["North", "North"]
    assert "faults" not in chosen.columns
    assert selection.total == {
        "houses": 2,
        "look_first": 1,
        "sir_below_1": 0,
        "net_cost": 3000.0,
        "left": 3500.0,
        "annual_savings": 500.0,
        "lifetime_savings": 12_000.0,
        "lifetime_co2e_t": 30.0,
        "repeated_ids": 0,
    }
    left_out = pl.DataFrame(selection.left_out).to_dicts()
    assert [(house["house_id"], house["reason"]) for house in left_out] == [
        ("c", "hold"),
        ("d", "saves_nothing"),
        ("e", "rejected"),
        ("f", "over_budget"),
    ]
    assert left_out[0]["why"] == "on hold: the work must not start: knob_and_tube"
    assert left_out[2]["why"] == "could not be scored: fuel = coal: must be one of propane"
    assert left_out[3]["why"] == "costs 4,000.00 when 3,500.00 were left"
    document = selection.to_dict()
    assert document["left_out"] == left_out
    assert document["left_out_by_reason"] == {
        "rejected": 1,
        "hold": 1,
        "saves_nothing": 1,
        "over_budget": 1,
    }
    assert json.loads(json.dumps(document)) == document
    assert len(selection) == 2
    assert "2 houses for $3,000 of $6,500; $3,500 left" in str(selection)
    assert "must be looked at before the work starts" in selection._repr_html_()


def test_the_list_by_the_cost_of_a_tonne() -> None:
    selection = studbay.select(table(), 7000, by="cost_per_tonne")
    assert pl.DataFrame(selection.chosen)["house_id"].to_list() == ["a", "b", "f"]
    assert selection.total["left"] == 0.0


def test_what_cannot_be_done_is_refused() -> None:
    with pytest.raises(SchemaError, match="there is no column net_cost"):
        studbay.summarize(table().drop("net_cost"))
    with pytest.raises(SchemaError, match="is county meant"):
        studbay.summarize(table(), by="conty")
    with pytest.raises(SchemaError, match="hold, check or clear is expected"):
        studbay.select(table().with_columns(readiness=pl.lit("HOLD")), 1)
    with pytest.raises(SchemaError, match="rename it"):
        studbay.select(table().with_columns(rank=1), 1)
    for budget in (-1, math.nan, math.inf):
        with pytest.raises(InputError, match="0 or more"):
            studbay.select(table(), budget)
    with pytest.raises(InputError, match="sir, cost_per_tonne"):
        studbay.select(table(), 1, by="npv")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="a table was expected"):
        studbay.summarize(3)  # type: ignore[arg-type]


def test_other_data_frames_do_too(tmp_path: Path) -> None:
    pandas = pytest.importorskip("pandas", minversion="3")
    arrow = pytest.importorskip("pyarrow")
    wanted = studbay.summarize(table(), by="county").to_dict()
    frame = pandas.DataFrame(ROWS, columns=COLUMNS)
    assert studbay.summarize(frame, by="county").to_dict() == wanted
    assert studbay.summarize(arrow.table(table()), by="county").to_dict() == wanted
    categories = table().with_columns(pl.col("county", "readiness").cast(pl.Categorical))
    assert studbay.summarize(categories, by="county").to_dict() == wanted


# The command line.


@pytest.fixture(params=["csv", "csv.gz", "csv.zst", "parquet"])
def file(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """The rows that were scored, and beside them the rejects, as `score` leaves them."""
    path = tmp_path / f"scored.{request.param}"
    scored = table().filter(pl.col("readiness").is_not_null()).drop("faults")
    rejects = table().filter(pl.col("readiness").is_null()).select("house_id", "county", "faults")
    rejects.write_csv(tmp_path / "scored.rejects.csv")
    if request.param == "parquet":
        scored.write_parquet(path)
    else:
        studbay.select(scored.with_columns(sir=1.0), 0)  # a table, before it is a file
        packing = {"csv": "uncompressed", "csv.gz": "gzip", "csv.zst": "zstd"}[request.param]
        text = scored.write_csv().encode()
        path.write_bytes(packed(text, packing, tmp_path))
    return path


def packed(text: bytes, packing: str, folder: Path) -> bytes:
    if packing == "gzip":
        import gzip

        return gzip.compress(text)
    if packing == "zstd":
        arrow = pytest.importorskip("pyarrow")
        data: bytes = arrow.compress(text, codec="zstd", asbytes=True)
        return data
    return text


def test_overview_of_a_file(file: Path) -> None:
    done = run("overview", file, "--by", "county", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout) == studbay.summarize(table(), by="county").to_dict()
    text = run("overview", file, "--by", "county").stdout
    assert text == studbay.summarize(table(), by="county").text() + "\n"
    alone = file.with_name(file.name.replace("scored", "alone"))
    file.rename(alone)
    assert "5 houses read" in run("overview", alone).stdout
    beside = run("overview", alone, "--rejects", file.with_name("scored.rejects.csv"))
    assert "6 houses read" in beside.stdout


def test_shortlist_of_a_file(file: Path, tmp_path: Path) -> None:
    list_ = tmp_path / "list.csv"
    done = run("shortlist", file, "--budget", 6500, "-o", list_, "--left-out")
    assert (done.returncode, done.stderr) == (0, "")
    assert "2 houses for $3,000 of $6,500" in done.stdout
    assert "f\tover_budget\tcosts 4,000.00 when 3,500.00 were left" in done.stdout
    with list_.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    assert [(row["rank"], row["house_id"], row["look_first"]) for row in rows] == [
        ("1", "b", "true"),
        ("2", "a", "false"),
    ]
    again = run("shortlist", file, "--budget", 6500, "-o", list_)
    assert again.returncode == 2
    assert "exists" in again.stderr
    assert run("shortlist", file, "--budget", 6500, "-o", list_, "--force").returncode == 0
    itself = run("shortlist", file, "--budget", 6500, "-o", file, "--force")
    assert itself.returncode == 2
    parquet = tmp_path / "list.parquet"
    assert run("shortlist", file, "--budget", 6500, "-o", parquet).returncode == 0
    assert pl.read_parquet(parquet)["house_id"].to_list() == ["b", "a"]
    piped = run("shortlist", file, "--budget", 6500, "-o", "-")
    assert piped.stdout == list_.read_text(encoding="utf-8")
    document = json.loads(run("shortlist", file, "--budget", 6500, "--json").stdout)
    assert [house["house_id"] for house in document["chosen"]] == ["b", "a"]


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    wrong = tmp_path / "scored.csv"
    for text, reason in (
        ("", "empty"),
        ("a,b\n1\n", "there is no column readiness"),
        (f"{','.join(COLUMNS[:12])}\nx,y\n", "2"),
    ):
        wrong.write_text(text, encoding="utf-8")
        done = run("overview", wrong)
        assert done.returncode == 2, text
        assert done.stderr.startswith("studbay: "), done.stderr
        assert reason in done.stderr
        assert "Traceback" not in done.stderr
    for path in (tmp_path / "none.csv", tmp_path, tmp_path / "table.xlsx"):
        done = run("shortlist", path, "--budget", 1)
        assert done.returncode == 2
        assert "Traceback" not in done.stderr
    (tmp_path / "cut.parquet").write_bytes(b"PAR1")
    assert run("overview", tmp_path / "cut.parquet").returncode == 2


def test_a_formula_stays_harmless_on_the_list(tmp_path: Path) -> None:
    note = table().with_columns(note=pl.lit("=1+1"), county=pl.lit('a "b", c'))
    list_ = tmp_path / "list.csv"
    studbay.select(note, 1e9).write(list_)
    with list_.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    assert {(row["note"], row["county"]) for row in rows} == {("'=1+1", 'a "b", c')}


# The demo portfolio.


@pytest.fixture(scope="module")
def make_portfolio() -> ModuleType:
    spec = importlib.util.spec_from_file_location("make_portfolio", DEMO / "make_portfolio.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_demo_portfolio_is_what_its_script_makes(make_portfolio: ModuleType) -> None:
    assert (DEMO / "portfolio.csv").read_bytes() == make_portfolio.wanted()


def test_the_demo_portfolio_shows_all_that_can_happen(tmp_path: Path) -> None:
    scored = tmp_path / "scored.parquet"
    assert run("score", DEMO / "portfolio.csv", "-o", scored).returncode == 1
    summary = studbay.summarize_file(scored, "county")
    total = summary.to_dict()["total"]
    assert total["houses_read"] == 3000
    assert 0.03 < total["houses_rejected"] / 3000 < 0.05
    assert 0.15 < total["houses_hold"] / total["houses_scored"] < 0.25
    assert {group["county"] for group in summary.to_dict()["groups"]} >= {"Corrie", "Dunmere"}
    codes = {reason["code"] for reason in summary.to_dict()["rejected_by_reason"]}
    assert codes == {"not_a_choice", "not_a_number", "missing", "given_twice", "out_of_range"}
    selection = studbay.select_file(scored, 250_000)
    assert selection.total["net_cost"] <= 250_000
    assert len(selection) + len(selection.left_out) == total["houses_scored"]


def test_from_a_list_to_a_summary_without_a_file() -> None:
    scored = studbay.score(pl.read_csv(DEMO / "portfolio.csv", infer_schema=False))
    whole = studbay.summarize(scored, by="vintage")
    apart = studbay.summarize(scored.results, "vintage", rejects=scored.rejects)
    assert whole.to_dict() == apart.to_dict()
    assert whole.total["houses_read"] == 3000
    assert len(studbay.select(scored, 250_000).left_out) > 2000
