"""Evidence against other libraries, and the doors to it: house files, proofs, jobs, pictures."""

from __future__ import annotations

import datetime as dt
import itertools
import json
import math
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from statsmodels.stats.proportion import proportion_confint

import studbay
from studbay import HouseFile
from studbay.errors import HouseFileError, InputError, SchemaError

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo-data" / "house-as-built.toml"
PLAIN = ROOT / "demo-data" / "house.toml"


def studbay_command(*arguments: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "studbay.cli", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


# ---------------------------------------------------------------- against scipy and statsmodels


@settings(max_examples=300, deadline=None)
@given(
    st.integers(1, 3000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
    st.sampled_from([0.8, 0.9, 0.95, 0.99]),
)
def test_intervals_agree_with_scipy_and_statsmodels(
    count: tuple[int, int], confidence: float
) -> None:
    found, seen = count
    test = stats.binomtest(found, seen)
    for method, other in (("wilson", "wilson"), ("exact", "exact")):
        ours = studbay.share_interval(found, seen, confidence=confidence, method=method)
        theirs = test.proportion_ci(confidence_level=confidence, method=other)
        assert ours == pytest.approx((theirs.low, theirs.high), abs=1e-9)
    for method, name in (("wilson", "wilson"), ("exact", "beta")):
        ours = studbay.share_interval(found, seen, confidence=confidence, method=method)
        ends = proportion_confint(found, seen, alpha=1 - confidence, method=name)
        # statsmodels gives nan or a bit beyond for none and for all.
        theirs2 = np.clip(np.nan_to_num(ends, nan=float(found == seen)), 0, 1)
        assert ours[1] == pytest.approx(theirs2[1], abs=1e-9)
        if found:
            assert ours[0] == pytest.approx(theirs2[0], abs=1e-9)


@settings(max_examples=150, deadline=None)
@given(
    st.integers(1, 250).flatmap(
        lambda total: st.integers(1, total).flatmap(
            lambda seen: st.tuples(st.integers(0, seen), st.just(seen), st.just(total))
        )
    )
)
def test_finite_walls_agree_with_the_hypergeometric_tails(drawn: tuple[int, int, int]) -> None:
    found, seen, total = drawn
    low, high = studbay.finite_interval(found, seen, total)
    possible = np.arange(found, total - (seen - found) + 1)
    # A number of cold bays is kept while neither tail of its draw is 2.5 % or less.
    upper = stats.hypergeom.sf(found - 1, total, possible, seen)
    lower = stats.hypergeom.cdf(found, total, possible, seen)
    kept = possible[(upper > 0.025 + 1e-12) & (lower > 0.025 + 1e-12)]
    doubtful = possible[(np.abs(upper - 0.025) < 1e-9) | (np.abs(lower - 0.025) < 1e-9)]
    if not doubtful.size:
        assert (low, high) == (kept.min(), kept.max())


@settings(max_examples=100, deadline=None)
@given(st.lists(st.floats(3, 5), min_size=2, max_size=60))
def test_limits_of_the_chart_by_numpy(values: list[float]) -> None:
    chart = studbay.control_chart(values)
    steps = np.abs(np.diff(values))
    spread = steps.mean() / 1.128
    limits = chart["limits"]
    assert chart["ranges"] == pytest.approx(steps.tolist())
    assert limits["centre"] == pytest.approx(np.mean(values))
    assert limits["low"] == pytest.approx(np.mean(values) - 3 * spread)
    assert limits["range_high"] == pytest.approx(3.267 * steps.mean())
    outside = [place for place, x in enumerate(values) if x < limits["low"] or x > limits["high"]]
    assert [place for place, signal in chart["signals"] if signal == "outside"] == outside


def test_constants_of_the_chart_by_simulation() -> None:
    """d2 is the mean range of two normal values of unit spread, D4 its upper three sigma."""
    ranges = np.abs(np.diff(np.random.default_rng(1).normal(size=(400_000, 2)), axis=1))
    assert ranges.mean() == pytest.approx(1.128, abs=0.005)
    assert 1 + 3 * ranges.std() / ranges.mean() == pytest.approx(3.267, abs=0.02)


def test_a_published_log_of_twenty_engines() -> None:
    """Inner diameters from a statistics manual (S2); limits by hand: 80.38 and 5.0789 steps."""
    values = [78.4, 80.1, 84.4, 79.1, 80.4, 83.5, 73.8, 83.5, 75.0, 76.8]
    values += [70.5, 80.3, 82.4, 79.4, 86.4, 90.5, 77.7, 82.5, 79.9, 83.2]
    chart = studbay.control_chart(values)
    steps = [abs(b - a) for a, b in itertools.pairwise(values)]
    mean = math.fsum(values) / 20
    assert chart["limits"]["centre"] == pytest.approx(mean)
    assert chart["limits"]["range_mean"] == pytest.approx(math.fsum(steps) / 19)
    assert chart["limits"]["firm"] is True
    assert chart["signals"] == []


# ---------------------------------------------------------------- house files


def test_a_file_keeps_its_letters() -> None:
    text = DEMO.read_text(encoding="utf-8")
    file = HouseFile.from_toml(text)
    assert file.text == text
    assert file == HouseFile.from_file(DEMO)
    assert (file.format, file.schema_version) == ("toml", 2)
    assert file.stages()[0] == ("survey", "2026-02-10")
    assert repr(file) == "<HouseFile toml: 5 stages>"
    new = file.with_value("crew", "crew 3", stage="as_built")
    new = new.with_row("as_built", "calibration", {"date": dt.date(2026, 10, 7), "box_mass_lb": 6})
    assert new.text.count("\n") == text.count("\n") + 4
    changed = file.changes(new)
    assert changed[0] == ("as_built.crew", '"crew 2"', '"crew 3"')
    assert [path for path, *_ in changed[1:]] == [
        "as_built.calibration[12].date",
        "as_built.calibration[12].box_mass_lb",
    ]
    assert file.changes(file) == []


def test_the_plain_file_is_a_survey() -> None:
    file = HouseFile.from_file(PLAIN)
    assert (file.schema_version, file.stages()) == (1, [("survey", None)])
    new = file.upgraded()
    assert new.schema_version == 2
    house = studbay.House.from_toml(new.text)
    assert house == studbay.House.from_file(PLAIN)
    assert file.prove().to_dict()["as_built"] is None
    assert file.prove().receipt() is None
    assert file.prove().receipt_account() is None


def test_the_offer_is_what_is_promised() -> None:
    promised = HouseFile.from_file(DEMO).prove().to_dict()["promised"]
    assert promised["net_cost"] == 3200  # 4,600 less 1,400; the survey thought of 4,400
    assert studbay.House.from_file(DEMO).assess().net_cost == 3200


def test_json_files_are_house_files_too(tmp_path: Path) -> None:
    document = {"house_id": "a", "own": {"x": [1, None]}}
    path = tmp_path / "a.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    file = HouseFile.from_file(path)
    new = file.with_value("date", dt.date(2026, 1, 2), stage="survey")
    new.save(path)
    assert json.loads(path.read_text(encoding="utf-8")) == document | {
        "survey": {"date": "2026-01-02"}
    }
    with pytest.raises(HouseFileError, match=r"\.json"):
        new.save(tmp_path / "a.toml")
    with pytest.raises(OSError, match="No such file"):
        new.save(tmp_path / "none" / "a.json")


@pytest.mark.parametrize("value", [math.nan, math.inf, None, [1], {"a": 1}, object()])
def test_what_no_file_can_hold_is_refused(value: object) -> None:
    with pytest.raises(InputError):
        HouseFile.from_toml("").with_value("key", value)


def test_a_moment_is_no_day() -> None:
    with pytest.raises(InputError, match="must be a day"):
        HouseFile.from_toml("").with_value("date", dt.datetime(2026, 1, 2, 3), stage="survey")
    with pytest.raises(InputError, match="must be one of survey"):
        HouseFile.from_toml("").with_value("date", dt.date(2026, 1, 2), stage="party")


@settings(max_examples=100, deadline=None)
@given(
    st.dictionaries(
        st.from_regex(r"[a-z_]{1,8}", fullmatch=True), st.integers() | st.text(), max_size=5
    )
)
def test_nothing_of_a_json_file_is_lost(members: dict[str, Any]) -> None:
    document = {"as_built": {"own": members}, **{f"x_{k}": v for k, v in members.items()}}
    text = json.dumps(document, indent=1, ensure_ascii=False)
    file = HouseFile.from_json(text)
    new = file.with_value("bags", 40, stage="as_built").with_row("as_built", "rows", {"a": "b"})
    document["as_built"] |= {"bags": 40, "rows": [{"a": "b"}]}
    assert json.loads(new.text) == document


# ---------------------------------------------------------------- proofs


def test_the_demo_job() -> None:
    proof = HouseFile.from_file(DEMO).prove()
    found = proof.to_dict()
    assert (proof.house_id, proof.weight) == ("harrow-mills-14", "check")
    assert proof.codes == ["bays_missed", "scan_part", "limits_provisional", "leakage_not_tested"]
    (tally,) = found["tallies"]
    theirs = stats.binomtest(7, 96).proportion_ci(method="wilson")
    assert tally["wilson"] == pytest.approx([theirs.low, theirs.high])
    assert tally["of_all_bays"] == list(studbay.finite_interval(7, 96, 118))
    # Bays were missed and it cost more, so it takes longer to pay back than was promised.
    paybacks = [found[k]["simple_payback_years"] for k in ("promised", "as_built")]
    assert paybacks[0] < paybacks[1] < found["measured"]["figures"]["simple_payback_years"]
    assert found["measured"]["figures"]["annual_savings"] == pytest.approx(118 * 3.6)
    si = proof.to_dict(units="si")["as_built"]["u_after_w_m2k"]
    assert si == pytest.approx(found["as_built"]["u_after_btu_h_ft2_f"] * 5.678263, rel=1e-6)
    row = next(row for row in found["table"] if row["name"] == "fuel_saved")
    assert (row["measured"], row["measured_range"]) == (
        pytest.approx(118),
        pytest.approx([92, 144]),
    )


def test_confidence_is_a_share() -> None:
    file = HouseFile.from_file(DEMO)
    wide = file.prove(confidence=0.99).to_dict()["tallies"][0]["wilson"]
    narrow = file.prove(confidence=0.8).to_dict()["tallies"][0]["wilson"]
    assert wide[0] < narrow[0] < narrow[1] < wide[1]
    with pytest.raises(InputError, match=r"write 95 % as 0\.95"):
        file.prove(confidence=95)


def test_a_machine_that_is_out_comes_first() -> None:
    file = HouseFile.from_file(DEMO)
    low = {"date": dt.date(2026, 10, 1), "machine": "blower A", "setting": "wall"}
    low |= {"box_volume_ft3": 1.5, "box_mass_lb": 4.5}
    proof = file.with_row("as_built", "calibration", low).prove()
    assert proof.weight == "hold"
    first = proof.account()[0]
    assert (first.tone, first.title) == ("hold", "DO NOT WORK until the machine is adjusted")


def test_the_receipt() -> None:
    receipt = HouseFile.from_file(DEMO).prove().receipt()
    assert receipt is not None
    (part,) = receipt["parts"]
    assert part["coverage_area_ft2"] == 1850
    assert part["initial_thickness_in"] == pytest.approx(2.55)
    assert (part["bags"], part["r_by_maker"]) == (45.5, pytest.approx(13))
    assert receipt["check_the_current_rule"] is True
    assert "460.17" in receipt["rule"]
    blocks = HouseFile.from_file(DEMO).prove().receipt_account(units="si")
    assert blocks is not None
    assert ("Coverage area", "172 m²") in blocks[1].lines


@pytest.mark.parametrize(
    ("found", "seen", "why"), [(5, 4, "more than were seen"), (0, 0, "1 to 100000")]
)
def test_impossible_counts_are_refused(found: int, seen: int, why: str) -> None:
    with pytest.raises(InputError, match=why):
        studbay.share_interval(found, seen)


def test_other_impossible_arguments() -> None:
    with pytest.raises(InputError, match="wilson, exact"):
        studbay.share_interval(1, 2, method="wald")
    with pytest.raises(InputError, match="as many as were seen"):
        studbay.finite_interval(1, 5, 4)
    with pytest.raises(InputError, match="must be finite"):
        studbay.control_chart([1.0, math.nan])


# ---------------------------------------------------------------- jobs

HEADER = (
    "house_id,wall_area_ft2,series_r,heating_degree_days_f,heating_efficiency,fuel,fuel_price,"
    "installed_cost,crew,machine,work_date,bags_used,bays,bays_scanned,cold_after,inside_f,"
    "outside_f,wind_mph,sun_free_hours,box_volume_ft3,box_mass_lb"
)


def job(name: str, crew: str, bags: object, cold: object) -> str:
    return (
        f"{name},1000,3,5600,0.8,natural_gas,1.5,3000,{crew},blower,2026-09-01,{bags},60,60,{cold},"
        "68,40,5,6,1.5,6.0"
    )


@pytest.fixture
def listed(tmp_path: Path) -> Path:
    rows = [HEADER, job("a", "1", 34, 0), job("b", "2", 29, 0), job("c", "2", 30, 6)]
    rows += [job("d", "1", 34, 61)]
    path = tmp_path / "jobs.csv"
    path.write_text("\n".join(rows), encoding="utf-8")
    return path


def test_jobs_by_crew(listed: Path) -> None:
    review = studbay.review_jobs(listed)
    found = review.to_dict()
    assert [job["standing"] for job in found["jobs"]] == ["within", "outside", "outside"]
    crew = found["crews"][0]
    assert (crew["name"], crew["density_outside"], crew["coverage_outside"]) == ("2", 1, 1)
    ends = studbay.share_interval(6, 120)
    assert crew["missed_interval"] == pytest.approx(ends)
    assert review.rejected == 1
    assert found["rejects"][0]["issues"][0]["field"] == "cold_after"
    assert review.csv.splitlines()[0].startswith("row,house_id,crew,machine")
    assert len(review.csv.splitlines()) == 3
    assert repr(review) == "<JobsReview: 3 jobs, 2 listed, 1 rejected>"


def test_lists_that_are_no_use(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        studbay.review_jobs(tmp_path / "none.csv")
    path = tmp_path / "houses.csv"
    path.write_text("house_id,wall_area_ft2\na,1000\n", encoding="utf-8")
    with pytest.raises(SchemaError, match="no column of evidence"):
        studbay.review_jobs(path)


# ---------------------------------------------------------------- command line and pictures


def test_commands_as_a_new_user(tmp_path: Path, listed: Path) -> None:
    file = tmp_path / "house.toml"
    shutil.copy(PLAIN, file)
    before = file.read_text(encoding="utf-8")
    run = studbay_command("stamp", file, "as_built", "--date", "2026-10-02", "--set", "crew=crew 2")
    assert run.returncode == 0, run.stderr
    assert "as_built.date: (nothing) -> " in run.stdout
    after = file.read_text(encoding="utf-8")
    assert after.startswith(before.rstrip()), "every line of before, and the new ones below"
    run = studbay_command("stamp", file, "offer", "--date", "2026-10-09")
    assert (run.returncode, "is before offer.date" in run.stderr) == (2, True)
    assert file.read_text(encoding="utf-8") == after, "nothing is written where a day is wrong"
    run = studbay_command("as-built", file)
    assert (run.returncode, "Payback as built about" in run.stdout) == (0, True)
    run = studbay_command("compare", PLAIN, file)
    assert "schema_version" in run.stdout
    run = studbay_command("stages", DEMO, "--json")
    assert json.loads(run.stdout)["stages"]["as_built"] == "2026-10-02"
    run = studbay_command("receipt", PLAIN)
    assert (run.returncode, "as_built" in run.stderr) == (2, True)
    run = studbay_command("jobs", listed, "-o", tmp_path / "out.csv")
    assert (run.returncode, "By crew" in run.stdout) == (1, True)
    assert (tmp_path / "out.csv").read_text(encoding="utf-8").count("\n") == 3
    run = studbay_command("jobs", listed, "-o", tmp_path / "out.csv")
    assert (run.returncode, "--force" in run.stderr) == (2, True)
    run = studbay_command("as-built", tmp_path / "none.toml")
    assert (run.returncode, "Traceback" in run.stderr) == (2, False)


def test_the_machine_s_chart_is_drawn(tmp_path: Path) -> None:
    run = studbay_command("machine-log", DEMO, "--picture", tmp_path / "chart.png")
    assert run.returncode == 0, run.stderr
    assert "2026-08-26   3.42  outside" in run.stdout
    assert (tmp_path / "chart.png").read_bytes().startswith(b"\x89PNG")
    from studbay.plot_evidence import machine_charts_figure

    charts = HouseFile.from_file(DEMO).prove().to_dict()["machines"]
    above, below = machine_charts_figure(charts).axes
    limits = charts[0]["limits"]
    lines: Any = above.get_lines()
    heights = {line.get_ydata()[0] for line in lines if len(line.get_xdata()) == 2}
    assert {limits["low"], limits["centre"], limits["high"]} <= heights
    assert below.get_ylabel() == "step, lb/ft³"
    with pytest.raises(ValueError, match="no box"):
        machine_charts_figure([])


def test_the_invented_jobs_are_those_of_the_script() -> None:
    command = [sys.executable, str(ROOT / "demo-data" / "make_jobs.py"), "-"]
    made = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    assert made == (ROOT / "demo-data" / "jobs.csv").read_text(encoding="utf-8")
    found = studbay.review_jobs(ROOT / "demo-data" / "jobs.csv").to_dict()
    assert (found["read"], len(found["rejects"])) == (36, 3)
    assert found["crews"][0]["name"] == "crew 2"
