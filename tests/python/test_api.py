"""The contract: names, units, types, and what the objects promise."""

from __future__ import annotations

import copy
import doctest
import pickle
import subprocess
import sys
import threading
from concurrent.futures import ProcessPoolExecutor
from decimal import Decimal
from fractions import Fraction
from multiprocessing import get_context
from typing import Any

import numpy as np
import pytest

import studbay
from studbay import House

Fields = dict[str, Any]

CONTRACT = [
    ("u_before_btu_h_ft2_f", "u_before_w_m2k"),
    ("u_after_btu_h_ft2_f", "u_after_w_m2k"),
    ("heat_saved_mmbtu", "heat_saved_kwh"),
    "fuel_saved electricity_saved_kwh saved_share annual_savings net_cost simple_payback_years",
    "discounted_payback_years npv sir airr irr lifetime_savings annual_co2e_kg lifetime_co2e_kg",
    "embodied_co2e_kg carbon_payback_years cost_per_tonne",
    ("fill_mass_lb", "fill_mass_kg"),
    "bags readiness findings",
]
#: From the definitions of the foot, the pound and the Btu (IT).
METRE, KILOGRAM, JOULE = 0.3048, 0.45359237, 1055.05585262
U_SI = JOULE / 3600.0 * 1.8 / METRE**2
K_SI = U_SI * METRE / 12.0
#: How many SI units one inch-pound unit is.
SI_PER_IP = {
    "u_before_btu_h_ft2_f": U_SI,
    "u_after_btu_h_ft2_f": U_SI,
    "heat_saved_mmbtu": JOULE / 3.6,
    "fill_mass_lb": KILOGRAM,
}


def names(place: int) -> list[str]:
    """The contract's names in one unit system."""
    out: list[str] = []
    for part in CONTRACT:
        out += part.split() if isinstance(part, str) else [part[place]]
    return out


def test_results_carry_the_names_of_the_contract(demo: Fields) -> None:
    figures = studbay.assess(**demo)
    assert [result.name_ip for result in studbay.results()] == names(0)
    assert [result.name_si or result.name_ip for result in studbay.results()] == names(1)
    for place, units in enumerate(("ip", "si")):
        told = figures.to_dict(units=units)
        assert list(told) == ["house_id", *names(place)]
        assert told["house_id"] == figures.house.house_id == "two-family"
        for name in names(place):
            if name == "findings":
                assert told[name] == [finding.code for finding in figures.findings]
            else:
                assert told[name] == getattr(figures, name), name


def test_both_unit_systems_tell_the_same(flat_houses: list[Fields]) -> None:
    for fields in flat_houses[:100]:
        figures = studbay.assess(**fields)
        for ip, si in zip(names(0), names(1), strict=True):
            if ip != si:
                here, there = getattr(figures, ip), getattr(figures, si)
                assert there == pytest.approx(here * SI_PER_IP[ip], rel=1e-14)


