"""What can go wrong, told so that it can be mended."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

__all__ = [
    "HouseFileError",
    "InputError",
    "Issue",
    "SchemaError",
    "StudbayError",
    "WeatherError",
]


class StudbayError(Exception):
    """Base of every error of this package; what the system says about files stays an `OSError`."""


class Issue(NamedTuple):
    """One fault of an input.

    Attributes:
        code: The sort of fault, stable for programs, as in `out_of_range`.
        field: The field with its path, as in `surfaces[1].layers[2].r`.
        value: The value as given; empty when nothing was given.
        reason: What is wrong and what is allowed, in a sentence without a full stop.
    """

    code: str
    field: str
    value: str
    reason: str

    def __str__(self) -> str:
        """The fault on one line."""
        field, value = _printable(self.field), _printable(self.value)
        if not field:
            return self.reason
        return f"{field} = {value}: {self.reason}" if value else f"{field}: {self.reason}"


def _printable(text: str) -> str:
    """The text without control characters, which would garble a terminal."""
    return "".join("\ufffd" if c < " " or "\x7f" <= c <= "\x9f" else c for c in text)


class InputError(StudbayError, ValueError):
    """Everything that is wrong with one house, all at once; `str()` has one line for each fault.

    Attributes:
        issues: The faults, never empty where the library raises the error.
        row: The row of a table that the house stands in, counted from 1; `None` outside a table.
    """

    issues: tuple[Issue, ...]
    row: int | None

    def __init__(
        self,
        message: str,
        issues: Iterable[tuple[str, str, str, str]] = (),
        row: int | None = None,
    ) -> None:
        """Keeps the faults with the message."""
        self.issues = tuple(Issue(*issue) for issue in issues)
        self.row = row
        super().__init__(message, self.issues, row)

    def __str__(self) -> str:
        """One line for each fault."""
        return str(self.args[0])


class HouseFileError(StudbayError, ValueError):
    """A house file that is no house file: its ending, size, encoding or syntax.

    Attributes:
        reason: What is wrong with it.
        path: The file; `None` for a text.
    """

    reason: str
    path: str | None

    def __init__(self, reason: str, path: str | None = None) -> None:
        """Keeps the file with the reason."""
        self.reason = reason
        self.path = path
        super().__init__(reason, path)

    def __str__(self) -> str:
        """The reason."""
        return self.reason


class SchemaError(StudbayError, ValueError):
    """A table whose columns cannot be scored; `str()` has one line for each fault.

    Attributes:
        faults: What is wrong with the columns, a sentence each.
    """

    faults: tuple[str, ...]

    def __init__(self, message: str, faults: Iterable[str] = ()) -> None:
        """Keeps the faults with the message."""
        self.faults = tuple(faults)
        super().__init__(message, self.faults)

    def __str__(self) -> str:
        """One line for each fault."""
        return str(self.args[0])


class WeatherError(StudbayError, ValueError):
    """A weather file that cannot be understood, or weather that does not answer what is asked.

    Attributes:
        reason: What is wrong, and what would help.
        path: The file; `None` where a question was asked of weather that is read already.
    """

    reason: str
    path: str | None

    def __init__(self, reason: str, path: str | None = None) -> None:
        """Keeps the file with the reason."""
        self.reason = reason
        self.path = path
        super().__init__(reason, path)

    def __str__(self) -> str:
        """The reason."""
        return self.reason
