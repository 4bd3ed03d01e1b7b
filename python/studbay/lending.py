"""Paying for it: rates that cannot be mistaken for one another, loans, incentives, cash.

A loan is paid in the money of its day, the savings of an assessment are in constant money. So a
`NominalRate` (inflation in it) and a `RealRate` (without) are two types, and one becomes the other
only with an `Inflation`, by Fisher's equation.
"""

from studbay._native import (
    Funding,
    Inflation,
    Loan,
    LoanRate,
    NominalRate,
    RealRate,
    lend,
    pay_for,
    ways_to_pay,
)

__all__ = [
    "Funding",
    "Inflation",
    "Loan",
    "LoanRate",
    "NominalRate",
    "RealRate",
    "lend",
    "pay_for",
    "ways_to_pay",
]