def test_fields_in_si_give_the_same_figures() -> None:
    rest: Fields = {
        "house_id": "h",
        "heating_efficiency": 0.8,
        "fuel": "propane",
        "fuel_price": 3,
        "installed_cost": 3000,
        "electricity_price": 0.2,
    }
    ip: Fields = {
        "wall_area_ft2": 1000.0,
        "cavity_depth_in": 4.0,
        "framing_r_per_in": 1.25,
        "series_r": 3.0,
        "batt_thickness_in": 2.0,
        "batt_r_per_in": 3.0,
        "fill_density_lb_ft3": 3.8,
        "fill_r_per_in": 3.5,
        "heating_degree_days_f": 5400.0,
        "cooling_degree_days_f": 900.0,
        "cooling_seer": 14.0,
        "cfm50_before": 3000.0,
        "cfm50_after": 2500.0,
        "elevation_ft": 2000.0,
        "bag_weight_lb": 25.0,
    }
    si: Fields = {
        "wall_area_m2": 1000.0 * METRE**2,
        "cavity_depth_mm": 4.0 * 25.4,
        "framing_k_w_mk": K_SI / 1.25,
        "series_rsi": 3.0 / U_SI,
        "batt_thickness_mm": 2.0 * 25.4,
        "batt_k_w_mk": K_SI / 3.0,
        "fill_density_kg_m3": 3.8 * KILOGRAM / METRE**3,
        "fill_k_w_mk": K_SI / 3.5,
        "heating_degree_days_c": 5400.0 / 1.8,
        "cooling_degree_days_c": 900.0 / 1.8,
        "cooling_scop": 14.0 / (3600.0 / JOULE),
        "m3h50_before": 3000.0 * 60.0 * METRE**3,
        "m3h50_after": 2500.0 * 60.0 * METRE**3,
        "elevation_m": 2000.0 * METRE,
        "bag_weight_kg": 25.0 * KILOGRAM,
    }
    assert len(ip) == len(si) == sum(field.name_si is not None for field in studbay.fields()) - 3
    here, there = studbay.assess(**rest, **ip).to_dict(), studbay.assess(**rest, **si).to_dict()
    for name, value in here.items():
        if isinstance(value, float):
            assert there[name] == pytest.approx(value, rel=1e-12), name
        else:
            assert there[name] == value, name


def test_every_kind_of_number_is_taken(demo: Fields) -> None:
    plain = House(**demo)
    kinds: list[Any] = [int, float, str, Decimal, Fraction]
    kinds += [np.float64, np.int64, np.uint8, np.float32, np.asarray]
    for kind in kinds:
        assert House(**demo | {"life_years": kind(30)}) == House(**demo | {"life_years": 30}), kind
        assert House(**demo | {"house_id": kind(7)}).house_id.rstrip(".0") == "7", kind
    assert House(**demo | {"rebate": None, "surfaces": None}) == plain
    assert House(**demo | {"house_id": 10**25}).house_id == "1" + 25 * "0"
    for yes in ("yes", " YES ", True, np.True_, np.str_("yes")):
        assert (
            "knob_and_tube" in studbay.assess(**demo | {"knob_and_tube": yes}).to_dict()["findings"]
        )
    for no in (False, np.False_):
        assert House(**demo | {"knob_and_tube": no}) == plain


def test_a_house_may_list_its_surfaces(demo: Fields) -> None:
    wall = {name: demo.pop(name) for name in ("series_r", "batt_thickness_in")}
    area = demo.pop("wall_area_ft2")
    whole = studbay.assess(**demo, **wall, wall_area_ft2=area)
    halves = studbay.assess(**demo, surfaces=({"area_ft2": area / 2} | wall,) * 2)
    assert halves.npv == pytest.approx(whole.npv, rel=1e-12)
    films = 0.68 + 0.17
    layers = [{"r": 1.0, "name": "siding"}, 1.21 - films, {"thickness_in": 0.5, "r_per_in": 1.7}]
    listed = studbay.assess(**demo, surfaces=[{"area_ft2": area, "layers": layers}])
    assert listed.u_before_btu_h_ft2_f == pytest.approx(whole.u_before_btu_h_ft2_f, rel=0.02)
    assert [step.surface for step in halves.explain() if step.symbol == "series_r"] == [0, 1]


def test_assessments_are_frozen_comparable_and_short(demo: Fields) -> None:
    figures = studbay.assess(**demo)
    assert figures == studbay.assess(**demo) == House(**demo).assess()
    assert hash(figures) == hash(studbay.assess(**demo))
    assert figures != studbay.assess(**demo | {"fuel_price": 1.6})
    assert figures != 3
    assert len({figures, House(**demo).assess()}) == 1
    for name in ("npv", "u_after_w_m2k", "readiness", "house", "nothing_of_the_sort"):
        with pytest.raises(AttributeError):
            setattr(figures, name, 1)
    years = figures.simple_payback_years
    assert repr(figures) == f"<Assessment 'two-family': clear, modelled payback {years:.1f} years>"
    assert repr(studbay.assess(**demo | {"fuel_price": 0, "house_id": "a\nb'"})) == (
        '<Assessment "a\\nb\'": clear, modelled: no payback>'
    )
    assert repr(figures.house) == "<House 'two-family': 1 surface>"
    assert figures.house is figures.house


