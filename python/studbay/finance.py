"""Money over years: constant money, real rates, flows at the end of each year."""

from studbay._native import (
    adjusted_internal_rate,
    growing_annuity,
    internal_rate_of_return,
    net_present_value,
)

__all__ = [
    "adjusted_internal_rate",
    "growing_annuity",
    "internal_rate_of_return",
    "net_present_value",
]
