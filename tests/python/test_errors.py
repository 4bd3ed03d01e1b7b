"""Bad input: every fault at once, each with field, value and what is allowed."""

from __future__ import annotations

import errno
import os
import pickle
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import studbay
from studbay import House, finance
from studbay.errors import HouseFileError, InputError, Issue, StudbayError

Fields = dict[str, Any]


class Awkward:
    """A number that raises when it is asked for."""

    def __init__(self, error: BaseException) -> None:
        self.error = error

    def __float__(self) -> float:
        raise self.error


def faults(**fields: Any) -> dict[str, Issue]:
    """What is wrong with these fields; that nothing is given at all is left aside."""
    with pytest.raises(InputError) as caught:
        House(**fields)
    issues = caught.value.issues
    assert issues
    assert str(caught.value) == "\n".join(str(issue) for issue in issues)
    assert len({(issue.field, issue.code) for issue in issues}) == len(issues)
    # The first fault of a field is the one that a person meets.
    return {issue.field: issue for issue in reversed(issues) if issue.code != "missing"}


@pytest.mark.parametrize(
    ("name", "value", "code", "words"),
    [
        ("fule_price", 1.5, "unknown_name", "is fuel_price meant?"),
        ("colour_of_door", 1, "unknown_name", "no field has this name"),
        ("area_ft2", 10, "misplaced", "surface"),
        ("framing_fraction", 25, "out_of_range", "allowed is 0 to 0.6"),
        ("framing_fraction", -0.1, "out_of_range", "allowed is 0 to 0.6"),
        ("wall_area_ft2", 0, "out_of_range", "above 0"),
        ("cavity_depth_mm", 3.5, "out_of_range", "12.7 to 406.4 mm"),
        ("life_years", 30.5, "out_of_range", "whole number"),
        ("fuel_price", float("nan"), "not_a_number", "not a finite number"),
        ("fuel_price", float("inf"), "not_a_number", "not a finite number"),
        ("fuel_price", -(10**400), "not_a_number", "not a finite number"),
        ("fuel_price", "1,50", "not_a_number", "no comma"),
        ("fuel_price", "$1.50", "not_a_number", "no currency sign"),
        ("fuel_price", "", "", ""),
        ("framing_fraction", "25%", "not_a_number", "write 25 % as 0.25"),
        ("fuel_price", True, "not_a_number", "not a number"),
        ("fuel", "gas", "not_a_choice", "one of natural_gas"),
        ("fuel", "natural gas", "not_a_choice", "is natural_gas meant?"),
        ("fuel", 3, "not_a_choice", "one of natural_gas"),
        ("knob_and_tube", "yess", "not_a_choice", "is yes meant?"),
        ("knob_and_tube", "\ud800", "not_a_choice", "one of no, yes, unknown"),
        ("house_id", True, "not_text", "1 to 200 characters"),
        ("house_id", "x" * 201, "out_of_range", "1 to 200 characters"),
        ("framing_material", "metal", "refused", "metal framing is not covered"),
        ("fill_density_lb_ft3", 2.0, "refused", "settles"),
        ("fuel_price", [1.5], "wrong_type", "this is a list"),
        ("fuel_price", {"a": 1}, "wrong_type", "this is a table"),
        ("fuel_price", b"1.5", "wrong_type", "type bytes"),
        ("fuel_price", 1j, "wrong_type", "type complex"),
        ("fuel_price", object(), "wrong_type", "type object"),
        ("fuel_price", float, "wrong_type", "type type"),
        ("fuel_price", np.array([1.0, 2.0]), "wrong_type", "type ndarray"),
        ("fuel_price", np.array([1.0]), "wrong_type", "type ndarray"),
        ("fuel_price", np.datetime64("2026-01-01"), "wrong_type", "type datetime64"),
        ("fuel_price", Awkward(RuntimeError("no")), "wrong_type", "type Awkward"),
        ("surfaces", 3, "wrong_type", "a list of surfaces, this is a number"),
        ("surfaces", [], "out_of_range", "1 to 200 surfaces"),
    ],
)
def test_one_fault(name: str, value: Any, code: str, words: str) -> None:
    found = faults(**{name: value})
    if not code:
        assert found == {}
        return
    assert set(found) == {name}
    assert found[name].code == code
    assert words in found[name].reason


def test_a_number_too_long_to_print() -> None:
    assert faults(fuel_price=10**6000)["fuel_price"].code == "not_a_number"