def test_none_is_told_as_none(demo: Fields) -> None:
    figures = studbay.assess(**demo | {"fuel_price": 0})
    assert figures.simple_payback_years is None
    assert figures.irr is None
    assert figures.saved_share is None
    assert figures.to_dict()["discounted_payback_years"] is None
    assert [finding.code for finding in figures.findings] == ["no_saving"]


def test_findings_say_who_may_clear_them(demo: Fields) -> None:
    figures = studbay.assess(**demo | {"vermiculite": "yes", "moisture_problem": "unknown"})
    first, second = figures.findings[:2]
    assert figures.readiness == "hold"
    assert (first.code, first.weight) == ("vermiculite", "hold")
    assert second.weight == "check"
    assert all(finding.reason and finding.cleared_by for finding in (first, second))
    assert first == figures.findings[0]
    assert hash(first) == hash(figures.findings[0])
    assert repr(first) == "<Finding vermiculite: hold>"
    assert (figures.fuel, figures.fuel_unit) == ("natural_gas", "therm")
    assert "kg CO2e/kWh" in figures.grid


def test_the_page_of_a_notebook_holds_first_and_escapes(demo: Fields) -> None:
    bad = "<script>alert('x')</script>&"
    figures = studbay.assess(**demo | {"house_id": bad, "knob_and_tube": True})
    page = figures._repr_html_()
    assert "<script" not in page
    assert "&lt;script&gt;alert(&#39;x&#39;)&lt;/script&gt;&amp;" in page
    assert page.index("knob-and-tube") < page.index("modelled")
    blocks = figures.account()
    assert blocks[0].tone == "hold"
    assert blocks == figures.house.account(units="ip", currency="$")
    assert blocks != figures.account(units="si", currency="CA$")
    assert any("CA$" in text for b in figures.account(currency="CA$") for _, text in b.lines)


def test_the_derivation_is_a_sequence_that_ends_in_the_figures(any_houses: list[Fields]) -> None:
    for fields in any_houses[:40]:
        figures = studbay.assess(**fields)
        steps = figures.explain()
        assert len(steps) == len(list(steps)) == len(steps.to_dicts())
        assert steps[0] == next(iter(steps))
        assert steps[0] in steps
        assert steps[-1] == list(steps)[-1]
        assert steps[1:3] == tuple(steps)[1:3]
        assert steps == figures.house.explain()
        last = {step.symbol: step for step in steps}
        for name in ("npv", "irr", "net_cost", "annual_co2e_kg", "bags"):
            assert last[name].value == getattr(figures, name), name
        assert (figures.u_before_btu_h_ft2_f, figures.u_before_w_m2k) in {
            (step.value, step.value_si) for step in steps
        }
        assert {step.origin for step in steps} >= {"computed", "given", "table"}
        dicts = steps.to_dicts()
        attributes = {name for name in dir(steps[0]) if name[0] != "_"} - {"to_dict"}
        assert set(dicts[0]) == attributes
        assert dicts[-1] == {name: getattr(steps[-1], name) for name in attributes}
        assert all(step.symbol in str(steps) for step in steps)
    with pytest.raises(IndexError):
        steps[len(steps)]


