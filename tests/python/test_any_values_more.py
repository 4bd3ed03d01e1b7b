"""The same promise for weather, bills, options, doubt, evidence and pages: own errors, or figures.

Values are of the type that a function asks for, and anything within it; what has another type is
refused by Python itself.
"""

from __future__ import annotations

import datetime
import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pyarrow
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import studbay
from studbay import climate
from studbay.errors import HouseFileError, InputError, SchemaError, StudbayError, WeatherError

SETTINGS = settings(
    deadline=None,
    max_examples=100,
    derandomize=True,
    suppress_health_check=[
        HealthCheck.too_slow,
        HealthCheck.data_too_large,
        HealthCheck.function_scoped_fixture,
    ],
)

PLAIN: dict[str, Any] = {
    "house_id": "x",
    "wall_area_ft2": 1200,
    "cladding": "wood_bevel_siding_1_2in",
    "sheathing": "board_sheathing_3_4in",
    "interior_finish": "plaster_wood_lath_3_4in",
    "batt_thickness_in": 1.5,
    "heating_degree_days_f": 5600,
    "heating_efficiency": 0.8,
    "fuel": "natural_gas",
    "fuel_price": 1.5,
    "installed_cost": 2400,
}
#: Text that has a form in UTF-8: files and keys come as such.
TEXT = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
NUMBERS = st.one_of(
    st.floats(), st.sampled_from([0.0, -0.0, 1.0, -1.0, 65.0, 1e-320, 1e308, math.inf, math.nan])
)
SMALL = st.floats(-50, 120)
NAMES = [name for field in studbay.fields() for name in (field.name_ip, field.name_si) if name]
SCALARS = st.one_of(st.none(), st.booleans(), st.integers(-(2**63), 2**63 - 1), NUMBERS, TEXT)
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(TEXT, inner, max_size=3)),
    max_leaves=5,
)


def plain(**more: Any) -> studbay.House:
    return studbay.House(**{**PLAIN, **more})


def told(error: Exception) -> None:
    """An error has words; a refusal says what is wrong."""
    assert str(error)
    if isinstance(error, InputError):
        assert error.issues
        assert all(issue.reason and issue.code for issue in error.issues)


def finite(value: Any) -> None:
    """Numbers in an answer are finite; what does not exist is None."""
    if isinstance(value, float):
        assert math.isfinite(value)
    elif isinstance(value, dict):
        for inner in value.values():
            finite(inner)
    elif isinstance(value, (list, tuple)):
        for inner in value:
            finite(inner)


def attempt(call: Callable[[], object]) -> object:
    """What the call gives; None where it refuses in its own words."""
    try:
        found = call()
    except StudbayError as error:
        told(error)
        return None
    finite(found)
    return found


# ---------------------------------------------------------------- climate


@SETTINGS
@given(
    data=st.one_of(
        st.binary(max_size=200),
        st.lists(st.tuples(st.dates(), NUMBERS), max_size=40).map(
            lambda rows: "date,mean_f\n" + "".join(f"{day},{value}\n" for day, value in rows)
        ),
        st.lists(st.tuples(TEXT, TEXT, TEXT), max_size=5).map(
            lambda rows: "date,tmax_c,tmin_c\n" + "\n".join(",".join(row) for row in rows)
        ),
    ),
    form=st.sampled_from([None, "table", "tmy3", "epw", "other"]),
    unit=st.sampled_from([None, "f", "c", ""]),
)
def test_any_weather(data: bytes | str, form: str | None, unit: str | None) -> None:
    raw = data.encode() if isinstance(data, str) else data
    try:
        weather = climate.Weather.from_bytes(raw, format=form, unit=unit)
    except (WeatherError, InputError) as error:
        told(error)
        return
    assert weather.first <= weather.last
    assert weather.days >= weather.days_with_value >= 0
    for call in (
        lambda: weather.report(),
        lambda: weather.monthly(),
        lambda: weather.usual_year().heating,
        lambda: weather.house(PLAIN),
    ):
        try:
            call()
        except (StudbayError, TypeError) as error:
            told(error)