def test_every_fault_is_told_at_once_with_its_path() -> None:
    layers = [{"r": -1}, "plaster", {"thickness_in": 1}, {"r": 1, "rsi": 1}, None, {"thick": 1}]
    found = faults(
        house_id="h",
        wall_area_ft2=10,
        wall_area_m2=1,
        rebate=5,
        installed_cost=3,
        surfaces=[
            {"area_ft2": -1, "series_r": 3, "knd": "wall"},
            {"area_ft2": 5, "layers": layers, "series_r": [1]},
            {"area_ft2": 5, "fuel_price": 1, "kind": "attic_floor", "batt_compression": 0.1},
            7,
            {"area_ft2": object(), "layers": 3},
        ],
    )
    assert {
        "wall_area_ft2",
        "rebate",
        "surfaces[0].area_ft2",
        "surfaces[0].knd",
        "surfaces[1].layers[0].r",
        "surfaces[1].layers[1].material",
        "surfaces[1].layers[2]",
        "surfaces[1].layers[3].rsi",
        "surfaces[1].layers[5].thick",
        "surfaces[1].series_r",
        "surfaces[2].fuel_price",
        "surfaces[2].batt_compression",
        "surfaces[3]",
        "surfaces[4].area_ft2",
        "surfaces[4].layers",
    } <= set(found)


def test_both_unit_names_are_refused() -> None:
    issue = faults(wall_area_ft2=100, wall_area_m2=9)["wall_area_m2"]
    assert issue.code == "given_twice"
    assert "wall_area_ft2 or wall_area_m2" in issue.reason


def test_what_is_required_is_asked_for() -> None:
    with pytest.raises(InputError) as caught:
        studbay.assess()
    missing = {issue.field for issue in caught.value.issues}
    assert missing == {f.name_ip for f in studbay.fields() if f.required and "flat" in f.where} | {
        "series_r",
        "fuel_price",
    }
    assert {issue.code for issue in caught.value.issues} == {"missing"}


def test_a_list_that_holds_itself_ends() -> None:
    endless: list[Any] = []
    endless.append(endless)
    assert faults(surfaces=endless)["surfaces[0]"].code == "wrong_type"
    table: Fields = {}
    table["layers"] = [table]
    assert faults(surfaces=[table])


def test_an_interrupt_is_not_swallowed() -> None:
    with pytest.raises(KeyboardInterrupt):
        House(fuel_price=Awkward(KeyboardInterrupt()))


def test_long_and_ugly_values_stay_readable() -> None:
    (issue,) = faults(fuel="\x1b[31m" + "y" * 10_000).values()
    assert len(str(issue)) < 300
    assert "\x1b" not in str(issue)
    with pytest.raises(InputError) as caught:
        House(**{"\x1b[31m\n": 1})  # type: ignore[arg-type]
    assert "\x1b" not in str(caught.value)
    assert str(caught.value).splitlines() == [str(issue) for issue in caught.value.issues]


FILES: list[tuple[str, bytes, str]] = [
    ("empty.toml", b"", "empty"),
    ("blank.json", b" \n\n", "empty"),
    ("latin.toml", 'house_id = "Zürich"'.encode("latin-1"), "not UTF-8"),
    ("wide.json", b"\xff\xfe{\x00}\x00", "not UTF-8"),
    ("broken.toml", b'house_id = "a"\nfuel = \n', "line 2"),
    ("broken.json", b'{"house_id": "a",\n "fuel": }', "line 2"),
    ("list.json", b"[1, 2]", "a table of named values"),
    ("house.csv", b"house_id\n", ".toml or .json"),
    ("house", b"house_id", ".toml or .json"),
    ("junk.toml", b"\x00" * (1 << 21), "larger than"),
    ("deep.json", b"[" * 100_000, "JSON"),
    ("deep.toml", b"a=" + b"[" * 100_000, "TOML"),
]


@pytest.mark.parametrize(("name", "content", "words"), FILES, ids=[name for name, _, _ in FILES])
def test_what_is_no_house_file(name: str, content: bytes, words: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    for given_path in (path, str(path)):
        with pytest.raises(HouseFileError) as caught:
            House.from_file(given_path)
        assert words in str(caught.value)
        assert len(str(caught.value).splitlines()) == 1
        assert caught.value.path == str(path)
        assert caught.value.reason == str(caught.value)


def test_what_the_system_refuses(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError) as missing:
        House.from_file(tmp_path / "none.toml")
    assert missing.value.filename == str(tmp_path / "none.toml")
    assert missing.value.errno == errno.ENOENT
    folder = tmp_path / "folder.toml"
    folder.mkdir()
    for path in (tmp_path, folder):
        with pytest.raises(IsADirectoryError) as directory:
            House.from_file(path)
        assert directory.value.filename == str(path)
    with pytest.raises(NotADirectoryError):
        House.from_file(tmp_path / "a\u0000b" if os.name == "nt" else _beneath_a_file(tmp_path))


def _beneath_a_file(folder: Path) -> Path:
    (folder / "file").write_text("x", encoding="utf-8")
    return folder / "file" / "house.toml"


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="this user may read everything")
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    path = tmp_path / "house.toml"
    path.write_text("", encoding="utf-8")
    path.chmod(0)
    with pytest.raises(PermissionError):
        House.from_file(path)