def test_pickles_and_copies_are_equal(any_houses: list[Fields]) -> None:
    numpy = {"house_id": np.str_("n"), "rebate": np.float64(1), "life_years": np.int8(9)}
    houses = [House(**fields) for fields in any_houses]
    houses += [House(**any_houses[0] | {"installed_cost": 5e4} | numpy)]
    for house in houses:
        for other in (pickle.loads(pickle.dumps(house)), copy.copy(house), copy.deepcopy(house)):
            assert other == house
            assert hash(other) == hash(house)
        figures = house.assess()
        assert pickle.loads(pickle.dumps(figures)) == figures
        assert pickle.loads(pickle.dumps(figures)).to_dict() == figures.to_dict()


def test_what_a_house_was_made_from_cannot_be_changed_behind_it(demo: Fields) -> None:
    surfaces = [{"area_ft2": 100, "series_r": 3}]
    for name in ("wall_area_ft2", "series_r", "batt_thickness_in"):
        del demo[name]
    house = House(**demo, surfaces=surfaces)
    surfaces[0]["area_ft2"] = 200
    reduced: Any = house.__reduce__()
    source = reduced[1][1]
    source["surfaces"][0]["area_ft2"] = 300
    source["installed_cost"] = 1
    assert pickle.loads(pickle.dumps(house)) == house != House(**demo, surfaces=surfaces)


def test_other_processes_and_threads_give_the_same(any_houses: list[Fields]) -> None:
    houses = [House(**fields) for fields in any_houses[:50]]
    wanted = [house.assess().to_dict() for house in houses]
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        assert [figures.to_dict() for figures in pool.map(House.assess, houses)] == wanted
    wrong: list[object] = []

    def work() -> None:
        for house, figures in zip(houses * 20, wanted * 20, strict=True):
            if house.assess().to_dict() != figures:
                wrong.append(house)

    threads = [threading.Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong


def test_registries_describe_themselves() -> None:
    fields = {field.name_ip: field for field in studbay.fields()}
    depth = fields["cavity_depth_in"]
    assert (depth.name_si, depth.unit_ip, depth.unit_si) == ("cavity_depth_mm", "in", "mm")
    assert (depth.range_ip, depth.range_si) == ("0.5 to 16 in", "12.7 to 406.4 mm")
    assert (depth.default, depth.default_si, depth.kind) == ("3.5", "88.9", "number")
    assert (depth.where, depth.required, depth.choices) == ("flat, surface", False, ())
    assert fields["fuel"].required
    assert "natural_gas" in fields["fuel"].choices
    assert fields["fuel"].name_si is None
    assert fields["area_ft2"].where == "surface"
    assert fields["installed_cost"].where == "flat, house"
    assert all(field.help for field in fields.values())
    assert repr(depth) == "<Field cavity_depth_in: 0.5 to 16 in>"
    materials = studbay.materials()
    assert {material.role for material in materials} >= {"cladding", "sheathing", "interior_finish"}
    assert all(m.low <= m.r_h_ft2_f_btu <= m.high and m.source for m in materials)
    board = next(m for m in materials if m.key == "gypsum_board_1_2in")
    assert (board.thickness_in, board.thickness_mm) == (0.5, 12.7)


def test_examples_in_docstrings_hold() -> None:
    finder = doctest.DocTestFinder()
    examples = [t for item in (studbay, studbay.assess) for t in finder.find(item, "studbay")]
    assert sum(len(example.examples) for example in examples) > 5
    for example in examples:
        assert doctest.DocTestRunner().run(example).failed == 0


def test_everything_public_has_a_docstring() -> None:
    for name in studbay.__all__:
        item = getattr(studbay, name)
        assert item.__doc__, name
        if isinstance(item, type):
            for part in [part for part in vars(item) if not part.startswith("__")]:
                assert getattr(item, part).__doc__ or part == "_repr_html_", f"{name}.{part}"


def test_the_library_imports_nothing_that_it_does_not_need() -> None:
    heavy = {"typer", "rich", "numpy", "asyncio", "json", "dataclasses", "inspect"}
    code = f"import sys, studbay; print(*sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""
