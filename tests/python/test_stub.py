"""The type information says what the registries say, and what the objects do."""

from __future__ import annotations

import ast
import importlib.util
import typing
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

import studbay
from studbay import _native
from studbay import typing as types

ROOT = Path(__file__).parents[2]
SCRIPT = ROOT / "tests" / "generate" / "make_stubs.py"

Fields = dict[str, Any]


@pytest.fixture(scope="module")
def make_stubs() -> ModuleType:
    """The script that writes them."""
    spec = importlib.util.spec_from_file_location("make_stubs", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_generated_parts_are_up_to_date(make_stubs: ModuleType) -> None:
    for path, text in make_stubs.wanted().items():
        assert path.read_text(encoding="utf-8") == text, f"run {SCRIPT.relative_to(ROOT)}"


def test_keywords_are_the_registry() -> None:
    fields = studbay.fields()
    for where, keys, more in (
        (
            "flat",
            types.HouseFields,
            {"surfaces", "options", "loans", "incentives", "job", "clearances", "survey", "ranges"},
        ),
        ("surface", types.SurfaceFields, {"layers", "ranges"}),
    ):
        names = {n for f in fields if where in f.where for n in (f.name_ip, f.name_si) if n}
        assert set(typing.get_type_hints(keys)) == names | more


def test_layers_take_the_names_of_their_type() -> None:
    examples: Fields = {
        "r": 1,
        "rsi": 1,
        "material": "gypsum_board_1_2in",
        "thickness_in": 1,
        "thickness_mm": 10,
        "r_per_in": 2,
        "k_w_mk": 0.1,
        "name": "x",
    }
    assert set(typing.get_type_hints(types.LayerFields)) == set(examples)
    for name, value in examples.items():
        codes: set[str] = set()
        try:
            _house(layers=[{name: value}])
        except studbay.errors.InputError as error:
            codes = {issue.code for issue in error.issues}
        # Alone it may say too little of a layer; its name is known all the same.
        assert codes <= {"conflict"}, name


def _house(**surface: Any) -> studbay.House:
    return studbay.House(
        house_id="h",
        heating_degree_days_f=5000,
        heating_efficiency=0.8,
        fuel="natural_gas",
        fuel_price=1,
        installed_cost=1000,
        surfaces=[{"area_ft2": 100, **surface}],
    )


def test_results_that_may_be_none_are_typed_so(
    any_houses: list[Fields], make_stubs: ModuleType
) -> None:
    kinds: dict[str, str] = make_stubs.result_properties()
    seen: dict[str, set[str]] = {name: set() for name in kinds}
    extra = any_houses[0] | {"fuel_price": 0.0, "electricity_price": 0.0}
    paid = any_houses[1] | {"rebate": any_houses[1]["installed_cost"]}
    for fields in [*any_houses, extra, paid]:
        figures = studbay.assess(**fields)
        for name in kinds:
            value = getattr(figures, name)
            seen[name].add("None" if value is None else type(value).__name__)
    for name, kind in kinds.items():
        wanted = {"str"} if name == "readiness" else set(kind.split(" | "))
        assert seen[name] == wanted, name


def test_the_stub_lists_every_attribute() -> None:
    tree = ast.parse((ROOT / "python/studbay/_native.pyi").read_text(encoding="utf-8"))
    for node in tree.body:
        if isinstance(node, ast.ClassDef):
            listed = {item.name for item in node.body if isinstance(item, ast.FunctionDef)}
            own = {name for name in vars(getattr(_native, node.name)) if name[:1] != "_"}
            assert {name for name in listed if name[:1] != "_"} == own, node.name