@SETTINGS
@given(numbers=st.lists(NUMBERS, min_size=4, max_size=4), means=st.lists(NUMBERS, max_size=13))
def test_any_numbers_of_degree_days(numbers: list[float], means: list[float]) -> None:
    a, b, c, d = numbers
    attempt(lambda: climate.balance_point(a, b, c))
    attempt(lambda: climate.hitchin_degree_days(a, b, c, d))
    attempt(lambda: climate.normal_degree_days(a, b, c, d))
    attempt(lambda: climate.convert_months(means, a))


@SETTINGS
@given(
    means=st.lists(SMALL, min_size=12, max_size=12),
    base=st.floats(-40, 120),
    method=st.sampled_from(["schoenau_kehrig", "hitchin"]),
)
def test_degree_days_of_any_months_are_not_negative(
    means: list[float], base: float, method: str
) -> None:
    found = attempt(lambda: climate.convert_months(means, base, method))
    if found is not None:
        assert isinstance(found, tuple)
        assert all(value >= 0 for value in found)


@SETTINGS
@given(word=TEXT)
def test_any_word_for_a_place(word: str) -> None:
    attempt(lambda: climate.places(word))
    attempt(lambda: climate.place(word))


# ---------------------------------------------------------------- bills


DAYS = [datetime.date(2024, 1, 1) + datetime.timedelta(days) for days in range(366)]
WEATHER = pyarrow.table(
    {
        "date": DAYS,
        "mean_f": [50 - 25 * math.cos(day.timetuple().tm_yday / 58.1) for day in DAYS],
    }
)


@SETTINGS
@given(
    rows=st.lists(
        st.tuples(st.integers(-20, 400), st.integers(-5, 60), NUMBERS | st.floats(0, 300)),
        max_size=14,
    ),
    form=st.sampled_from(["heating", "heating_cooling", "straight", "other"]),
    level=NUMBERS | st.floats(0.5, 0.99),
)
def test_any_bills(rows: list[tuple[int, int, float]], form: str, level: float) -> None:
    start = [DAYS[0] + datetime.timedelta(first) for first, _, _ in rows]
    table = pyarrow.table(
        {
            "start": pyarrow.array(start, pyarrow.date32()),
            "end": pyarrow.array(
                [day + datetime.timedelta(row[1]) for day, row in zip(start, rows, strict=True)],
                pyarrow.date32(),
            ),
            "use": pyarrow.array([row[2] for row in rows], pyarrow.float64()),
        }
    )
    try:
        fit = studbay.fit_bills(
            table, WEATHER, fuel="natural_gas", form=form, level=level, resamples=20
        )
    except (InputError, SchemaError) as error:
        told(error)
        return
    finite(fit.to_dict())
    assert fit.account()


@SETTINGS
@given(
    uses=st.lists(st.floats(0, 1e6), min_size=6, max_size=14),
    means=st.lists(SMALL, min_size=14, max_size=14),
    days=st.lists(st.floats(1, 60), min_size=14, max_size=14),
)
def test_any_means(uses: list[float], means: list[float], days: list[float]) -> None:
    count = len(uses)
    table = pyarrow.table({"use": uses, "mean_f": means[:count], "days": days[:count]})
    for form in ("straight", "heating"):
        try:
            fit = studbay.fit_means(table, fuel="natural_gas", form=form, resamples=20)
        except (InputError, SchemaError) as error:
            told(error)
        else:
            finite(fit.to_dict())


# ---------------------------------------------------------------- options, loans, goals


OPTION_NAMES = st.one_of(
    st.sampled_from(["name", "work", "surfaces", "access", "repair_cost", "removal_cost"]),
    st.sampled_from(NAMES),
    TEXT,
)
OPTION_VALUES = st.one_of(
    VALUES, st.floats(0, 6), st.sampled_from(["nothing", "top_up", "remove_and_fill", "removed"])
)