def test_faults_in_a_file_are_faults_of_the_house(tmp_path: Path) -> None:
    path = tmp_path / "house.json"
    path.write_text('{"house_id": "a", "fule": 1, "surfaces": [{"r": 1}]}', encoding="utf-8")
    with pytest.raises(InputError) as caught:
        House.from_file(path)
    assert {"fule", "surfaces[0].r"} <= {issue.field for issue in caught.value.issues}
    with pytest.raises(InputError):
        House.from_toml("")
    with pytest.raises(HouseFileError) as broken:
        House.from_json("{")
    assert broken.value.path is None
    with pytest.raises(HouseFileError):
        House.from_toml("\ud800")


def test_arguments_that_are_no_fields() -> None:
    demo: Any = House.from_file
    with pytest.raises(TypeError):
        demo(3)
    with pytest.raises(TypeError):
        studbay.assess("two-family")  # type: ignore[call-arg]
    with pytest.raises(InputError) as caught:
        _any_house().to_dict(units="metric")
    assert str(caught.value) == "units = metric: must be one of ip, si"


@pytest.mark.parametrize(
    "call",
    [
        lambda: finance.growing_annuity(-1.0, 0.0, 10),
        lambda: finance.growing_annuity(0.03, float("nan"), 10),
        lambda: finance.growing_annuity(0.03, 0.0, 128),
        lambda: finance.growing_annuity(0.03, 0.0, -1),
        lambda: finance.adjusted_internal_rate(0.03, 1.0, 0),
        lambda: finance.adjusted_internal_rate(0.03, float("inf"), 3),
        lambda: finance.net_present_value(-1, [1.0]),
        lambda: finance.net_present_value(0.1, [1.0, float("inf")]),
        lambda: finance.net_present_value(0.1, ["1"]),  # type: ignore[list-item]
        lambda: finance.internal_rate_of_return([None, 1.0]),  # type: ignore[list-item]
        lambda: _any_house().account(units="x"),
        lambda: _any_house().house.account(units=""),
    ],
)
def test_arguments_outside_their_range(call: Callable[[], object]) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert len(caught.value.issues) == 1


def _any_house() -> studbay.Assessment:
    return studbay.assess(
        house_id="h",
        wall_area_m2=100,
        series_rsi=0.5,
        heating_degree_days_c=3000,
        heating_efficiency=0.9,
        fuel="natural_gas",
        fuel_price=1,
        installed_cost=1000,
    )


def test_errors_have_one_family_and_pickle() -> None:
    for error in (InputError, HouseFileError):
        assert issubclass(error, StudbayError)
        assert issubclass(error, ValueError)
    with pytest.raises(InputError) as caught:
        House(fule=1)  # type: ignore[call-arg]
    assert caught.value.row is None
    issues = caught.value.issues
    made = InputError("two rows", [issues[0], ("missing", "fuel", "", "must be given")], row=7)
    file_error = HouseFileError("no", "house.toml")
    for error_value in (caught.value, made, file_error):
        again = pickle.loads(pickle.dumps(error_value))
        assert type(again) is type(error_value)
        assert (str(again), vars(again)) == (str(error_value), vars(error_value))
    assert made.row == 7
    assert made.issues[1] == Issue("missing", "fuel", "", "must be given")


def test_an_error_points_at_the_caller_alone() -> None:
    with pytest.raises(InputError) as caught:
        studbay.assess(fule=1)  # type: ignore[call-arg]
    frames = traceback.extract_tb(caught.value.__traceback__)
    assert [Path(frame.filename).name for frame in frames] == [Path(__file__).name]
    assert caught.value.__cause__ is None
    assert caught.value.__context__ is None


NAMES = [name for f in studbay.fields() for name in (f.name_ip, f.name_si) if name]
VALUES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=8),
    st.binary(max_size=3),
    st.decimals(),
    st.lists(st.integers(), max_size=2),
    st.dictionaries(st.text(max_size=3), st.integers(), max_size=2),
)


@settings(max_examples=300, deadline=None)
@given(st.dictionaries(st.sampled_from([*NAMES, "surfaces", "other"]), VALUES, max_size=12))
def test_nothing_but_an_input_error_ever_comes(fields: Fields) -> None:
    error = None
    try:
        House(**fields)
    except InputError as raised:
        error = raised
    if error:
        assert str(error) == "\n".join(str(issue) for issue in error.issues)
