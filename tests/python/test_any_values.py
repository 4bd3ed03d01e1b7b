"""Whatever values a caller hands over, the library refuses them as its own errors or gives figures.

A panic of the compiled part, a TypeError from its insides or a number that is not finite would end
these tests. Hypothesis draws the values; a fixed seed makes a run repeatable.
"""

from __future__ import annotations

import datetime
import json
import math
import pickle
from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy
import pyarrow
import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st

import studbay
from studbay.errors import HouseFileError, InputError, SchemaError, StudbayError

settings.register_profile(
    "studbay",
    deadline=None,
    max_examples=200,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
settings.load_profile("studbay")

PLAIN: dict[str, Any] = {
    "house_id": "x",
    "wall_area_ft2": 1200,
    "series_r": 3.06,
    "heating_degree_days_f": 5600,
    "heating_efficiency": 0.8,
    "fuel": "natural_gas",
    "fuel_price": 1.5,
    "installed_cost": 2400,
}
#: Text with anything in it, half a surrogate pair too.
ANY_TEXT = st.text(st.characters(), max_size=30)
SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.integers(min_value=-(10**400), max_value=10**400),
    st.floats(),
    ANY_TEXT,
    st.sampled_from(["yes", "no", "wood", "metal", "1e400", "NaN", "1,200", "82%", " 3.5 ", "-0"]),
    st.binary(max_size=8),
    st.decimals(),
    st.fractions(),
    st.complex_numbers(),
    st.dates(),
    st.builds(numpy.float32, st.floats(width=32)),
    st.builds(numpy.int64, st.integers(-(2**63), 2**63 - 1)),
    st.builds(numpy.array, st.lists(st.floats(), max_size=3)),
    st.just(object()),
    st.just(datetime.datetime(2024, 1, 1)),
    st.just(Ellipsis),
)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.tuples(inner),
        st.dictionaries(st.one_of(ANY_TEXT, st.integers(), st.none()), inner, max_size=4),
    ),
    max_leaves=8,
)
NAMES = st.one_of(
    st.sampled_from([f.name_ip for f in studbay.fields()]),
    st.sampled_from([f.name_si for f in studbay.fields() if f.name_si]),
    st.sampled_from(["surfaces", "layers", "material", "", "__class__", "self", "units"]),
    ANY_TEXT,
)


def judged(house: studbay.House) -> None:
    """A house that is taken has figures that are finite or none, and can be told."""
    figures = house.assess().to_dict()
    for name, value in figures.items():
        if isinstance(value, float):
            assert math.isfinite(value), name
    assert house.account()
    assert pickle.loads(pickle.dumps(house)) == house


def told(error: StudbayError) -> None:
    """An error has words."""
    assert str(error)


def refused(error: InputError) -> None:
    """A refusal says what is wrong."""
    assert error.issues
    assert str(error)
    assert all(issue.reason and issue.code for issue in error.issues)


@given(fields=st.dictionaries(NAMES, VALUES, max_size=6), over=st.booleans())
def test_any_keywords(fields: dict[str, Any], over: bool) -> None:
    """Alone, or over the fields of a plain house."""
    asked = {**PLAIN, **fields} if over else fields
    try:
        house = studbay.House(**asked)
    except InputError as error:
        refused(error)
    else:
        judged(house)


@given(name=st.sampled_from([f.name_ip for f in studbay.fields()]), value=VALUES)
def test_any_value_of_any_field(name: str, value: Any) -> None:
    try:
        house = studbay.House(**{**PLAIN, name: value})
    except InputError as error:
        refused(error)
    else:
        judged(house)


LAYERS = st.one_of(
    VALUES,
    st.lists(
        st.dictionaries(
            st.one_of(
                st.sampled_from(
                    ["name", "material", "r", "rsi", "thickness_in", "r_per_in", "k_w_mk"]
                ),
                ANY_TEXT,
            ),
            SCALARS,
            max_size=4,
        ),
        max_size=4,
    ),
)


