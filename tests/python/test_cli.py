"""The commands for one house, as a user runs them: in a process of their own."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

import studbay

ROOT = Path(__file__).resolve().parents[2]
HOUSE = ROOT / "demo-data" / "house.toml"


def run(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    """Runs the command line with its output in pipes."""
    return subprocess.run(
        [sys.executable, "-m", "studbay.cli", *map(str, arguments)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        timeout=60,
    )


def refused(*arguments: str | Path) -> str:
    """What a refused command says: on standard error alone, without a traceback, with status 2."""
    done = run(*arguments)
    assert done.returncode == 2, done
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert done.stderr.strip()
    return done.stderr


def test_a_house_is_told_in_order() -> None:
    done = run("assess", HOUSE)
    assert done.returncode == 0
    assert done.stderr == ""
    text = done.stdout
    assert "\x1b" not in text, "no marks of a terminal in a pipe"
    places = [text.index(words) for words in ("CHECK:", "Payback about", "Money,", "Heat,")]
    assert places == sorted(places)
    headline = next(line for line in text.splitlines() if line.startswith("Payback about"))
    assert "modelled" in headline
    assert "likely" in headline
    assert "Would change it most" in text


def test_a_hold_comes_first(tmp_path: Path) -> None:
    file = tmp_path / "held.toml"
    file.write_text(
        HOUSE.read_text(encoding="utf-8").replace('knob_and_tube = "no"', 'knob_and_tube = "yes"'),
        encoding="utf-8",
    )
    done = run("assess", file)
    assert done.returncode == 0
    body = done.stdout.split("\n\n")[1]
    assert body.startswith("HOLD: the work must not start")
    assert "licensed electrician" in body
    assert done.stdout.index("HOLD") < done.stdout.index("Payback")


def test_json_is_the_assessment() -> None:
    done = run("assess", HOUSE, "--json", "--explain", "--units", "si")
    assert done.returncode == 0
    document = json.loads(done.stdout)
    expected = studbay.House.from_file(HOUSE).assess().to_dict(units="si")
    for name, value in expected.items():
        assert document[name] == value, name
    assert document["modelled"] is True
    assert any(step["symbol"] == "u_before" for step in document["derivation"])
    assert {text["code"] for text in document["finding_texts"]} == set(document["findings"])


def test_explain_prints_the_derivation_after_the_account() -> None:
    done = run("assess", HOUSE, "--explain")
    assert done.returncode == 0
    assert done.stdout.rstrip().endswith(str(studbay.House.from_file(HOUSE).explain()).rstrip())


def test_currency_and_units_are_the_users() -> None:
    done = run("assess", HOUSE, "--currency", "CA$", "--units", "si")
    assert "CA$4,600" in done.stdout
    assert "m²" in done.stdout
    assert "ft²" not in done.stdout


def test_a_terminal_gets_the_same_words() -> None:
    """With a terminal for standard output; wrapped lines are joined before they are compared."""
    master, slave = pty.openpty()
    environment = os.environ | {"COLUMNS": "300", "TERM": "xterm-256color"}
    process = subprocess.Popen(
        [sys.executable, "-m", "studbay.cli", "assess", str(HOUSE)],
        stdout=slave,
        stderr=subprocess.PIPE,
        env=environment,
    )
    os.close(slave)
    output = b""
    while True:
        try:
            part = os.read(master, 65536)
        except OSError:  # the other side is closed
            break
        if not part:
            break
        output += part
    os.close(master)
    assert process.wait(60) == 0
    assert process.stderr is not None
    assert process.stderr.read() == b""
    process.stderr.close()
    text = output.decode()
    assert "\x1b[" in text, "a terminal gets its marks"
    assert text.index("CHECK") < text.index("Payback about")


def test_fields_list_the_registry() -> None:
    done = run("fields")
    assert done.returncode == 0
    lines = done.stdout.splitlines()
    assert len(lines) == len(studbay.fields()) + 1
    assert any(line.startswith("cavity_depth_in\tcavity_depth_mm\t3.5\t") for line in lines)
    named = json.loads(run("fields", "--json").stdout)
    assert [row["name"] for row in named] == [field.name_ip for field in studbay.fields()]
    table = run("fields", "--markdown").stdout.splitlines()
    assert table[1].startswith("| --- |")
    assert len(table) == len(lines) + 1
    assert "gypsum_board_1_2in" in run("fields", "--materials").stdout


def test_version() -> None:
    commit = f" ({studbay.__commit__})" if studbay.__commit__ else ""
    assert run("--version").stdout == f"studbay {studbay.__version__}{commit}\n"


BAD = {
    "empty.toml": (b"", "empty"),
    "blank.json": (b" \n\t ", "empty"),
    "latin.toml": ("house_id = 'Ch\u00e2teau'".encode("latin-1"), "not UTF-8"),
    "junk.toml": (b"\x00\x01\x02 junk", "not valid TOML, line 1"),
    "junk.json": (b"{'house_id': 1}", "not valid JSON, line 1"),
    "list.json": (b"[1, 2]", "this is a list"),
    "house.yaml": (b"house_id: x", "ends in .toml or .json"),
    "deep.json": (b"[" * 100_000, "not valid JSON"),
    "large.toml": (b"#" * (2 << 20), "larger than"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_file_that_is_no_house_file(tmp_path: Path, name: str) -> None:
    content, words = BAD[name]
    file = tmp_path / name
    file.write_bytes(content)
    text = refused("assess", file)
    assert words in text
    assert str(file) in text
    assert text.count("\n") == 1, "one clear line"


def test_no_file_and_a_folder(tmp_path: Path) -> None:
    assert "No such file" in refused("assess", tmp_path / "missing.toml")
    folder = tmp_path / "folder.toml"
    folder.mkdir()
    assert "folder" in refused("assess", folder).replace("directory", "folder").lower()


def test_a_file_of_a_hundred_megabytes_is_refused_at_once(tmp_path: Path) -> None:
    file = tmp_path / "huge.json"
    with file.open("wb") as huge:
        huge.truncate(100 << 20)
    assert "larger than" in refused("assess", file)


FAULTS = {
    "wall_area_ft2 = 1850": ("wall_area_ft2 = -1", "wall_area_ft2 = -1: allowed is above 0"),
    "framing_fraction = 0.25": ("framing_fraction = nan", "framing_fraction = NaN"),
    "heating_efficiency = 0.72": ("heating_efficiency = inf", "heating_efficiency = inf"),
    "cavity_depth_in = 3.75": (
        "cavity_depth_in = 3.75\ncavity_depth_mm = 95.25",
        "cavity_depth_in or cavity_depth_mm, not both",
    ),
    "fuel_price = 3.60": ("feul_price = 3.60", "is fuel_price meant?"),
    "installed_cost = 4600": ("", "installed_cost: must be given"),
    "fill_density_lb_ft3 = 4.0": ("fill_density_lb_ft3 = 2.0", "not packed"),
    "framing_fraction = 0.25 ": ('framing_material = "metal"', "parallel paths"),
}


@pytest.mark.parametrize("line", FAULTS)
def test_a_fault_names_field_value_and_range(tmp_path: Path, line: str) -> None:
    wrong, words = FAULTS[line]
    text = HOUSE.read_text(encoding="utf-8")
    assert line.strip() in text
    file = tmp_path / "house.toml"
    file.write_text(text.replace(line.strip(), wrong), encoding="utf-8")
    assert words in refused("assess", file)


def test_every_fault_at_once(tmp_path: Path) -> None:
    file = tmp_path / "house.json"
    house = {
        "house_id": "x",
        "fuel": "coal",
        "surfaces": [
            {"kind": "wall", "area_ft2": 10, "series_r": 3},
            {"kind": "wall", "area_ft2": 10, "layers": [0.5, "gypsum_board_1_2in", {"r": -1}]},
        ],
    }
    file.write_text(json.dumps(house), encoding="utf-8")
    text = refused("assess", file)
    assert "faults" in text.splitlines()[0]
    for words in ("fuel = coal", "surfaces[1].layers[2].r = -1", "heating_degree_days_f"):
        assert words in text


def test_wrong_words_on_the_command_line() -> None:
    refused("assess")
    refused("assess", HOUSE, "--units", "furlongs")
    refused("asess", HOUSE)


def test_a_reader_that_leaves_early_is_no_error() -> None:
    command = f"{sys.executable} -m studbay.cli assess {HOUSE} --explain | head -n 1"
    done = subprocess.run(
        command, shell=True, capture_output=True, text=True, check=False, timeout=60
    )
    assert done.stdout.startswith("harrow-mills-14")
    assert done.stderr == ""
