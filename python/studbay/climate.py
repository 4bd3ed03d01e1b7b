"""Weather files, degree-days at any base, places for a first guess, balance points.

`Weather.from_file` reads a weather file and says what it found; its methods count degree-days and
put them into a house. Degree-days are in °F·day, temperatures in °F, unless a name says otherwise.
"""

from studbay._native import (
    BalanceSaving,
    DegreeDays,
    Place,
    Remark,
    UsualYear,
    Weather,
    balance_point,
    convert_months,
    hitchin_degree_days,
    normal_degree_days,
    place,
    places,
    report_places,
)

__all__ = [
    "BalanceSaving",
    "DegreeDays",
    "Place",
    "Remark",
    "UsualYear",
    "Weather",
    "balance_point",
    "convert_months",
    "hitchin_degree_days",
    "normal_degree_days",
    "place",
    "places",
    "report_places",
]