@given(
    surfaces=st.one_of(
        VALUES,
        st.lists(
            st.dictionaries(NAMES, SCALARS, max_size=5).flatmap(
                lambda fields: LAYERS.map(lambda layers: {**fields, "layers": layers})
            ),
            max_size=3,
        ),
    )
)
def test_any_surfaces(surfaces: Any) -> None:
    head = {k: v for k, v in PLAIN.items() if k not in {"wall_area_ft2", "series_r"}}
    try:
        house = studbay.House(**head, surfaces=surfaces)
    except InputError as error:
        refused(error)
    else:
        judged(house)


def number_of(field: studbay.Field) -> st.SearchStrategy[float]:
    """Numbers about a field's range, read from the words that the reference prints."""
    words = field.range_ip.replace("above ", "").split()
    numbers = []
    for word in words:
        try:
            numbers.append(float(word))
        except ValueError:
            continue
    low, high = (numbers[0], numbers[-1]) if len(numbers) > 1 else (0.0, 1e6)
    return st.floats(low, high)


NUMERIC = [f for f in studbay.fields() if " to " in f.range_ip and f.name_ip != "house_id"]


@given(st.fixed_dictionaries({}, optional={f.name_ip: number_of(f) for f in NUMERIC}))
def test_numbers_about_their_ranges(fields: Mapping[str, float]) -> None:
    try:
        house = studbay.House(**{**PLAIN, **fields})
    except InputError as error:
        refused(error)
    else:
        judged(house)


@given(
    text=st.one_of(
        ANY_TEXT,
        st.dictionaries(NAMES, SCALARS, max_size=5).map(
            lambda fields: json.dumps(fields, default=str)
        ),
        st.lists(
            st.tuples(NAMES, st.sampled_from(["1", "''", "[]", "{}", "1e999", "nan", "'x'"])),
            max_size=8,
        ).map(lambda lines: "\n".join(f"{name} = {value}" for name, value in lines)),
    )
)
@pytest.mark.parametrize("read", ["from_toml", "from_json"])
def test_any_text_of_a_house_file(read: str, text: str) -> None:
    try:
        house = getattr(studbay.House, read)(text)
    except InputError as error:
        refused(error)
    except HouseFileError as error:
        told(error)
    else:
        judged(house)


COLUMNS = st.one_of(
    st.lists(st.one_of(st.none(), st.floats()), min_size=2, max_size=2).map(
        lambda cells: pyarrow.array(cells, pyarrow.float64())
    ),
    st.lists(st.one_of(st.none(), st.integers(-(2**63), 2**63 - 1)), min_size=2, max_size=2).map(
        lambda cells: pyarrow.array(cells, pyarrow.int64())
    ),
    st.lists(
        st.one_of(st.none(), st.text(st.characters(exclude_categories=["Cs"]), max_size=12)),
        min_size=2,
        max_size=2,
    ).map(lambda cells: pyarrow.array(cells, pyarrow.string())),
    st.lists(st.one_of(st.none(), st.booleans()), min_size=2, max_size=2).map(pyarrow.array),
    st.lists(st.decimals(-(10**20), 10**20, allow_nan=False, places=3), min_size=2, max_size=2).map(
        lambda cells: pyarrow.array(cells, pyarrow.decimal128(38, 3))
    ),
    st.just(pyarrow.nulls(2)),
    st.just(pyarrow.array([[1], None])),
    st.just(pyarrow.array(["a", "a"]).dictionary_encode()),
    st.just(pyarrow.array([0, 1], pyarrow.timestamp("s"))),
)


@given(columns=st.dictionaries(NAMES.filter(lambda n: n.isprintable()), COLUMNS, max_size=4))
def test_any_columns_of_a_table(columns: dict[str, Any]) -> None:
    """Every row comes back, with figures or with its faults."""
    base = {name: pyarrow.array([value] * 2) for name, value in PLAIN.items()}
    try:
        table = pyarrow.table({**base, **columns})
        scored = studbay.score(table)
    except (SchemaError, InputError) as error:
        told(error)
        return
    rows = pyarrow.table(scored)
    assert rows.num_rows == 2
    counts = scored.counts
    assert counts.read == counts.scored + counts.rejected == 2


