"""The job sheet, the walk, looks on record and the price, from Python and the command line."""

from __future__ import annotations

import json
import math
import os
import pty
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import studbay
from studbay.errors import HouseFileError, InputError

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo-data" / "two_family.toml"
RATES = ROOT / "demo-data" / "rates.toml"
COMMAND = [sys.executable, "-m", "studbay.cli"]

#: An invented wall: 900 ft² of cavity, 262.5 ft³, 1,050 lb at 4 lb/ft³, 42 bags of 25 lb.
WALL: dict[str, Any] = {
    "house_id": "invented",
    "wall_area_ft2": 1200,
    "framing_fraction": 0.25,
    "cavity_depth_in": 3.5,
    "series_r": 3,
    "heating_degree_days_f": 5000,
    "heating_efficiency": 0.8,
    "fuel": "natural_gas",
    "fuel_price": 1.5,
    "installed_cost": 2500,
    "year_built": 1990,
    "knob_and_tube": "no",
    "vermiculite": "no",
    "moisture_problem": "no",
    "loose_interior_finish": "no",
}
JOB = {"access": "remove_course", "stud_spacing_in": 16, "wall_height_ft": 8, "spare_fraction": 0}


def run(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    """Runs a command with its output in pipes."""
    return subprocess.run(
        [*COMMAND, *map(str, arguments)],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=120,
    )


def text(blocks: list[studbay.Block]) -> str:
    """Everything that an account says."""
    lines = [line for block in blocks for line in block.lines]
    return "\n".join([*(block.title for block in blocks), *(" ".join(line) for line in lines)])


def looks(*entries: tuple[str, date | str], **rest: str) -> list[dict[str, Any]]:
    """Looks that clear the old wiring, by role and day."""
    return [
        {
            "finding": "knob_and_tube",
            "answer": "no",
            "cleared_by": role,
            "date": day,
            "evidence": "circuits dead",
            **rest,
        }
        for role, day in entries
    ]


def test_bags_by_hand() -> None:
    sheet = studbay.job_sheet(studbay.House(**WALL, job=JOB))
    assert (sheet.house_id, sheet.bags, sheet.bags_to_bring) == ("invented", 42, 42)
    # Common practice, no source: an average two-family house, taken at 2,400 ft², takes a day and a
    # half to two days.
    assert sheet.crew_days == (0.75, 1.0)
    document = sheet.to_dict()
    wall = document["surfaces"][0]
    assert wall["cavity_area_ft2"] == 900
    assert wall["fill_volume_ft3"] == 262.5
    assert wall["fill_mass_lb"] == 1050
    assert (wall["bays"], wall["openings"], wall["plugs"]) == (113, 113, 113)
    assert wall["course_ft"] == 150
    si = sheet.to_dict(units="si")["surfaces"][0]
    assert math.isclose(si["density_kg_m3"] * si["fill_volume_m3"], si["fill_mass_kg"])
    assert "Bring 42 bags" in text(sheet.account())
    assert "kg" in text(sheet.account(units="si"))
    assert "Bring 42 bags" in sheet._repr_html_()
    with pytest.raises(InputError, match="units"):
        sheet.account(units="metric")


@settings(max_examples=60, deadline=None)
@given(
    area=st.floats(1, 20_000),
    depth=st.floats(2, 12),
    density=st.floats(3, 6),
    missed=st.floats(0, 1),
    spare=st.floats(0, 1),
    bag=st.floats(10, 60),
)
def test_the_sheet_has_the_bags_of_the_assessment(
    area: float, depth: float, density: float, missed: float, spare: float, bag: float
) -> None:
    fields = WALL | {
        "wall_area_ft2": area,
        "cavity_depth_in": depth,
        "fill_density_lb_ft3": density,
        "missed_fraction": missed,
        "bag_weight_lb": bag,
    }
    house = studbay.House(**fields, job={"spare_fraction": spare})
    assessment, sheet = house.assess(), studbay.job_sheet(house)
    document = sheet.to_dict()
    assert document["assessed_fill_mass_lb"] == assessment.fill_mass_lb
    assert document["assessed_fill_bags"] == assessment.bags
    # With a pencil, in another order.
    full = area * (1 - 0.25) * depth / 12 * density
    assert math.isclose(document["fill_mass_lb"], full, rel_tol=1e-12)
    bags = full * (1 + spare) / bag
    assert bags * (1 - 1e-9) <= sheet.bags_to_bring < bags + 1 + 1e-9 * bags


def test_a_look_changes_the_answer_only_when_it_is_whole() -> None:
    held = WALL | {"knob_and_tube": "yes"}
    assert studbay.assess(**held).readiness == "hold"
    one = looks(("licensed_electrician", date(2026, 3, 2)))
    assert studbay.assess(**held, clearances=one).readiness == "hold"
    both = [*one, *looks(("local_code_official", "2026-03-05"))]
    house = studbay.House(**held, clearances=both)
    assert house.assess().readiness == "clear"
    assert "Knob-and-tube wiring" in text(house.account())
    assert house.assess().bags == studbay.assess(**held).bags
    for gone in ("cleared_by", "date", "evidence"):
        entry = {name: value for name, value in one[0].items() if name != gone}
        with pytest.raises(InputError) as caught:
            studbay.House(**held, clearances=[entry])
        assert [issue.field for issue in caught.value.issues] == [f"clearances[0].{gone}"]
    with pytest.raises(InputError, match="before the survey"):
        studbay.House(**held, clearances=one, survey={"date": date(2026, 3, 3)})
    with pytest.raises(InputError, match="a role, not a name"):
        studbay.House(**held, clearances=[one[0] | {"cleared_by": "Sam"}])


def test_a_line_of_a_table_counts_its_looks(tmp_path: Path) -> None:
    found = [{"finding": "vermiculite", "answer": "yes", "date": "2026-03-02"}]
    cleared = looks(("licensed_electrician", "2026-03-02"), ("local_code_official", "2026-03-05"))
    early = {"date": "2026-03-04"}
    rows = [
        WALL | {"clearances": found},
        WALL | {"knob_and_tube": "yes", "clearances": cleared},
        WALL | {"knob_and_tube": "yes", "clearances": cleared, "survey": early},
        WALL | {"survey": "by post", "job": {"own": 1}},
    ]
    given, out = tmp_path / "houses.jsonl", tmp_path / "scored.jsonl"
    given.write_text("\n".join(map(json.dumps, rows)), encoding="utf-8")
    report = studbay.score_file(given, out)
    assert (report.counts.scored, report.counts.rejected, report.counts.on_hold) == (3, 1, 1)
    scored = [json.loads(line) for line in out.read_text(encoding="utf-8").splitlines()]
    assert [row["readiness"] for row in scored] == ["hold", "clear", "clear"]
    assert scored[1]["clearances"] == cleared
    assert scored[2]["survey"] == "by post"
    assert studbay.assess(**rows[0]).readiness == "hold"


def test_three_wordings_have_one_substance() -> None:
    fields = WALL | {
        "knob_and_tube": "yes",
        "vermiculite": "yes",
        "moisture_problem": "yes",
        "loose_interior_finish": "yes",
        "spillage_test": "failed",
    }
    walk = studbay.walk_through(studbay.House(**fields))
    assert walk.readiness == "hold"
    held = [point for point in walk.to_dict()["points"] if point["weight"] == "hold"]
    assert len(held) == 5
    for reader in ("contractor", "salesperson", "owner"):
        account = walk.account(reader=reader)
        assert account[0].tone == "hold"
        words = " ".join(text for _, text in account[0].lines)
        for point in held:
            assert point["reason"] in words
            assert point["cleared_by"] in words
        assert words.count("The work must not start") == len(held)
    with pytest.raises(InputError, match="reader"):
        walk.account(reader="neighbour")


def test_the_price_is_the_sum_of_its_parts() -> None:
    house = studbay.House(**WALL, job=JOB)
    own = {
        "crew_size_people": 2,
        "wage_per_person_hour": 40,
        "packed_ft2_per_crew_day": 1200,
        "setup_days_per_job": 0.5,
        "machine_per_day": 100,
        "fibre_per_bag": 15,
        "plug_per_piece": 0.5,
        "course_off_and_on_per_ft": 1,
        "repaint_per_ft": 2,
        "fixed_per_job": 200,
        "overhead_fraction": 0.2,
        "margin_fraction": 0.25,
    }
    built = studbay.build_up(house, studbay.Rates(**own))
    # By hand, in tests/suite/costing.rs.
    assert math.isclose(built.installed_cost, 3914.4)
    assert math.isclose(sum(built.parts.values()), built.installed_cost)
    assert (built.quoted, built.findings) == (2500, ["quote_far_below", "quote_below_cost"])
    again = studbay.assess(**WALL | {"installed_cost": built.installed_cost})
    assert built.to_dict()["simple_payback_years"] == again.simple_payback_years
    assert studbay.Rates(**own) == studbay.Rates(**own)
    with pytest.raises(InputError) as caught:
        studbay.build_up(house, studbay.Rates())
    assert {"fibre_per_bag", "wage_per_person_hour"} <= {i.field for i in caught.value.issues}
    with pytest.raises(InputError, match="allowed is 0 or more"):
        studbay.Rates(fibre_per_bag=-1)
    with pytest.raises(InputError, match="is fibre_per_bag meant"):
        studbay.Rates(fiber_per_bag=1)
    with pytest.raises(FileNotFoundError):
        studbay.Rates.from_file("no_such_file.toml")


def test_the_demo_house_through_the_commands() -> None:
    sheet = run("jobsheet", DEMO)
    assert sheet.returncode == 0, sheet.stderr
    assert "Bring 134 bags" in sheet.stdout
    assert "common practice, no source" in sheet.stdout
    as_json = run("jobsheet", DEMO, "--json", "--units", "si")
    document = json.loads(as_json.stdout)
    house = studbay.House.from_file(DEMO)
    rates = studbay.Rates.from_file(RATES)
    assert document == studbay.job_sheet(house, rates).to_dict(units="si")
    price = run("price", DEMO)
    assert price.returncode == 0, price.stderr
    assert "Price built up: $" in price.stdout
    built = json.loads(run("price", DEMO, "--json", "--rates", RATES).stdout)
    assert math.isclose(sum(built["parts"].values()), built["installed_cost"])
    for reader in ("contractor", "salesperson", "owner"):
        walk = run("walk", DEMO, "--for", reader)
        assert walk.returncode == 0, walk.stderr
        assert "CHECK: someone must look" in walk.stdout
    assert json.loads(run("walk", DEMO, "--json").stdout)["readiness"] == "check"
    listed = run("rates").stdout.splitlines()
    assert listed[0].split("\t")[0] == "name"
    assert len(listed) == len(studbay.rate_fields()) + 1
    assert json.loads(run("assess", DEMO, "--json").stdout)["looks"][0]["cleared_by"]


def test_a_price_needs_rates(tmp_path: Path) -> None:
    house = ROOT / "demo-data" / "house.toml"
    without = run("price", house)
    assert (without.returncode, without.stdout) == (2, "")
    assert "give --rates FILE" in without.stderr
    few = tmp_path / "few.toml"
    few.write_text("fibre_per_bag = 12\n", encoding="utf-8")
    missing = run("price", house, "--rates", few)
    assert missing.returncode == 2
    assert "few.toml" in missing.stderr
    assert "wage_per_person_hour: must be given" in missing.stderr
    assert run("price", house, "--rates", tmp_path / "none.toml").returncode == 2


def test_a_look_is_recorded_in_the_file(tmp_path: Path) -> None:
    house = tmp_path / "house.toml"
    old = DEMO.read_text(encoding="utf-8")
    house.write_text(old, encoding="utf-8")
    (tmp_path / "rates.toml").write_bytes(RATES.read_bytes())
    done = run(
        "record",
        house,
        *("--finding", "spillage_test", "--answer", "passed", "--on", "2026-04-02"),
        *("--by", "combustion_safety_tester", "--evidence", "boiler drew at once; CO 3 ppm"),
    )
    assert done.returncode == 0, done.stderr
    new = house.read_text(encoding="utf-8")
    assert new.startswith(old.rstrip())
    assert "spillage_not_done" not in studbay.House.from_file(house).assess().to_dict()["findings"]
    assert [path.name for path in sorted(tmp_path.iterdir())] == ["house.toml", "rates.toml"]
    for wrong in (
        ("--finding", "spillage_test", "--answer", "no", "--on", "2026-04-02"),
        (
            *("--finding", "spillage_test", "--answer", "passed", "--on", "2026-01-02"),
            *("--by", "combustion_safety_tester", "--evidence", "x"),
        ),
        (
            *("--finding", "spillage_test", "--answer", "passed", "--on", "2026-04-02"),
            *("--by", "crew_leader", "--evidence", "x"),
        ),
    ):
        refused = run("record", house, *wrong)
        assert refused.returncode == 2
        assert house.read_text(encoding="utf-8") == new
    twin = tmp_path / "house.json"
    twin.write_text(json.dumps(WALL), encoding="utf-8")
    written = twin.read_text(encoding="utf-8")
    as_json = run(
        *("record", twin, "--finding", "vermiculite", "--answer", "yes", "--on", "2026-04-02"),
        *("--by", "trained_surveyor", "--evidence", "grey flakes in the attic"),
    )
    assert as_json.returncode == 0, as_json.stderr
    assert twin.read_text(encoding="utf-8").startswith(written.rstrip().removesuffix("}"))
    assert "vermiculite" in studbay.House.from_file(twin).assess().to_dict()["findings"]
    with pytest.raises(HouseFileError):
        studbay.record_look("= 3", finding="vermiculite", answer="no", date="2026-04-02")


def test_a_terminal_shows_boxes() -> None:
    leader, follower = pty.openpty()
    with subprocess.Popen(
        [*COMMAND, "jobsheet", str(DEMO)], stdout=follower, stdin=subprocess.DEVNULL
    ) as process:
        os.close(follower)
        shown = b""
        while True:
            try:
                piece = os.read(leader, 65536)
            except OSError:
                break
            if not piece:
                break
            shown += piece
        assert process.wait(60) == 0
    os.close(leader)
    assert "╭" in shown.decode()
    assert "Bring 134 bags" in shown.decode()