@SETTINGS
@given(
    options=st.lists(st.dictionaries(OPTION_NAMES, OPTION_VALUES, max_size=4), max_size=3),
    named=st.booleans(),
)
def test_any_options(options: list[dict[str, Any]], named: bool) -> None:
    if named:
        options = [{"name": f"option {place}", **o} for place, o in enumerate(options)]
    found = attempt(lambda: studbay.compare_options(plain(), options).rows)
    if found is not None:
        assert isinstance(found, (list, tuple))
        assert len(found) >= 1


LOAN = st.dictionaries(
    st.one_of(
        st.sampled_from(["name", "annual_rate", "months", "years", "fee", "fee_share", "share"]),
        st.sampled_from(["fee_in_loan", "down_payment", "amount", "cap", "tiers", "to_year"]),
        TEXT,
    ),
    st.one_of(VALUES, st.floats(0, 1), st.integers(0, 60)),
    max_size=5,
)


@SETTINGS
@given(loans=st.lists(LOAN, max_size=2), incentives=st.lists(LOAN, max_size=2))
def test_any_loans(loans: list[dict[str, Any]], incentives: list[dict[str, Any]]) -> None:
    attempt(lambda: studbay.lending.ways_to_pay(plain(), loans, incentives))
    first = loans[0] if loans else None
    attempt(lambda: studbay.lending.pay_for(plain(), first, incentives))


@SETTINGS
@given(
    field=st.one_of(st.sampled_from(NAMES), TEXT),
    goal=st.sampled_from(["npv", "payback", "sir", ""]),
    years=st.none() | NUMBERS | st.floats(1, 40),
    low=st.none() | NUMBERS,
    high=st.none() | NUMBERS | st.floats(0, 100),
)
def test_any_goal(
    field: str, goal: str, years: float | None, low: float | None, high: float | None
) -> None:
    attempt(
        lambda: studbay.break_even(plain(), field, goal, years=years, low=low, high=high).values
    )
    attempt(lambda: len(studbay.payback_curve(plain(), field, low=low, high=high, points=5)))


# ---------------------------------------------------------------- doubt


RANGE = st.one_of(
    VALUES,
    st.lists(st.floats(0, 4), min_size=1, max_size=4),
    st.fixed_dictionaries(
        {"distribution": st.sampled_from(["normal", "uniform", "triangular", "lognormal", ""])},
        optional={
            name: st.floats(-1, 5) | NUMBERS
            for name in ("low", "likely", "high", "mean", "sd", "median", "gsd")
        },
    ),
)


@SETTINGS
@given(ranges=st.dictionaries(st.one_of(st.sampled_from(NAMES), TEXT), RANGE, max_size=3))
def test_any_ranges(ranges: dict[str, Any]) -> None:
    try:
        house = plain(ranges=ranges)
    except InputError as error:
        told(error)
        return
    drawn = studbay.doubt(house, draws=50)
    assert len(drawn) == 50
    finite(drawn.to_dict())
    assert 0 <= drawn.chance_of_no_payback <= 1
    assert drawn.account()
    finite(studbay.swings(house))


@SETTINGS
@given(draws=st.integers(-5, 60), seed=st.integers(-1, 2**63), share=NUMBERS, figure=TEXT)
def test_any_question_about_doubt(draws: int, seed: int, share: float, figure: str) -> None:
    try:
        drawn = studbay.doubt(plain(), draws=draws, seed=seed)
    except (InputError, OverflowError) as error:
        told(error)
        return
    for call in (
        lambda: drawn.quantile("npv", share),
        lambda: drawn.band(figure),
        lambda: drawn.chance_of_payback_within(share),
        lambda: drawn.drawn(figure),
    ):
        try:
            finite(call())
        except (StudbayError, KeyError) as error:
            told(error)


# ---------------------------------------------------------------- evidence


FILE = json.dumps(
    {
        **PLAIN,
        "as_built": {
            "date": "2026-10-02",
            "bags_delivered": 40,
            "surfaces": [{"bags": 33.5, "bays": 118, "bays_scanned": 96, "cold_after": 7}],
        },
    }
)


