"""Figures for filling the walls of older houses with dense-packed cellulose.

What a house loses before and after the fill, what that saves, when it pays back, what it does for
carbon, how many bags it takes, and what must be cleared before the work may start. All of it is
modelled, not measured; local code and licensed practice decide about the work.

Examples:
    >>> import studbay
    >>> house = studbay.House(
    ...     house_id="two-family",
    ...     wall_area_ft2=1200,
    ...     series_r=3.06,
    ...     heating_degree_days_f=5600,
    ...     heating_efficiency=0.8,
    ...     fuel="natural_gas",
    ...     fuel_price=1.5,
    ...     installed_cost=2400,
    ... )
    >>> figures = house.assess()
    >>> figures.readiness
    'check'
    >>> round(figures.net_cost)
    2400
"""

from studbay import errors, finance
from studbay._native import (
    Assessment,
    Block,
    Counts,
    Derivation,
    Field,
    FileReport,
    Finding,
    House,
    Material,
    Result,
    Scored,
    ScoredStream,
    Selection,
    Step,
    Summary,
    Table,
    __version__,
    assess,
    fields,
    materials,
    report,
    results,
    score,
    score_file,
    score_stream,
    select,
    select_file,
    summarize,
    summarize_file,
    write_reports,
)

__all__ = [
    "Assessment",
    "Block",
    "Counts",
    "Derivation",
    "Field",
    "FileReport",
    "Finding",
    "House",
    "Material",
    "Result",
    "Scored",
    "ScoredStream",
    "Selection",
    "Step",
    "Summary",
    "Table",
    "__version__",
    "assess",
    "errors",
    "fields",
    "finance",
    "materials",
    "report",
    "results",
    "score",
    "score_file",
    "score_stream",
    "select",
    "select_file",
    "summarize",
    "summarize_file",
    "write_reports",
]