MONEY = st.one_of(st.floats(), st.integers(-(10**30), 10**30), st.sampled_from([0, -1, 1e308]))


@given(rate=st.floats(), growth=st.floats(), years=st.integers(), flows=st.lists(MONEY, max_size=6))
def test_any_numbers_of_the_money_functions(
    rate: float, growth: float, years: int, flows: list[float]
) -> None:
    calls: tuple[Callable[[], object], ...] = (
        lambda: studbay.finance.growing_annuity(rate, growth, min(max(years, -(2**62)), 2**62)),
        lambda: studbay.finance.net_present_value(rate, flows),
        lambda: studbay.finance.internal_rate_of_return(flows),
        lambda: studbay.finance.adjusted_internal_rate(rate, growth, years % 200),
    )
    for call in calls:
        try:
            call()
        except InputError as error:
            refused(error)


WALL = {
    **{name: value for name, value in PLAIN.items() if name != "series_r"},
    "cladding": "wood_bevel_siding_1_2in",
    "sheathing": "board_sheathing_3_4in",
    "interior_finish": "plaster_wood_lath_3_4in",
}
NEAR = st.one_of(st.floats(-70, 130), st.floats(0, 1), SCALARS)


@given(
    fields=st.dictionaries(
        st.sampled_from(["outdoor_f", "outdoor_c", "indoor_f", "indoor_c", "indoor_rh"]),
        NEAR,
        max_size=3,
    )
)
def test_any_design_of_surface_temperatures(fields: dict[str, Any]) -> None:
    try:
        found = studbay.comfort(studbay.House(**WALL), **fields)
    except InputError as error:
        refused(error)
        return
    data = found.to_dict()
    low, high = sorted((data["outdoor_c"], data["indoor_c"]))
    for path in data["surfaces"][0]["before"] + data["surfaces"][0]["after"]:
        assert low - 1e-9 <= path["surface_c"] <= high + 1e-9


@given(
    outdoor=st.one_of(st.lists(st.floats(-70, 60), min_size=12, max_size=12), VALUES),
    rh=st.one_of(st.lists(st.floats(-0.1, 1.1), min_size=12, max_size=12), VALUES),
    fields=st.dictionaries(
        st.sampled_from(
            [
                "indoor_c",
                "indoor_rh",
                "indoor_class",
                "interior_coat",
                "batt_facing",
                "cladding_perms",
                "sheathing_perms",
                "surface",
            ]
        ),
        NEAR,
        max_size=3,
    ),
    coat=st.sampled_from(["none", "exterior_oil_old", "kraft_facing", ""]),
)
def test_any_question_about_moisture(
    outdoor: Any, rh: Any, fields: dict[str, Any], coat: str
) -> None:
    asked = {"indoor_class": "class_2", **fields}
    try:
        found = studbay.moisture(
            studbay.House(**WALL), outdoor_c=outdoor, outdoor_rh=rh, exterior_coat=coat, **asked
        )
    except InputError as error:
        refused(error)
        return
    assert found.findings
    for bay in found.to_dict()["after"]:
        assert math.isfinite(bay["peak_kg_m2"])
        assert bay["peak_kg_m2"] >= 0


@seed(1)
@given(lists=st.lists(st.tuples(st.integers(0, 13), st.floats(), st.floats()), max_size=30))
def test_any_readings(lists: list[tuple[int, float, float]]) -> None:
    month, celsius, rh = (
        (list(column) for column in zip(*lists, strict=True))
        if lists
        else (
            [],
            [],
            [],
        )
    )
    try:
        studbay.monthly_air(month, celsius, rh)
    except InputError as error:
        refused(error)


def test_exact_numbers_of_other_kinds_are_taken() -> None:
    """The drawing above must be able to succeed."""
    for value in (Decimal("1.5"), Fraction(3, 2), numpy.float32(1.5), "1.5"):
        assert studbay.House(**{**PLAIN, "fuel_price": value}).assess().annual_savings > 0
    assert issubclass(InputError, StudbayError)