@SETTINGS
@given(
    key=st.one_of(st.sampled_from(["crew", "date", "installed_cost", "bags_delivered"]), TEXT),
    value=st.one_of(st.booleans(), NUMBERS, TEXT, st.dates(), st.integers(-(2**60), 2**60)),
    stage=st.none() | st.sampled_from(["survey", "offer", "job", "as_built", "follow_up", "x"]),
)
def test_any_value_written_into_a_house_file(key: str, value: Any, stage: str | None) -> None:
    """What is written can be read, and the file proves or refuses."""
    file = studbay.HouseFile.from_json(FILE)
    try:
        changed = file.with_value(key, value, stage=stage)
        again = studbay.HouseFile.from_json(changed.text)
        proof = changed.prove()
    except (InputError, HouseFileError) as error:
        told(error)
        return
    assert again == changed
    finite(proof.to_dict())
    assert proof.account()


@SETTINGS
@given(
    found=st.integers(-3, 2**33),
    seen=st.integers(-3, 2**33),
    confidence=NUMBERS | st.floats(0.5, 0.999),
    values=st.lists(NUMBERS, max_size=20),
    baseline=st.none() | st.integers(-2, 25),
)
def test_any_counts_and_charts(
    found: int, seen: int, confidence: float, values: list[float], baseline: int | None
) -> None:
    for method in ("wilson", "exact"):
        try:
            low, high = studbay.share_interval(found, seen, confidence=confidence, method=method)
        except (InputError, OverflowError) as error:
            told(error)
        else:
            assert 0 <= low <= found / seen <= high <= 1
    try:
        finite(studbay.control_chart(values, baseline=baseline))
    except (InputError, OverflowError) as error:
        told(error)


@SETTINGS
@given(rows=st.lists(st.tuples(TEXT, SCALARS, SCALARS, SCALARS), max_size=4))
def test_any_jobs(tmp_path: Path, rows: list[tuple[Any, ...]]) -> None:
    names = ["house_id", "bags_used", "bays", "box_mass_lb", *list(PLAIN)[1:]]
    lines = [",".join(names)]
    for row in rows:
        cells = [str(cell).replace('"', "'") for cell in (*row, *list(PLAIN.values())[1:])]
        lines.append(",".join(f'"{cell}"' for cell in cells))
    path = tmp_path / "jobs.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    try:
        review = studbay.review_jobs(path)
    except (SchemaError, InputError, OSError) as error:
        told(error)
        return
    finite(review.to_dict())
    assert review.account()


# ---------------------------------------------------------------- pages


@SETTINGS
@given(
    words=st.none()
    | st.dictionaries(
        st.one_of(st.sampled_from(["option_nothing", "made"]), TEXT), TEXT, max_size=2
    ),
    currency=TEXT,
    language=st.sampled_from(["en", "es", "xx"]),
    date=st.none() | TEXT,
    house_id=TEXT.filter(str.strip),
)
def test_any_text_on_a_page(
    words: dict[str, str] | None, currency: str, language: str, date: str | None, house_id: str
) -> None:
    """A page is made or refused, and what stands on it starts nothing."""
    try:
        house = plain(house_id=house_id)
        page = studbay.report(
            house, words=words, currency=currency, language=language, date=date, live=False
        )
    except InputError as error:
        told(error)
        return
    assert "<script" not in page.lower()


@SETTINGS
@given(template=TEXT, name=st.sampled_from(["letterhead.html", "page.css", "other.html"]))
def test_any_template(template: str, name: str) -> None:
    attempt(lambda: studbay.report(plain(), templates={name: template}, live=False))


def test_what_is_taken_is_common_enough() -> None:
    """The plain house itself goes through all of it, so that the tests above try something."""
    house = plain()
    assert studbay.compare_options(house).rows
    assert studbay.report(house, live=False)
    assert studbay.HouseFile.from_json(FILE).prove().account()
    assert studbay.doubt(house, draws=10).account()
    with pytest.raises(InputError):
        studbay.doubt(house, draws=0)
