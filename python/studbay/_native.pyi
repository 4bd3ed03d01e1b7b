"""The compiled part of studbay.

Signatures here are kept by hand. Docstrings and the results of `Assessment` are written by
tests/generate/make_stubs.py, from the module itself.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from os import PathLike
from pathlib import Path
from typing import Any, Final, Literal, SupportsFloat, SupportsIndex, Unpack, final, overload

from studbay.typing import ArrowTable, HouseFields

__commit__: Final[str | None]
__version__: Final[str]

@final
class Assessment:
    """The figures and findings of a house. Modelled, not measured.

    What it loses now and after the fill, what that saves, what it costs and takes, and whether
    the work may start. Every result of `studbay.results()` is an attribute under its inch-pound
    and its SI name; `None` means that there is no such figure (no payback where nothing is
    saved), never that it is unknown. Money is in the user's currency at today's prices.

    An assessment never changes. It can be compared, pickled and used from many threads.
    """

    @property
    def u_before_btu_h_ft2_f(self) -> float:
        """Mean transmittance of the surfaces now.

        Unit: Btu/h·ft²·°F.
        """

    @property
    def u_before_w_m2k(self) -> float:
        """Mean transmittance of the surfaces now.

        Unit: W/m²K.
        """

    @property
    def u_after_btu_h_ft2_f(self) -> float:
        """Mean transmittance of the surfaces after the fill.

        Unit: Btu/h·ft²·°F.
        """

    @property
    def u_after_w_m2k(self) -> float:
        """Mean transmittance of the surfaces after the fill.

        Unit: W/m²K.
        """

    @property
    def heat_saved_mmbtu(self) -> float:
        """Heat saved a year, at the room.

        Unit: million Btu.
        """

    @property
    def heat_saved_kwh(self) -> float:
        """Heat saved a year, at the room.

        Unit: kWh.
        """

    @property
    def fuel_saved(self) -> float:
        """Fuel saved a year at the meter, in the fuel's unit."""

    @property
    def electricity_saved_kwh(self) -> float:
        """Electricity for cooling saved a year.

        Unit: kWh.
        """

    @property
    def saved_share(self) -> float | None:
        """Fuel saved over the bills' heating use; none without bills."""

    @property
    def annual_savings(self) -> float:
        """Saved a year at today's prices."""

    @property
    def net_cost(self) -> float:
        """Cost after rebate and tax credit."""

    @property
    def simple_payback_years(self) -> float | None:
        """Net cost over yearly savings; none where nothing is saved.

        Unit: years.
        """

    @property
    def discounted_payback_years(self) -> float | None:
        """When the discounted savings reach the net cost; none when not within the life.

        Unit: years.
        """

    @property
    def npv(self) -> float:
        """Net present value over the life."""

    @property
    def sir(self) -> float | None:
        """Savings-to-investment ratio; none where nothing is paid."""

    @property
    def airr(self) -> float | None:
        """Adjusted internal rate of return; none where nothing is paid or saved.

        Unit: a year.
        """

    @property
    def irr(self) -> float | None:
        """Internal rate of return; none where nothing is paid or saved.

        Unit: a year.
        """

    @property
    def lifetime_savings(self) -> float:
        """Saved over the life, not discounted."""

    @property
    def annual_co2e_kg(self) -> float:
        """Avoided in the first year.

        Unit: kg CO2e.
        """

    @property
    def lifetime_co2e_kg(self) -> float:
        """Avoided over the life, making the fibre taken off.

        Unit: kg CO2e.
        """

    @property
    def embodied_co2e_kg(self) -> float:
        """Emissions of making the fibre.

        Unit: kg CO2e.
        """

    @property
    def carbon_payback_years(self) -> float | None:
        """Emissions of making the fibre over those avoided a year; none where nothing is avoided.

        Unit: years.
        """

    @property
    def cost_per_tonne(self) -> float | None:
        """Net cost of a tonne of CO2e avoided over the life; none where nothing is avoided."""

    @property
    def fill_mass_lb(self) -> float:
        """Fibre in the whole house.

        Unit: lb.
        """

    @property
    def fill_mass_kg(self) -> float:
        """Fibre in the whole house.

        Unit: kg.
        """

    @property
    def bags(self) -> float:
        """Bags of fibre; the chart on the bag governs."""

    @property
    def readiness(self) -> Literal["hold", "check", "clear"]:
        """hold, check or clear: whether the work may start."""

    @property
    def house(self) -> House:
        """The house that was assessed."""

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the reader must know, the gravest first."""

    @property
    def fuel(self) -> str:
        """The heating fuel, by its key."""

    @property
    def fuel_unit(self) -> str:
        """The unit of `fuel_saved`, as in therm."""

    @property
    def grid(self) -> str:
        """The emissions that a kilowatt-hour was counted with, in words."""

    def to_dict(self, units: str = "ip") -> dict[str, Any]:
        """The results under their names in one unit system.

        Args:
            units: `"ip"` or `"si"`.

        Returns:
            `house_id` and then every result in the order of `studbay.results()`; the findings
            as a list of their codes.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

    def explain(self) -> Derivation:
        """The derivation of every figure, line by line.

        Returns:
            As `House.explain`.
        """

    def account(self, units: str = "ip", currency: str = "$") -> list[Block]:
        """The assessment in words, for a person to read.

        Args:
            units: `"ip"` or `"si"`.
            currency: The sign of the user's money.

        Returns:
            Blocks to print one after the other, a hold first.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

    def _repr_html_(self) -> str: ...
    def __eq__(self, other: object, /) -> bool: ...
    def __hash__(self) -> int: ...

@final
class Block:
    """A titled part of an assessment in words."""

    @property
    def tone(self) -> Literal["hold", "check", "answer", "plain"]:
        """`hold` (the work must not start), `check` (someone must look), `answer` or `plain`."""

    @property
    def title(self) -> str:
        """Its title."""

    @property
    def lines(self) -> tuple[tuple[str, str], ...]:
        """Label and text of each line; a line without a label is a sentence."""

    def __eq__(self, other: object, /) -> bool: ...

@final
class Derivation:
    """How the figures of a house came about: a sequence of steps, each after what it uses.

    `str()` gives it as text for a person to check by hand.
    """

    def __len__(self) -> int: ...
    @overload
    def __getitem__(self, index: SupportsIndex, /) -> Step: ...
    @overload
    def __getitem__(self, index: slice, /) -> tuple[Step, ...]: ...
    def __iter__(self) -> Iterator[Step]: ...
    def __contains__(self, step: object, /) -> bool: ...
    def to_dicts(self) -> list[dict[str, Any]]:
        """The steps as dicts.

        Returns:
            One dict for each step, in their order.
        """

    def __eq__(self, other: object, /) -> bool: ...
    def __hash__(self) -> int: ...

@final
class Field:
    """A field of a house."""

    @property
    def name_ip(self) -> str:
        """Its name, with the inch-pound unit where it has one."""

    @property
    def name_si(self) -> str | None:
        """Its name with the SI unit; `None` where both systems write the same number."""

    @property
    def unit_ip(self) -> str:
        """The inch-pound unit; empty for a pure number, money, text."""

    @property
    def unit_si(self) -> str:
        """The SI unit."""

    @property
    def range_ip(self) -> str:
        """What is allowed, in the inch-pound unit."""

    @property
    def range_si(self) -> str:
        """What is allowed, in the SI unit."""

    @property
    def default(self) -> str:
        """What is taken when it is not given, inch-pound; `required` where nothing is."""

    @property
    def default_si(self) -> str:
        """The same in the SI unit."""

    @property
    def required(self) -> bool:
        """Whether a house cannot be assessed without it."""

    @property
    def kind(self) -> Literal["number", "whole", "choice", "text"]:
        """`number`, `whole`, `choice` or `text`."""

    @property
    def where(self) -> str:
        """Where it may stand: `flat`, `house`, `surface`, or two of them with a comma between.

        `flat`: keywords, or a row of a table. `house`: the head of a house with a list of
        surfaces. `surface`: in such a list.
        """

    @property
    def help(self) -> str:
        """What it means."""

    @property
    def source(self) -> str:
        """Where the default comes from; empty where there is nothing to cite."""

    @property
    def choices(self) -> tuple[str, ...]:
        """The words that may be written, for a choice."""

@final
class Finding:
    """Something that the reader of an assessment must know."""

    @property
    def code(self) -> str:
        """Its code, stable for programs."""

    @property
    def weight(self) -> Literal["hold", "check", "note"]:
        """`hold` (the work must not start), `check` (someone must look) or `note`."""

    @property
    def reason(self) -> str:
        """What was found and why it matters."""

    @property
    def cleared_by(self) -> str:
        """Who may clear it; empty for a note."""

    @property
    def source(self) -> str:
        """Where the rule comes from; empty where there is nothing to cite."""

    def __eq__(self, other: object, /) -> bool: ...
    def __hash__(self) -> int: ...

@final
class House:
    """A house, checked and ready to be assessed.

    Every keyword is a field of `studbay.fields()`, under its inch-pound or its SI name; `None`
    means that the field is not given. A house with several surfaces lists them as
    `surfaces=[{...}, ...]`, each a dict of its fields, with `layers=[...]` where wanted: a layer
    is a dict, a key of `studbay.materials()` or a resistance in h·ft²·°F/Btu.

    A house never changes. It can be compared, pickled and used from many threads.

    Raises:
        studbay.errors.InputError: With every fault of every field at once.
    """

    def __new__(cls, **fields: Unpack[HouseFields]) -> House: ...
    @staticmethod
    def from_file(path: str | PathLike[str]) -> House:
        """Reads a house file.

        Args:
            path: A file that ends in `.toml` or `.json`.

        Returns:
            The house.

        Raises:
            OSError: Where the file cannot be read: `FileNotFoundError`, `IsADirectoryError`,
                `PermissionError` and so on.
            studbay.errors.HouseFileError: Where it is no house file: its ending, size, encoding or
                syntax.
            studbay.errors.InputError: With every fault of every field at once.
        """

    @staticmethod
    def from_toml(text: str) -> House:
        """Reads a house from TOML text.

        Args:
            text: What a house file holds.

        Returns:
            The house.

        Raises:
            studbay.errors.HouseFileError: With the line and column of what is no TOML.
            studbay.errors.InputError: With every fault of every field at once.
        """

    @staticmethod
    def from_json(text: str) -> House:
        """Reads a house from JSON text.

        Args:
            text: What a house file holds.

        Returns:
            The house.

        Raises:
            studbay.errors.HouseFileError: With the line and column of what is no JSON.
            studbay.errors.InputError: With every fault of every field at once.
        """

    @property
    def house_id(self) -> str:
        """Your own name for the house."""

    @property
    def rates_file(self) -> str | None:
        """The file of rates that the table `job` names, by its path from the house file."""

    def assess(self) -> Assessment:
        """Assesses the house.

        Returns:
            The figures and findings. They are modelled, not measured.
        """

    def explain(self) -> Derivation:
        """The derivation of every figure, line by line.

        Returns:
            Where each input comes from, and each intermediate figure with its formula, numbers,
            unit and source: the record of the calculation itself, not a second one.
        """

    def account(self, units: str = "ip", currency: str = "$") -> list[Block]:
        """The assessment in words, for a person to read.

        Args:
            units: `"ip"` or `"si"`.
            currency: The sign of the user's money.

        Returns:
            Blocks to print one after the other, a hold first.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

    def __eq__(self, other: object, /) -> bool: ...
    def __hash__(self) -> int: ...

@final
class Material:
    """A material that a surface may name. Its resistance is that of the whole layer."""

    @property
    def key(self) -> str:
        """The key that a house gives."""

    @property
    def label(self) -> str:
        """What it is, in words."""

    @property
    def role(self) -> Literal["cladding", "sheathing", "interior_finish", "other"]:
        """Where it belongs: `cladding`, `sheathing`, `interior_finish` or `other`."""

    @property
    def thickness_in(self) -> float | None:
        """The thickness that the resistance is for, in; `None` where it has no meaning."""

    @property
    def thickness_mm(self) -> float | None:
        """The same, mm."""

    @property
    def r_h_ft2_f_btu(self) -> float:
        """Thermal resistance of the layer, h·ft²·°F/Btu."""

    @property
    def r_m2k_w(self) -> float:
        """The same, m²K/W."""

    @property
    def low(self) -> float:
        """The least resistance that such a product plausibly has, h·ft²·°F/Btu."""

    @property
    def high(self) -> float:
        """The greatest."""

    @property
    def source(self) -> str:
        """Where the number comes from, and how well it is known."""

@final
class Result:
    """A result of an assessment."""

    @property
    def name_ip(self) -> str:
        """Its name, with the inch-pound unit where it has one."""

    @property
    def name_si(self) -> str | None:
        """Its name with the SI unit; `None` where both systems write the same number."""

    @property
    def unit_ip(self) -> str:
        """The inch-pound unit; empty for a pure number, money, words."""

    @property
    def unit_si(self) -> str:
        """The SI unit."""

    @property
    def help(self) -> str:
        """What it means."""

@final
class Step:
    """One line of a derivation."""

    @property
    def surface(self) -> int | None:
        """The surface it belongs to, counted from 0; `None` for the house."""

    @property
    def symbol(self) -> str:
        """Its symbol, as later formulas write it."""

    @property
    def what(self) -> str:
        """What it is, in words."""

    @property
    def formula(self) -> str:
        """The formula with symbols; empty for an input."""

    @property
    def numbers(self) -> str:
        """The formula with numbers; empty for an input."""

    @property
    def functions(self) -> str:
        """What the functions in the formula compute; empty where it has none."""

    @property
    def value(self) -> float | None:
        """The value in inch-pound units; `None` where there is none (no payback, say)."""

    @property
    def unit(self) -> str:
        """The inch-pound unit; empty for a pure number."""

    @property
    def value_si(self) -> float | None:
        """The value in SI units, where SI writes another number."""

    @property
    def unit_si(self) -> str:
        """The SI unit, where SI writes another number."""

    @property
    def origin(self) -> str:
        """`given`, `given in SI`, `default`, `table` or `constant` for an input; `computed`."""

    @property
    def source(self) -> str:
        """Where the number or the formula comes from; empty where there is nothing to cite."""

    def to_dict(self) -> dict[str, Any]:
        """The step as a dict.

        Returns:
            Its attributes under their names.
        """

    def __eq__(self, other: object, /) -> bool: ...

def adjusted_internal_rate(
    discount_rate: SupportsFloat | SupportsIndex,
    sir: SupportsFloat | SupportsIndex,
    years: SupportsIndex,
) -> float | None:
    """Adjusted internal rate of return, as 10 CFR 436 has it.

    Args:
        discount_rate: Share a year, above -1.
        sir: Savings-to-investment ratio.
        years: Whole number, 1 to 127.

    Returns:
        `(1 + discount_rate) * sir ** (1 / years) - 1`; `None` where `sir` is not above 0.

    Raises:
        studbay.errors.InputError: For an argument outside its range.
    """

def assess(**fields: Unpack[HouseFields]) -> Assessment:
    """Assesses a house given by its fields.

    What it loses now and after the fill, what that saves, what it costs and takes, and whether
    the work may start.

    Args:
        **fields: The fields of `studbay.fields()`, each under its inch-pound or its SI name,
            never both; `None` means not given. Money is in your own currency. Several surfaces
            go into `surfaces=[{...}, ...]`: see `House`.

    Returns:
        The figures in both unit systems, and the findings. They are modelled, not measured.

    Raises:
        studbay.errors.InputError: With every fault of every field at once.

    Examples:
        >>> import studbay
        >>> figures = studbay.assess(
        ...     house_id="two-family",
        ...     wall_area_ft2=1200,
        ...     series_r=3.06,
        ...     heating_degree_days_f=5600,
        ...     heating_efficiency=0.8,
        ...     fuel="natural_gas",
        ...     fuel_price=1.5,
        ...     installed_cost=2400,
        ... )
        >>> figures.readiness
        'check'
    """

def fields() -> list[Field]:
    """Every field that a house may have.

    Returns:
        The fields, in the order of the field reference.
    """

def growing_annuity(
    discount_rate: SupportsFloat | SupportsIndex,
    escalation: SupportsFloat | SupportsIndex,
    years: SupportsIndex,
) -> float:
    """Present value of 1 at the end of each year, growing by `escalation` a year.

    Args:
        discount_rate: Share a year, above -1.
        escalation: Share a year, above -1; both rates real, or both nominal.
        years: Whole number, 0 to 127.

    Returns:
        The sum of `((1 + escalation) / (1 + discount_rate)) ** t` for t from 1 to `years`:
        exactly `years` where the two rates are equal.

    Raises:
        studbay.errors.InputError: For an argument outside its range.
    """

def internal_rate_of_return(flows: Iterable[SupportsFloat | SupportsIndex]) -> float | None:
    """Internal rate of return of an outlay and the savings that follow.

    Args:
        flows: Money now, after one year, after two, and so on; an outlay is negative.

    Returns:
        The rate at which the net present value is 0. `None` where the flows do not change their
        sign exactly once, an outlay first: then there is no rate, or more than one.

    Raises:
        studbay.errors.InputError: For a flow that is no finite number.
    """

def materials() -> list[Material]:
    """Every material that a surface may name.

    Returns:
        The materials, in the order of their table.
    """

def net_present_value(
    rate: SupportsFloat | SupportsIndex, flows: Iterable[SupportsFloat | SupportsIndex]
) -> float:
    """Net present value of a flow now and then at the end of each year.

    Args:
        rate: Discount rate, share a year, above -1.
        flows: Money now, after one year, after two, and so on; an outlay is negative.

    Returns:
        The sum of `flows[t] / (1 + rate) ** t` for t from 0.

    Raises:
        studbay.errors.InputError: For a rate outside its range or a flow that is no finite
            number.
    """

def results() -> list[Result]:
    """Every result of an assessment.

    Returns:
        The results, in the order in which tables carry them.
    """

@final
class Counts:
    """How many houses were read and what became of them.

    `scored` and `rejected` make up `read`.
    """

    @property
    def read(self) -> int:
        """Houses read."""

    @property
    def scored(self) -> int:
        """Houses with results."""

    @property
    def rejected(self) -> int:
        """Houses that could not be scored."""

    @property
    def on_hold(self) -> int:
        """Scored houses on which the work must not start."""

    def __eq__(self, other: object, /) -> bool: ...
    def __hash__(self) -> int: ...

@final
class Scored:
    """A scored table. It offers the Arrow PyCapsule stream: a row out for every row in.

    The columns are the house's name, your own columns as they were, every result of
    `studbay.results()`, and `faults`: why a row could not be scored, null where it was. The
    figures are modelled, not measured.

    `polars.DataFrame(scored)`, `pandas.DataFrame.from_arrow(scored)`, `pyarrow.table(scored)`, or
    the name of a variable that holds it, in a query of duckdb.
    """

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object: ...
    def __arrow_c_schema__(self) -> object: ...
    @property
    def results(self) -> Table:
        """The rows with results, without the column `faults`."""

    @property
    def rejects(self) -> Table:
        """The rows that could not be scored.

        `row`, counted from 1, then every column of your table as it was, then `faults`. Where your
        table has a column `row`, ours is `row_2`.
        """

    @property
    def counts(self) -> Counts:
        """How many rows were read and what became of them."""

    @property
    def columns(self) -> list[str]:
        """The names of the columns."""

    def to_polars(self) -> Any:
        """As a polars DataFrame. Needs polars."""

    def to_pandas(self) -> Any:
        """As a pandas DataFrame. Needs pandas 3 or later and pyarrow."""

    def to_arrow(self) -> Any:
        """As a pyarrow Table. Needs pyarrow."""

    def __len__(self) -> int: ...

@final
class ScoredStream:
    """A reader that scores as it is read. It offers the Arrow PyCapsule stream, once.

    Only a few thousand rows are in memory at a time, however long the table is.
    """

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object: ...
    def __arrow_c_schema__(self) -> object: ...
    @property
    def counts(self) -> Counts:
        """How many rows were read so far and what became of them."""

    @property
    def columns(self) -> list[str]:
        """The names of the columns."""

@final
class Table:
    """Columns that offer the Arrow PyCapsule stream: hand it to a data frame of your choice.

    `polars.DataFrame(table)`, `pandas.DataFrame.from_arrow(table)`, `pyarrow.table(table)`, or
    the name of a variable that holds it, in a query of duckdb.
    """

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object: ...
    def __arrow_c_schema__(self) -> object: ...
    @property
    def columns(self) -> list[str]:
        """The names of the columns."""

    def write(self, path: str | PathLike[str], *, force: bool = False) -> None:
        """Writes the table: CSV, packed or not, or Parquet by the ending; `-` is standard output.

        The file appears under its name when it is whole. In CSV, text that a spreadsheet would run
        as a formula gets an apostrophe in front.

        Args:
            path: Where to.
            force: Replace a file that is there already.

        Raises:
            OSError: What the system says about the file.
            studbay.errors.SchemaError: For an ending that is none of these.
        """

    def to_polars(self) -> Any:
        """As a polars DataFrame. Needs polars."""

    def to_pandas(self) -> Any:
        """As a pandas DataFrame. Needs pandas 3 or later and pyarrow."""

    def to_arrow(self) -> Any:
        """As a pyarrow Table. Needs pyarrow."""

    def to_dicts(self) -> list[dict[str, Any]]:
        """The rows as plain objects; dates are text."""

    def __len__(self) -> int: ...

def score(
    table: ArrowTable,
    *,
    units: str = "ip",
    threads: int | None = None,
    progress: Callable[[int, int | None], object] | None = None,
) -> Scored:
    """Scores a table of houses.

    Every column whose name is a field of `studbay.fields()` is read, in inch-pound or SI units by
    its name, in any order; what is not of the contract goes through as it is. Integers, floats,
    decimals and text that is a number will do for numbers, any kind of string for words, true and
    false for questions. Null means not given; NaN is a fault. A column `surfaces`, a list of
    structs, holds the surfaces of houses with several.

    Args:
        table: Anything that offers the Arrow PyCapsule stream or array: a DataFrame of pandas (3
            or later) or polars, a relation of duckdb, a Table, RecordBatch or RecordBatchReader of
            pyarrow.
        units: Of the results, `"ip"` or `"si"`.
        threads: How many threads score; all cores when `None`. The results are the same.
        progress: Called now and then with the rows done and the rows in all, `None` where that is
            not known. An exception that it raises ends the work.

    Returns:
        A row for every row of the table, in its order, and the results and rejects apart.

    Raises:
        studbay.errors.SchemaError: With every fault of the columns: missing, twice, of a type that
            the field cannot hold.
        studbay.errors.InputError: For what is no table, and for a table that cannot be read.

    Examples:
        >>> import polars
        >>> import studbay
        >>> table = polars.DataFrame(
        ...     {
        ...         "house_id": ["two-family", "bungalow"],
        ...         "county": ["Elm", "Oak"],
        ...         "wall_area_ft2": [1200, -1],
        ...         "series_r": 3.06,
        ...         "heating_degree_days_f": 5600,
        ...         "heating_efficiency": 0.8,
        ...         "fuel": "natural_gas",
        ...         "fuel_price": 1.5,
        ...         "installed_cost": 2400,
        ...     }
        ... )
        >>> scored = studbay.score(table)
        >>> scored.counts
        <Counts: 2 read, 1 scored (0 on hold), 1 rejected>
        >>> polars.DataFrame(scored)["faults"].to_list()
        [None, 'wall_area_ft2 = -1: allowed is above 0 to 1000000 ft²']
    """

def score_stream(
    table: ArrowTable, *, units: str = "ip", threads: int | None = None
) -> ScoredStream:
    """Scores a table of houses as it is read, in little memory.

    Nothing is read until the stream is: hand it to what writes a file or reduces it.

    Args:
        table: As for `score`; best a reader, which does not hold the whole table.
        units: Of the results, `"ip"` or `"si"`.
        threads: How many threads score; all cores when `None`. The results are the same.

    Returns:
        A row for every row of the table, in its order, to be read once.

    Raises:
        studbay.errors.SchemaError: With every fault of the columns: missing, twice, of a type that
            the field cannot hold.
        studbay.errors.InputError: For what is no table. What goes wrong later, while the stream is
            read, is an error of whoever reads.
    """

@final
class FileReport:
    """What became of a file: the counts, where the rejects are, and the first few of them."""

    @property
    def counts(self) -> Counts:
        """How many houses were read and what became of them."""

    @property
    def rejects(self) -> Path | None:
        """Where the rejects are; None where no such file was written."""

    @property
    def first_rejects(self) -> list[tuple[int, int | None, str]]:
        """The first few rejects: row, line of the file where it has lines, and every fault."""

def score_file(
    input: str | PathLike[str],
    output: str | PathLike[str],
    *,
    rejects: str | PathLike[str] | None = None,
    units: str = "ip",
    force: bool = False,
    threads: int | None = None,
    progress: Callable[[int, int, int, int | None], object] | None = None,
) -> FileReport:
    """Scores a file of flat rows into another file, batch by batch, whatever its size.

    The format goes by the ending: `.csv`, `.csv.gz`, `.csv.zst`, `.parquet`; `-` is CSV on
    standard input or output. The output has the house's name, your own columns as they were, in
    order, then the results. In CSV, text that a spreadsheet would run as a formula gets an
    apostrophe in front. Files appear under their names only when they are whole.

    Args:
        input: The file to read.
        output: The file to write.
        rejects: Where rows go that cannot be scored, with their number, every fault and their
            cells; without it, beside the output, under its name with the ending `.rejects.csv`, if
            there are any.
        units: `ip` or `si`, the unit system of the results.
        force: Whether files that are there already may be replaced.
        threads: Threads to score on; one on each core where it is not given. The output is the
            same whatever it is.
        progress: Called now and then with the rows read, the rejects, the bytes read, and the
            bytes of the input or None. What it raises ends the run.

    Returns:
        The counts, and where the rejects are.

    Raises:
        OSError: What the system says: `FileNotFoundError`, `FileExistsError`,
            `IsADirectoryError` and so on.
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: Where a file is not what its name says.
    """

@final
class Selection:
    """The houses to treat first under a budget, and those left out.

    Houses that could be scored, are not on hold and save something are put in order of rank, equal
    ones in the order of the table. The list takes them in this order and passes over a house that
    costs more than is left. That is a greedy choice and no optimum: another list might use the
    money up better, but here every choice can be told by its rank and the money left. A house
    marked `look_first` is a `check`: someone must look before the work starts.

    `str()` gives it as text for a person to read. It offers the list as an Arrow stream.
    """

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object: ...
    def __arrow_c_schema__(self) -> object: ...
    @property
    def budget(self) -> float:
        """The budget."""

    @property
    def by(self) -> Literal["sir", "cost_per_tonne"]:
        """What the houses are ranked by: `sir` or `cost_per_tonne`."""

    @property
    def chosen(self) -> Table:
        """The list, in the order of rank.

        `rank`, `row` (of the table, from 1), `running_cost`, `look_first`, then every column of
        the table but `faults`. A rank is missing where a house did not fit.
        """

    @property
    def left_out(self) -> Table:
        """Every other row of the table, in its order.

        `row`, `house_id`, `reason`, `why`, `rank`, `net_cost`.
        """

    @property
    def total(self) -> dict[str, float]:
        """What the list comes to."""

    def to_dict(self) -> dict[str, Any]:
        """The selection as plain objects.

        Returns:
            `budget`, `by`, `total`, `chosen`, `left_out` (a dict for each house) and
            `left_out_by_reason`.
        """

    def text(self, currency: str = "$", rows: int = 25) -> str:
        """The selection as text.

        Args:
            currency: Label in front of amounts; nothing is converted.
            rows: Houses of the list that are printed, at most.
        """

    def write(self, path: str | PathLike[str], *, force: bool = False) -> None:
        """Writes the list as a file.

        Args:
            path: Its name; CSV, packed or not, or Parquet by its ending.
            force: Whether a file that is there already may be replaced.

        Raises:
            OSError: What the system says; `FileExistsError` without `force`.
            studbay.errors.InputError: For a name with another ending.
        """

    def __len__(self) -> int: ...
    def _repr_html_(self) -> str: ...

@final
class Summary:
    """What many scored houses come to.

    Houses read, scored, on hold and rejected by reason; sums of cost, savings, tonnes and bags;
    quantiles of the simple payback, by linear interpolation (type 7); for the whole table and by a
    column of it. Counts, sums and quantiles are exact and do not depend on the order of the rows.
    Every figure is modelled, not measured.

    `str()` gives it as text for a person to read. It offers the groups, a row each, as an Arrow
    stream: `polars.DataFrame(summary)`, `pandas.DataFrame.from_arrow(summary)`.
    """

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object: ...
    def __arrow_c_schema__(self) -> object: ...
    @property
    def by(self) -> str | None:
        """The column that the houses are grouped by; `None` for all in one."""

    @property
    def total(self) -> dict[str, float | None]:
        """The figures of all houses, under their names in the table of groups."""

    @property
    def groups(self) -> Table:
        """The groups, a row each.

        Numbers stand by size, text by its letters, and last the houses that have nothing in the
        column.
        """

    @property
    def reasons(self) -> Table:
        """Why rows were rejected, the most frequent first: `field`, `code`, `rows`.

        Every row counts once, by its first fault.
        """

    def to_dict(self) -> dict[str, Any]:
        """The summary as plain objects.

        Returns:
            `by`, `total`, `groups` (empty where there is no `by`), `rejected_by_reason`,
            `on_hold_by_finding`.
        """

    def text(self, currency: str = "$") -> str:
        """The summary as text, the holds first.

        Args:
            currency: Label in front of amounts; nothing is converted.
        """

    def _repr_html_(self) -> str: ...

def select(
    table: ArrowTable, budget: float, by: Literal["sir", "cost_per_tonne"] = "sir"
) -> Selection:
    """Chooses the houses to treat first under a budget; `Selection` says how.

    Args:
        table: What `score` gives, or anything that offers the Arrow PyCapsule stream and has the
            columns of the results, your own columns beside them.
        budget: What may be spent, after rebates and tax credits.
        by: `"sir"`, the savings-to-investment ratio, the highest first; or `"cost_per_tonne"` of
            CO2e avoided, the lowest first.

    Returns:
        The list in order, and every house that is left out with the reason.

    Raises:
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: For a budget below 0, any other word for `by`, and what is no
            table.
    """

def select_file(
    path: str | PathLike[str], budget: float, by: Literal["sir", "cost_per_tonne"] = "sir"
) -> Selection:
    """Chooses from a scored file, as `select` does from a table.

    Args:
        path: CSV, packed or not, or Parquet by its ending; `-` is CSV on standard input.
        budget: What may be spent, after rebates and tax credits.
        by: `"sir"` or `"cost_per_tonne"`.

    Returns:
        The list in order, and every house that is left out with the reason.

    Raises:
        OSError: What the system says about the file.
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: For a budget below 0, any other word for `by`, and a file that is
            not what its name says.
    """

def summarize(
    table: ArrowTable, by: str | None = None, *, rejects: ArrowTable | None = None
) -> Summary:
    """Adds up a scored table: what an analyst reports of many houses.

    Args:
        table: What `score` gives, or anything that offers the Arrow PyCapsule stream and has the
            columns of the results, your own columns beside them.
        by: A column of the table to group by: your own, as in county, or one of the results, as in
            readiness.
        rejects: Rows that could not be scored, where the table has only those that could:
            `Scored.rejects`, or a file of rejects read back. They count as read and rejected.

    Returns:
        The counts, sums and quantiles, in all and by the column.

    Raises:
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: For what is no table, and for a table that cannot be read.

    Examples:
        >>> import polars
        >>> import studbay
        >>> table = polars.DataFrame(
        ...     {
        ...         "house_id": ["two-family", "bungalow"],
        ...         "county": ["Elm", "Oak"],
        ...         "wall_area_ft2": [1200, -1],
        ...         "series_r": 3.06,
        ...         "heating_degree_days_f": 5600,
        ...         "heating_efficiency": 0.8,
        ...         "fuel": "natural_gas",
        ...         "fuel_price": 1.5,
        ...         "installed_cost": 2400,
        ...     }
        ... )
        >>> summary = studbay.summarize(studbay.score(table), by="county")
        >>> summary
        <Summary: 2 read, 1 scored (0 on hold), 1 rejected, by county>
        >>> polars.DataFrame(summary)["net_cost_sum"].to_list()
        [2400.0, 0.0]
    """

def summarize_file(
    path: str | PathLike[str], by: str | None = None, *, rejects: str | PathLike[str] | None = None
) -> Summary:
    """Adds up a scored file, as `summarize` does a table.

    Args:
        path: CSV, packed or not, or Parquet by its ending; `-` is CSV on standard input.
        by: A column of the file to group by.
        rejects: The file of the rows that could not be scored. Without it, the file that stands
            beside under the name that the command line gives it, if there is one.

    Returns:
        The counts, sums and quantiles, in all and by the column.

    Raises:
        OSError: What the system says about a file.
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: For a file that is not what its name says.
    """

@final
class OptionStep:
    """What an option adds over the next cheaper one."""

    @property
    def over(self) -> str:
        """The option that it is compared with."""

    @property
    def net_cost(self) -> float:
        """Net cost on top."""

    @property
    def annual_savings(self) -> float:
        """Saved a year on top, at today's prices."""

    @property
    def simple_payback_years(self) -> float | None:
        """Extra cost over extra yearly savings; `None` where nothing more is saved."""

    @property
    def discounted_payback_years(self) -> float | None:
        """When the extra savings, discounted, reach the extra cost; `None` beyond the life."""

    @property
    def npv(self) -> float:
        """Net present value of the step."""

    @property
    def sir(self) -> float | None:
        """Extra discounted savings over extra cost; `None` where no more is paid."""

    def __eq__(self, other: object, /) -> bool: ...

@final
class OptionRow:
    """One option of a comparison. Modelled, not measured."""

    @property
    def name(self) -> str:
        """Its name."""

    @property
    def work(self) -> Literal["nothing", "top_up", "remove_and_fill"]:
        """What is done: `nothing`, `top_up` or `remove_and_fill`."""

    @property
    def treated(self) -> tuple[int, ...]:
        """The surfaces that are treated, counted from 0."""

    @property
    def price(self) -> float:
        """The price of all of it: the fill, making good, and taking the batt out."""

    @property
    def fill_cost(self) -> float:
        """The price of the fill itself."""

    @property
    def repair_cost(self) -> float:
        """Drilling and making good, where it is not in the price of the fill."""

    @property
    def removal_cost(self) -> float:
        """Opening the wall, taking the batt out and closing it again."""

    @property
    def net_cost(self) -> float:
        """Cost after rebate and tax credit."""

    @property
    def annual_savings(self) -> float:
        """Saved a year at today's prices."""

    @property
    def running_cost(self) -> float:
        """What the surfaces still cost to heat and cool a year, at today's prices."""

    @property
    def lifetime_running_cost(self) -> float:
        """The same over the life, not discounted."""

    @property
    def life_cycle_cost(self) -> float:
        """Net cost and discounted running cost over the life."""

    @property
    def simple_payback_years(self) -> float | None:
        """Net cost over yearly savings; `None` where nothing is saved."""

    @property
    def payback_short(self) -> float | None:
        """The shorter end of the payback's range; `None` where there is no payback."""

    @property
    def payback_long(self) -> float | None:
        """The longer end; `None` where it may never pay back."""

    @property
    def npv(self) -> float:
        """Net present value over the life."""

    @property
    def sir(self) -> float | None:
        """Savings-to-investment ratio; `None` where nothing is paid."""

    @property
    def ruled_out(self) -> tuple[str, ...]:
        """Codes of the holds that rule it out; empty where nothing does."""

    @property
    def outdone_by(self) -> str | None:
        """An option that costs no more and saves no less; `None` where there is none."""

    @property
    def best(self) -> bool:
        """Whether it has the least cost in all of what may be done."""

    @property
    def step(self) -> OptionStep | None:
        """The step from the next cheaper option; `None` for doing nothing."""

    @property
    def cost_of_waiting(self) -> float:
        """What it costs to do it a year later, over the same years; negative where waiting pays."""

    @property
    def assumptions(self) -> list[tuple[str, float | None, str]]:
        """What was taken for it because the user did not say: words, amount, source of each."""

    def to_dict(self, units: str = "ip") -> dict[str, Any]:
        """The option as a dict, for a row of a table.

        Args:
            units: `"ip"` or `"si"`.

        Returns:
            Its attributes, then every result of its assessment under the names of
            `studbay.results()`. The step is flat, its names with `step_` before them.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

@final
class Comparison:
    """The options of a house side by side, the cheapest first. Modelled, not measured."""

    @property
    def rows(self) -> tuple[OptionRow, ...]:
        """A row for each option, by net cost; doing nothing comes first."""

    @property
    def best(self) -> str:
        """The option with the least cost in all of those that nothing holds."""

    @property
    def annual_cost(self) -> float:
        """What the surfaces cost a year as they stand, at today's prices."""

    @property
    def lifetime_cost(self) -> float:
        """The same over the life, not discounted."""

    @property
    def present_cost(self) -> float:
        """The same over the life, discounted to today."""

    def to_dicts(self, units: str = "ip") -> list[dict[str, Any]]:
        """The options as dicts, for a table.

        Args:
            units: `"ip"` or `"si"`.

        Returns:
            As `OptionRow.to_dict`, one for each option.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

    def side_by_side(self, currency: str = "$") -> tuple[list[str], list[tuple[str, list[str]]]]:
        """The options as columns, in words.

        Args:
            currency: The sign of the user's money.

        Returns:
            The names of the options; then each figure as its label and a text for each option.
        """

    def account(self, currency: str = "$") -> list[Block]:
        """The comparison in words, for a person to read.

        Args:
            currency: The sign of the user's money.

        Returns:
            Blocks to print one after the other, a hold first.
        """

    def _repr_html_(self) -> str: ...

def compare_options(
    house: House, options: Iterable[Mapping[str, object]] | None = None
) -> Comparison:
    """Compares what can be done with a house: leave it, fill over the batt, take the batt out.

    Args:
        house: The house.
        options: A dict for each option: `name`, `work` (`nothing`, `top_up`, `remove_and_fill`),
            `surfaces` (names of those that are treated, all where left out), `access`,
            `repair_cost`, `removal_cost`, and any field of the work, as in `installed_cost`,
            `fill_density_lb_ft3`, `missed_fraction`. Left out, the options of the house file are
            taken, or the usual ones where it states none.

    Returns:
        A row for each option, the cheapest first; doing nothing is always among them.

    Raises:
        studbay.errors.InputError: With every fault of every option.
    """

@final
class BreakEven:
    """Where an input of a house just meets a goal. Modelled, not measured."""

    @property
    def field(self) -> str:
        """The name of the input, as it was written."""

    @property
    def goal(self) -> str:
        """The goal in words."""

    @property
    def values(self) -> tuple[float, ...]:
        """The values at which the goal is just met, in their order.

        Empty where there is no such value in the range. Of a field of whole numbers, the first
        and last that meet the goal.
        """

    @property
    def spans(self) -> tuple[tuple[float, float], ...]:
        """From and to of each stretch in which the goal is met."""

    @property
    def range(self) -> tuple[float, float]:
        """The range that was looked through."""

    @property
    def now(self) -> float | None:
        """The value that the house has now; `None` where it has none."""

    @property
    def met_now(self) -> bool | None:
        """Whether the house meets the goal as it is; `None` where it has no such figure."""

    def to_dict(self) -> dict[str, Any]:
        """The search as a dict.

        Returns:
            Its attributes under their names.
        """

    def account(self, currency: str = "$") -> list[Block]:
        """The answer in words, for a person to read.

        Args:
            currency: The sign of the user's money.

        Returns:
            Blocks to print one after the other, a hold first.
        """

    def _repr_html_(self) -> str: ...

def break_even(
    house: House,
    field: str,
    goal: str = "npv",
    *,
    years: SupportsFloat | SupportsIndex | None = None,
    surface: str | None = None,
    low: SupportsFloat | SupportsIndex | None = None,
    high: SupportsFloat | SupportsIndex | None = None,
) -> BreakEven:
    """Finds the values of an input at which a goal is just met.

    Args:
        house: The house; all else stays as it is.
        field: Any numeric field of `studbay.fields()` under either of its names, or
            `cost_per_ft2` or `cost_per_m2`, the price of the job over the area.
        goal: `"npv"` (a net present value of 0), `"payback"` (of `years`) or `"sir"` (a ratio
            of 1).
        years: The years of the goal `"payback"`.
        surface: For a field of a surface, its name or its place counted from 1, where the house
            has more than one.
        low: Where to begin looking; the field's own range where left out.
        high: Where to end.

    Returns:
        The values, and where the goal is met. Any of the values put back into the house gives
        the goal.

    Raises:
        studbay.errors.InputError: For a field, goal, surface or range that there is not.
    """

@final
class Curve:
    """Payback and worth of a house along one input. Modelled, not measured."""

    @property
    def field(self) -> str:
        """The name of the input, as it was written."""

    @property
    def unit(self) -> str:
        """The unit of the input; empty for a pure number and for money."""

    @property
    def now(self) -> float | None:
        """The value that the house has now."""

    @property
    def payback_now(self) -> float | None:
        """Its payback now; `None` where nothing is saved."""

    @property
    def life_years(self) -> int:
        """Years that are counted."""

    @property
    def break_even(self) -> tuple[float, ...]:
        """Where the net present value is 0, in their order."""

    @property
    def worth_now(self) -> bool:
        """Whether the fill is worth its cost as the house is now."""

    @property
    def readiness(self) -> Literal["hold", "check", "clear"]:
        """Whether the work may start: `hold`, `check` or `clear`."""

    def __len__(self) -> int: ...
    def columns(self) -> dict[str, list[float | None]]:
        """The points as columns, for a data frame or a picture.

        Returns:
            Lists of one length: `value`, `annual_savings`, `simple_payback_years`,
            `payback_short`, `payback_long`, `discounted_payback_years`, `npv`, `sir`; `None` where
            there is no such figure.
        """

    def account(self, currency: str = "$") -> list[Block]:
        """The answer in words, for a person to read.

        Args:
            currency: The sign of the user's money.

        Returns:
            Blocks to print one after the other, a hold first.
        """

    def _repr_html_(self) -> str: ...

def payback_curve(
    house: House,
    field: str = "batt_thickness_in",
    *,
    surface: str | None = None,
    low: SupportsFloat | SupportsIndex | None = None,
    high: SupportsFloat | SupportsIndex | None = None,
    points: SupportsIndex = 71,
) -> Curve:
    """The curve of payback and worth along an input; without one, along the thickness of the batt.

    Args:
        house: The house; all else stays as it is.
        field: Any numeric field, as for `break_even`.
        surface: For a field of a surface, its name or its place counted from 1, where the house
            has more than one.
        low: Where the curve begins; the field's own range where left out.
        high: Where it ends; must be given for a field without an upper end, as a price.
        points: How many points, 2 to 2000, at even steps.

    Returns:
        The points, the house as it is now, and where the net present value is 0.

    Raises:
        studbay.errors.InputError: For a field, surface, range or number of points that there is
            not.
    """

@final
class NominalRate:
    """A yearly rate in the money of the day, inflation in it, as a share: 0.05 is 5 %.

    It is not a `RealRate` and cannot stand in its place; `real` makes one of it.

    Raises:
        studbay.errors.InputError: For a share outside -0.9 to 2.
    """

    def __new__(cls, share: SupportsFloat | SupportsIndex) -> NominalRate: ...
    @property
    def share(self) -> float:
        """The share a year."""

    def real(self, inflation: Inflation) -> RealRate:
        """The same without inflation, by Fisher's equation.

        Args:
            inflation: How fast prices rise.

        Returns:
            `(1 + nominal) / (1 + inflation) - 1`.
        """

    def __eq__(self, other: object, /) -> bool: ...

@final
class RealRate:
    """A yearly rate in constant money, without inflation, as a share: that of `discount_rate`.

    Raises:
        studbay.errors.InputError: For a share outside -0.9 to 2.
    """

    def __new__(cls, share: SupportsFloat | SupportsIndex) -> RealRate: ...
    @property
    def share(self) -> float:
        """The share a year."""

    def nominal(self, inflation: Inflation) -> NominalRate:
        """The same with inflation in it, by Fisher's equation.

        Args:
            inflation: How fast prices rise.

        Returns:
            `(1 + real) * (1 + inflation) - 1`.
        """

    def __eq__(self, other: object, /) -> bool: ...

@final
class Inflation:
    """How fast prices in general rise, as a share a year.

    Raises:
        studbay.errors.InputError: For a share outside -0.5 to 1.
    """

    def __new__(cls, share: SupportsFloat | SupportsIndex | None = None) -> Inflation: ...
    @property
    def share(self) -> float:
        """The share a year."""

    def __eq__(self, other: object, /) -> bool: ...

@final
class LoanRate:
    """The yearly rate of a loan as it is quoted: twelve times that of a month.

    Raises:
        studbay.errors.InputError: For a share outside 0 to 1.
    """

    def __new__(cls, share: SupportsFloat | SupportsIndex) -> LoanRate: ...
    @property
    def share(self) -> float:
        """The share a year, as quoted."""

    @property
    def monthly(self) -> float:
        """The rate of a month."""

    def effective(self) -> NominalRate:
        """What it comes to over a whole year, month on month.

        Returns:
            `(1 + share / 12) ** 12 - 1`, a nominal rate.
        """

    def __eq__(self, other: object, /) -> bool: ...

@final
class Loan:
    """A loan over an amount, paid back in equal months."""

    @property
    def amount(self) -> float:
        """What it pays for."""

    @property
    def fees(self) -> float:
        """All fees."""

    @property
    def fee_at_signing(self) -> float:
        """The part of the fees that is paid at signing."""

    @property
    def borrowed(self) -> float:
        """What is owed at the start."""

    @property
    def rate(self) -> LoanRate:
        """The yearly rate as quoted."""

    @property
    def months(self) -> int:
        """Months in which it is paid back."""

    @property
    def payment(self) -> float:
        """Paid at the end of each month."""

    @property
    def total_paid(self) -> float:
        """All that is paid for the loan, fees at signing included."""

    @property
    def cost_of_credit(self) -> float:
        """All that is paid beyond the amount."""

    @property
    def rate_with_fees(self) -> LoanRate | None:
        """The yearly rate with every fee in it.

        `None` where nothing is lent, or fees eat all of it. The lender's own disclosure governs.
        """

    def schedule(self) -> dict[str, list[float]]:
        """The loan month by month, as columns.

        Returns:
            Lists of one length: `month`, `payment`, `interest`, `principal`, `balance`.
        """

    def __eq__(self, other: object, /) -> bool: ...

def lend(
    amount: SupportsFloat | SupportsIndex,
    annual_rate: LoanRate,
    months: SupportsIndex,
    *,
    fee: SupportsFloat | SupportsIndex = 0.0,
    fee_share: SupportsFloat | SupportsIndex = 0.0,
    fee_in_loan: bool = False,
) -> Loan:
    """A loan over an amount.

    Args:
        amount: What it pays for, 0 or more.
        annual_rate: The yearly rate as quoted, 0 for a programme loan without interest.
        months: Whole number, 1 to 600.
        fee: Fee, whatever the amount.
        fee_share: Fee as a share of the amount.
        fee_in_loan: Whether the fees are added to the loan, and not paid at signing.

    Returns:
        The loan, with its payment and schedule.

    Raises:
        studbay.errors.InputError: For a number out of range.
    """

@final
class Funding:
    """How a house pays for its fill, and what that does to its cash. Modelled, not measured."""

    @property
    def name(self) -> str:
        """The way to pay."""

    @property
    def price(self) -> float:
        """The price of the job."""

    @property
    def incentives(self) -> tuple[tuple[str, float, int], ...]:
        """Name, amount and month of each incentive, 0 for signing.

        The rebate and the tax credit of the house are among them.
        """

    @property
    def not_in_force(self) -> tuple[str, ...]:
        """Incentives that do not hold in the year of the work."""

    @property
    def at_signing(self) -> float:
        """Paid at signing, fees included."""

    @property
    def loan(self) -> Loan | None:
        """The loan; `None` where all is paid at signing."""

    @property
    def monthly_savings(self) -> float:
        """Saved in a month of the first year, on even bills and at today's prices."""

    @property
    def monthly_payment(self) -> float:
        """Paid on the loan in a month."""

    @property
    def covers_payment(self) -> bool:
        """Whether a month of the first year saves at least what the loan takes."""

    @property
    def cash_positive_from_month_1(self) -> bool:
        """Whether it does so with nothing paid at signing."""

    @property
    def first_year(self) -> dict[str, float]:
        """Savings, payments, incentives and what is left, of the first twelve months."""

    @property
    def npv(self) -> float:
        """Net present value of this way to pay, at the house's discount rate made nominal."""

    @property
    def discount_rate(self) -> NominalRate:
        """The house's discount rate with inflation in it."""

    @property
    def inflation(self) -> Inflation:
        """Inflation that was taken."""

    @property
    def lost_by_waiting(self) -> float | None:
        """What of the incentives would be gone for work a year later.

        `None` where the year of the work is not given.
        """

    def years(self) -> dict[str, list[float]]:
        """Signing, then each year, in the money of its day, as columns.

        Returns:
            Lists of one length: `year` (0 is signing), `savings`, `payments`, `incentives`, `net`,
            `cumulative`, and `cumulative_real` in the money of today.
        """

    def to_dict(self) -> dict[str, Any]:
        """The way to pay as a dict.

        Returns:
            Its attributes under their names, the loan as a dict of its own, `years` as columns.
        """

    def account(self, currency: str = "$") -> list[Block]:
        """The way to pay in words, for a person to read.

        Args:
            currency: The sign of the user's money.

        Returns:
            Blocks to print one after the other, a hold first.
        """

    def _repr_html_(self) -> str: ...

def ways_to_pay(
    house: House,
    loans: Iterable[Mapping[str, object]] | None = None,
    incentives: Iterable[Mapping[str, object]] | None = None,
    *,
    inflation: Inflation | None = None,
    work_year: SupportsIndex | None = None,
    credit_month: SupportsIndex | None = None,
) -> list[Funding]:
    """The ways to pay for a fill: at once, and with each loan.

    Args:
        house: The house.
        loans: A dict for each loan: `name`, `annual_rate` (0 for a programme loan without
            interest), `months` or `years`, `fee`, `fee_share`, `fee_in_loan`, `down_payment`. Left
            out, those of the house file.
        incentives: A dict for each, beside the rebate and the tax credit of the house: `name`,
            `amount`, `share` or `tiers` (each `up_to` and `share`), `cap`, `from_year`, `to_year`,
            `paid_after_months`. Left out, those of the house file.
        inflation: How fast prices rise; the longer-run goal of the Federal Reserve where left out.
        work_year: Calendar year of the work, needed where an incentive holds in some years only.
        credit_month: Months after signing at which the house's tax credit is there; 12 where left
            out.

    Returns:
        A `Funding` for paying at once, then one for each loan.

    Raises:
        studbay.errors.InputError: With the faults of every loan and incentive.
    """

def pay_for(
    house: House,
    loan: Mapping[str, object] | None = None,
    incentives: Iterable[Mapping[str, object]] | None = None,
    *,
    inflation: Inflation | None = None,
    work_year: SupportsIndex | None = None,
    credit_month: SupportsIndex | None = None,
) -> Funding:
    """One way to pay for a fill: at once, or with one loan.

    Args:
        house: The house.
        loan: A dict as for `ways_to_pay`; left out, all is paid at once.
        incentives: As for `ways_to_pay`.
        inflation: As for `ways_to_pay`.
        work_year: As for `ways_to_pay`.
        credit_month: As for `ways_to_pay`.

    Returns:
        What is paid when, and the cash of each year.

    Raises:
        studbay.errors.InputError: With the faults of the loan and of every incentive.
    """

@final
class Comfort:
    """Inside surface temperatures of a house before and after the work, by heat-flow path.

    Modelled: steady state, one dimension, at a design outdoor temperature. What it leaves out
    stands in `limits` and in every account.
    """

    @property
    def limits(self) -> list[str]:
        """What the temperatures leave out."""

    def to_dict(self) -> dict[str, Any]:
        """The temperatures as plain objects.

        Returns:
            `outdoor_f`/`_c`, `indoor_f`/`_c`, `limits`, and `surfaces`: for each its `name`,
            `kind`, `far_side_f`/`_c`, `ordered` (whether the order of its layers is known),
            `mean_before_f`/`_c`, `mean_after_f`/`_c`, and the paths `before` and `after`. A path
            has `place` (framing, bay, bare_bay), `state` (found, filled, missed), `share` of the
            area, `r` (h·ft²·°F/Btu), `rsi` (m²K/W), `surface_f`/`_c`, `temperature_factor`,
            `surface_rh` (`None` without a humidity of the room), and `layers` from the room
            outward, each with `name`, `r`, `rsi` and the temperatures `from_f`/`_c` and
            `to_f`/`_c` of its two faces.
        """

    def account(self, units: Literal["ip", "si"] = "ip") -> list[Block]:
        """The temperatures in words, for a person to read.

        Args:
            units: `"ip"` or `"si"`.

        Returns:
            Blocks to print one after the other: the house's holds first, the limits last.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

@final
class Moisture:
    """A moisture check of a filled wall: steady-state vapour diffusion by month, after ISO 13788.

    Where vapour condenses in the wall, how much, and whether it dries; and how humid the inside
    surface is. A screen, no proof: what it leaves out stands in `limits` and in every account, and
    none of its findings is a pass.
    """

    @property
    def findings(self) -> list[str]:
        """Codes of what was found, the gravest first; never empty."""

    @property
    def limits(self) -> list[str]:
        """What the check leaves out."""

    @property
    def peak_kg_m2(self) -> float:
        """The most condensate in a filled bay at the end of a month, kg/m²."""

    @property
    def left_kg_m2(self) -> float:
        """The most condensate left in a filled bay after a year, kg/m²."""

    def to_dict(self) -> dict[str, Any]:
        """The check as plain objects, in SI units.

        Returns:
            `surface`, `indoor_c`, `findings` (dicts with `code`, `weight`, `reason`, `cleared_by`,
            `source`), `limits`, `mould` (`month`, `factor_needed`, and paths `before` and `after`
            with `place`, `state`, `share`, `factor`, `surface_rh`, `at_risk`), and the bays
            `before` and `after`. A bay has `place`, `state`, `share`, `peak_kg_m2`, `left_kg_m2`,
            `dry_by` (a month or `None`), `layers` from the room outward (`name`, `perms`, `sd_m`,
            `rsi`, `source`), `nodes` (`place`, `sd_m`, `rsi` from the room's air), and `months` in
            the order of the calculation: `month`, `outdoor_c`, `outdoor_rh`, `outdoor_pa`,
            `indoor_pa`, `surface_wet`, `vapour_in_kg_m2`, `vapour_out_kg_m2`, and lists with one
            entry for each node: `temperature_c`, `saturation_pa`, `pressure_pa` (at the month's
            beginning), `gained_kg_m2` and `held_kg_m2` (at its end).
        """

    def account(self, units: Literal["ip", "si"] = "ip") -> list[Block]:
        """The check in words, for a person to read.

        Args:
            units: `"ip"` or `"si"`.

        Returns:
            Blocks to print one after the other: the house's holds first, the limits last.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

def comfort(
    house: House,
    *,
    outdoor_f: SupportsFloat | None = None,
    outdoor_c: SupportsFloat | None = None,
    indoor_f: SupportsFloat | None = None,
    indoor_c: SupportsFloat | None = None,
    indoor_rh: SupportsFloat | None = None,
    batt_side: Literal["inside", "outside"] = "inside",
) -> Comfort:
    """Inside surface temperatures of a house at a design outdoor temperature, before and after.

    They are those of studs, bays, bays without their batt, and a bay that was missed.

    Args:
        house: The house; each `series_r` must hold both surface films.
        outdoor_f: Design outdoor temperature, °F, -76 to 122; or `outdoor_c` in °C.
        outdoor_c: The same in °C, -60 to 50.
        indoor_f: Room temperature, °F, 41 to 95; 68 where neither is given.
        indoor_c: The same in °C, 5 to 35.
        indoor_rh: Relative humidity of the room, 0 to 1, for the humidity at the surface.
        batt_side: Side of the cavity on which the batt lies: `"inside"` or `"outside"`.

    Returns:
        Temperatures by path, with the profile through each.

    Raises:
        studbay.errors.InputError: With every fault of every argument.
    """

def moisture(
    house: House,
    *,
    outdoor_f: Iterable[SupportsFloat] | None = None,
    outdoor_c: Iterable[SupportsFloat] | None = None,
    outdoor_rh: Iterable[SupportsFloat] | None = None,
    indoor_f: SupportsFloat | None = None,
    indoor_c: SupportsFloat | None = None,
    indoor_rh: SupportsFloat | None = None,
    indoor_class: str | None = None,
    exterior_coat: str | None = None,
    interior_coat: str | None = None,
    batt_facing: str | None = None,
    batt_side: Literal["inside", "outside"] = "inside",
    cladding_perms: SupportsFloat | None = None,
    sheathing_perms: SupportsFloat | None = None,
    interior_finish_perms: SupportsFloat | None = None,
    surface: SupportsIndex | None = None,
) -> Moisture:
    """Checks a filled wall for condensing vapour, month by month, in steady state (ISO 13788 form).

    Args:
        house: The house. Its wall must name cladding, sheathing and interior finish.
        outdoor_f: Twelve monthly mean outdoor temperatures from January on, °F; or `outdoor_c`.
        outdoor_c: The same in °C.
        outdoor_rh: Twelve monthly mean outdoor relative humidities, 0 to 1.
        indoor_f: Room temperature, °F, 41 to 95; 68 where neither is given.
        indoor_c: The same in °C, 5 to 35.
        indoor_rh: Relative humidity of the room all year, 0 to 1; or `indoor_class`.
        indoor_class: `"class_1"` to `"class_5"` of ISO 13788, or `"normal"` or `"crowded"` of
            EN 15026.
        exterior_coat: Paint on the outside, a coat of `studbay.permeances()`, or `"none"`. It
            must be said, because it decides whether the wall dries outward.
        interior_coat: Paint or paper on the room side, likewise; `"none"` where it is left out.
        batt_facing: Sheet on the room side of the batt, a facing of `studbay.permeances()`.
        batt_side: Side of the cavity on which the batt lies: `"inside"` or `"outside"`.
        cladding_perms: Permeance of the cladding where it is known, US perms, 0.001 to 200; with
            its paint, where `exterior_coat` is `"none"`.
        sheathing_perms: That of the sheathing.
        interior_finish_perms: That of the interior finish.
        surface: Place of the wall among the house's surfaces, from 0, where it has several walls.

    Returns:
        The check, with its findings and its limits. It is no certificate.

    Raises:
        studbay.errors.InputError: With every fault of every argument.
    """

def monthly_air(
    month: Iterable[SupportsFloat],
    outdoor_c: Iterable[SupportsFloat],
    outdoor_rh: Iterable[SupportsFloat],
) -> dict[str, list[float]]:
    """Monthly means of a run of weather readings, for `studbay.moisture`.

    Args:
        month: The month of each reading, 1 to 12.
        outdoor_c: Its temperature, °C.
        outdoor_rh: Its relative humidity, 0 to 1.

    Returns:
        `outdoor_c` and `outdoor_rh`, twelve values each from January on. The humidity is that
        which gives the mean vapour pressure at the mean temperature, at most 1.

    Raises:
        studbay.errors.InputError: For lists of different lengths, a reading that is none, and a
            month without a reading.
    """

def permeances() -> list[dict[str, Any]]:
    """The table of permeances of layers, coats and facings.

    Returns:
        A dict for each: `key`, `label`, `use` (`layer`, `per_inch`, `coat`, `facing`), `perms` (US
        perms; of an inch for `per_inch`), `low`, `high`, `sd_m`, `source`.
    """

def saturation_pressure(celsius: SupportsFloat) -> float:
    """Saturation pressure of water vapour, as ISO 13788 writes it.

    Args:
        celsius: Temperature, °C, -60 to 60.

    Returns:
        The pressure in Pa: 610.5 at 0 °C.

    Raises:
        studbay.errors.InputError: For a temperature outside that range.
    """

@final
class JobSheet:
    """What the crew brings, opens, packs and checks.

    Fibre and bags are those of the assessment with nothing missed, which is what a crew works to;
    what the assessment itself counts stands beside. Bags are rounded up once for the job.
    """

    @property
    def house_id(self) -> str:
        """Your own name for the house."""

    @property
    def bags(self) -> float:
        """Bags to fill every cavity; the chart on the bag governs."""

    @property
    def bags_to_bring(self) -> float:
        """Bags to bring, the spare with them."""

    @property
    def crew_days(self) -> tuple[float, float]:
        """Days of the crew at the quickest and at the slowest."""

    def to_dict(self, units: Literal["ip", "si"] | str = "ip") -> dict[str, Any]:
        """The sheet as plain objects, each value under a name that carries its unit.

        Args:
            units: `"ip"` or `"si"`.

        Returns:
            Totals, `surfaces`, `steps` (the checks in order, each with its source) and `findings`.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

    def account(self, units: Literal["ip", "si"] | str = "ip") -> list[Block]:
        """The sheet in words, a hold first.

        Args:
            units: `"ip"` or `"si"`.

        Returns:
            Blocks to print one after the other.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

    def _repr_html_(self) -> str: ...
    def __eq__(self, value: object, /) -> bool: ...

@final
class Walk:
    """The walk through a house: every question of every surface, how it stands, who may clear it.

    It repeats what was answered and recorded; it has seen nothing and certifies nothing.
    """

    @property
    def house_id(self) -> str:
        """Your own name for the house."""

    @property
    def readiness(self) -> Literal["hold", "check", "clear"]:
        """`hold`, `check` or `clear`: the gravest point, never less grave than the assessment."""

    @property
    def unknown(self) -> int:
        """Points whose answer nobody knows."""

    def to_dict(self) -> dict[str, Any]:
        """The walk as plain objects.

        Returns:
            `readiness`, `points` (what is asked of which surface, how it stands, why it matters,
            who may clear it, who is still needed, the source) and `looks` on record.
        """

    def account(
        self, reader: Literal["contractor", "salesperson", "owner"] | str = "contractor"
    ) -> list[Block]:
        """The walk in words, a hold first.

        Args:
            reader: `"contractor"`, `"salesperson"` or `"owner"`: they differ in length, never in
                substance.

        Returns:
            Blocks to print one after the other.

        Raises:
            studbay.errors.InputError: For any other word.
        """

    def _repr_html_(self) -> str: ...
    def __eq__(self, value: object, /) -> bool: ...

@final
class Rates:
    """Your own rates, each named with its unit; `studbay.rate_fields()` lists them.

    Raises:
        studbay.errors.InputError: With every fault: a name that no rate has, a number below
            nothing.
    """

    def __new__(cls, **rates: SupportsFloat | SupportsIndex | str | None) -> Rates: ...
    @staticmethod
    def from_file(path: str | PathLike[str]) -> Rates:
        """Reads a file of rates, TOML.

        Args:
            path: The file.

        Returns:
            The rates.

        Raises:
            OSError: Where the file cannot be read.
            studbay.errors.HouseFileError: With the line and column of what is no TOML.
            studbay.errors.InputError: With every fault.
        """

    def __eq__(self, value: object, /) -> bool: ...

@final
class BuildUp:
    """A price and its parts, by your own rates."""

    @property
    def house_id(self) -> str:
        """Your own name for the house."""

    @property
    def installed_cost(self) -> float:
        """The price: the sum of its parts."""

    @property
    def quoted(self) -> float | None:
        """The price that the house file quotes; `None` where it is 0, which quotes nothing."""

    @property
    def parts(self) -> dict[str, float]:
        """What each part comes to: labour, material, access_and_repair, fixed, overhead, margin."""

    @property
    def findings(self) -> list[str]:
        """Codes of what somebody should look at."""

    def to_dict(self) -> dict[str, Any]:
        """The build-up as plain objects.

        Returns:
            `installed_cost`, `parts`, `quoted`, the paybacks at both, `lines` (quantity, unit,
            rate, amount) and `findings`.
        """

    def account(self, currency: str = "$") -> list[Block]:
        """The build-up in words.

        Args:
            currency: Label in front of amounts; nothing is converted.

        Returns:
            Blocks to print one after the other, a hold first.
        """

    def _repr_html_(self) -> str: ...

def job_sheet(house: House, rates: Rates | None = None) -> JobSheet:
    """Makes the job sheet of a house, by the table `job` of its file where there is one.

    Args:
        house: The house.
        rates: Your own rates, for the days; common practice without them.

    Returns:
        What the crew brings, opens, packs and checks.
    """

def walk_through(house: House) -> Walk:
    """Walks through a house: what is asked of each surface, how it stands, who may clear it.

    Args:
        house: The house; looks on record are those of `clearances` in its file.

    Returns:
        The walk.
    """

def build_up(house: House, rates: Rates) -> BuildUp:
    """Builds the price of a job up by your own rates, and compares the quoted price with it.

    Args:
        house: The house.
        rates: Your own rates.

    Returns:
        The price with its parts, and what somebody should look at.

    Raises:
        studbay.errors.InputError: With every rate that this job needs and that is not given.
    """

def rate_fields() -> list[dict[str, Any]]:
    """The rates that a file of rates may hold.

    Returns:
        Of each: `name`, `name_si` or `None`, `range`, `default` or `None`, `help`.
    """

def record_look(
    text: str,
    *,
    finding: str,
    answer: str,
    date: str,
    surface: str = "",
    cleared_by: str = "",
    evidence: str = "",
) -> str:
    """The text of a house file, TOML or JSON, with a look at its end; the rest stays as it is.

    Args:
        text: What the house file holds.
        finding: What was looked at, by its code, as in `knob_and_tube`.
        answer: `"no"` where it is cleared, `"yes"` where it is there, or `"unknown"`.
        date: The day of the look, as in `2026-03-02`.
        surface: The surface, or `"all"`; may be left out where the house has one.
        cleared_by: Who looked: a role such as `licensed_electrician`, never a name.
        evidence: What it rests on.

    Returns:
        The new text.

    Raises:
        studbay.errors.HouseFileError: Where the text is neither TOML nor JSON.
        studbay.errors.InputError: Where the look lacks something, or its role may not clear it.
    """

@final
class BalanceSaving:
    """The saving of a house by three counts of the same assessment: modelled, not measured.

    `fixed`: at the base of 65 °F. `held`: at the balance point that the house has now. `falling`:
    with the balance point falling, as it does when the house loses less.
    """

    @property
    def balance_point_before_f(self) -> float:
        """The balance point before the fill, °F."""

    @property
    def balance_point_after_f(self) -> float:
        """The balance point after the fill, °F."""

    @property
    def gains_btu_h(self) -> float:
        """The gains, Btu/h, the same before and after."""

    @property
    def loss_before_btu_h_f(self) -> float:
        """The loss coefficient before the fill, Btu/h·°F."""

    @property
    def loss_after_btu_h_f(self) -> float:
        """The loss coefficient after the fill, Btu/h·°F."""

    @property
    def degree_days_before(self) -> float:
        """Heating degree-days at the balance point before, °F·day."""

    @property
    def degree_days_after(self) -> float:
        """Heating degree-days at the balance point after, °F·day."""

    @property
    def fixed(self) -> dict[str, Any]:
        """At the fixed base of 65 °F: degree-days and every result, inch-pound."""

    @property
    def held(self) -> dict[str, Any]:
        """At the balance point that the house has now, as if it stayed."""

    @property
    def falling(self) -> dict[str, Any]:
        """With the balance point falling."""

    def account(self, units: str = "ip", currency: str = "$") -> list[Block]:
        """The three counts in words, each explained, with the arithmetic.

        Args:
            units: `"ip"` or `"si"`.
            currency: The sign of the user's money.

        Returns:
            Blocks to print one after the other.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

@final
class DegreeDays:
    """Degree-days of a series of days."""

    @property
    def base_f(self) -> float:
        """The base, °F."""

    @property
    def rule(self) -> Literal["max_min", "mean", "hours"]:
        """The day rule: `max_min`, `mean` or `hours`."""

    @property
    def whole_degrees(self) -> bool:
        """Whether temperatures were rounded to whole °F."""

    @property
    def counted_as(self) -> str:
        """How they were counted, in words."""

    @property
    def heating(self) -> float:
        """Heating degree-days of the whole series, °F·day."""

    @property
    def cooling(self) -> float:
        """Cooling degree-days of the whole series, °F·day."""

    @property
    def days(self) -> int:
        """Days that were counted."""

    @property
    def missing(self) -> int:
        """Days between the first and the last without a value; they count nothing."""

    @property
    def by_month(self) -> list[dict[str, Any]]:
        """A dict for each month: `year`, `month`, `heating`, `cooling`, `days`, `missing`."""

    @property
    def by_year(self) -> list[dict[str, Any]]:
        """A dict for each calendar year: `year`, `heating`, `cooling`, `days`, `missing`."""

@final
class Place:
    """A place of the table, for a first guess. A weather file of the place always wins over it."""

    @property
    def key(self) -> str:
        """Its key."""

    @property
    def name(self) -> str:
        """Its name."""

    @property
    def region(self) -> str:
        """State, province or territory."""

    @property
    def country(self) -> str:
        """`US` or `CA`."""

    @property
    def elevation_ft(self) -> float:
        """Height above sea level, ft."""

    @property
    def base_f(self) -> float:
        """The base that its degree-days are for, °F."""

    @property
    def heating(self) -> float:
        """Heating degree-days of a usual year, °F·day."""

    @property
    def cooling(self) -> float:
        """Cooling degree-days of a usual year, °F·day."""

    @property
    def zone(self) -> str:
        """Climate zone of its county, with the code that assigns it."""

    @property
    def is_from_memory(self) -> bool:
        """Whether a value that a house would take from it is known from memory only."""

    @property
    def sources(self) -> dict[str, str]:
        """Where each value comes from, under its name, with how well it is known."""

    def house(self, fields: dict[str, Any] | str | PathLike[str]) -> tuple[House, Block]:
        """A house in this climate, where the house does not say its own.

        Args:
            fields: The fields of the house, as for `House`, or the path of a house file.

        Returns:
            The house, and where its degree-days come from.

        Raises:
            OSError: Where the house file cannot be read.
            studbay.errors.HouseFileError: As for `House.from_file`.
            studbay.errors.InputError: With every fault of the house.
        """

    def __eq__(self, other: object, /) -> bool: ...
    def __hash__(self) -> int: ...

@final
class Remark:
    """One thing that a reader noticed in a weather file."""

    @property
    def code(self) -> str:
        """The sort, stable for programs."""

    @property
    def gravity(self) -> Literal["note", "warning", "grave"]:
        """`note`, `warning` or `grave`."""

    @property
    def count(self) -> int:
        """How often it was met; 1 where counting has no meaning."""

    @property
    def text(self) -> str:
        """In words."""

    def __eq__(self, other: object, /) -> bool: ...
    def __hash__(self) -> int: ...

@final
class UsualYear:
    """Degree-days of a usual year: what a house is assessed with."""

    @property
    def base_f(self) -> float:
        """The base, °F."""

    @property
    def rule(self) -> Literal["max_min", "mean", "hours"]:
        """The day rule: `max_min`, `mean` or `hours`."""

    @property
    def heating(self) -> float:
        """Heating degree-days, °F·day a year."""

    @property
    def cooling(self) -> float:
        """Cooling degree-days at the same base, °F·day a year."""

    @property
    def basis(self) -> str:
        """Which days it is made of, in words."""

    @property
    def missing(self) -> int:
        """Days of those years without a value; they are not filled."""

    @property
    def missing_at_most(self) -> float:
        """The most that they could add to the heating of a year, °F·day."""

@final
class Weather:
    """Days of weather, read from a file.

    Days without a value stay without one: nothing is filled. `remarks` says what was noticed; a
    file with a grave remark gives no degree-days for a house.

    Dates of a typical year are nominal: its months come from differing years (`months_from`).
    """

    @staticmethod
    def from_file(
        path: str | PathLike[str],
        *,
        format: str | None = None,
        unit: str | None = None,
        columns: dict[str, str] | None = None,
        only: tuple[str, str] | None = None,
        name: str | None = None,
    ) -> Weather:
        """Reads a weather file: TMY3, EPW, or a table with named columns, daily or hourly.

        The form is told by the content; `.gz` is unpacked. Columns of a table are found by their
        usual names unless `columns` names them. The unit of a table is never guessed: its columns
        say it (`temp_max_c`), or you do.

        Args:
            path: The file.
            format: `"tmy3"`, `"epw"` or `"table"`, where the content is not to decide.
            unit: `"f"` or `"c"`: the unit of the temperatures of a table.
            columns: Which column of a table is what: `date`, `year`, `month`, `day`, `hour`,
                `mean` (also the temperature of an hour), `max`, `min`.
            only: A column and the text that it must have: one station of several.
            name: What the place is called, where the file does not say.

        Returns:
            The weather.

        Raises:
            OSError: Where the file cannot be read.
            studbay.errors.WeatherError: Where it is no weather file, or its columns, its unit or
                its station are not clear.
            studbay.errors.InputError: For an argument that is no use.
        """

    @staticmethod
    def from_bytes(
        data: bytes,
        *,
        format: str | None = None,
        unit: str | None = None,
        columns: dict[str, str] | None = None,
        only: tuple[str, str] | None = None,
        name: str | None = None,
    ) -> Weather:
        """Reads a weather file that is in memory already, unpacked.

        Args:
            data: What the file holds.
            format: As for `from_file`.
            unit: As for `from_file`.
            columns: As for `from_file`.
            only: As for `from_file`.
            name: As for `from_file`.

        Returns:
            The weather.

        Raises:
            studbay.errors.WeatherError: As for `from_file`.
            studbay.errors.InputError: As for `from_file`.
        """

    @property
    def name(self) -> str:
        """What the place is called."""

    @property
    def latitude(self) -> float | None:
        """Degrees north; `None` where the file does not say."""

    @property
    def longitude(self) -> float | None:
        """Degrees east; `None` where the file does not say."""

    @property
    def elevation_ft(self) -> float | None:
        """Height above sea level, ft; `None` where the file does not say."""

    @property
    def format(self) -> Literal["tmy3", "epw", "table"]:
        """`tmy3`, `epw` or `table`."""

    @property
    def unit(self) -> Literal["f", "c"]:
        """`f` or `c`: the unit of the temperatures in the file."""

    @property
    def is_hourly(self) -> bool:
        """Whether the file has hours."""

    @property
    def is_typical(self) -> bool:
        """Whether it is a typical year, put together from months of differing years."""

    @property
    def months_from(self) -> dict[int, int]:
        """The year that each month of a typical year comes from; empty for other files."""

    @property
    def first(self) -> date:
        """The first day, a `datetime.date`."""

    @property
    def last(self) -> date:
        """The last day, a `datetime.date`."""

    @property
    def days(self) -> int:
        """Days from the first to the last."""

    @property
    def days_with_value(self) -> int:
        """Those of them that have a value."""

    @property
    def readings(self) -> int:
        """Readings in the file."""

    @property
    def gaps(self) -> tuple[tuple[date, date], ...]:
        """Stretches of days without a value, from the first to the last day of each."""

    @property
    def remarks(self) -> tuple[Remark, ...]:
        """What was noticed while the file was read, the gravest first."""

    @property
    def usual_rule(self) -> Literal["max_min", "mean"]:
        """The day rule that fits the file: `max_min` where it has both, else `mean`."""

    def degree_days(
        self, base_f: float = 65.0, rule: str | None = None, whole_degrees: bool = False
    ) -> DegreeDays:
        """Counts degree-days.

        Args:
            base_f: The base, -40 to 120 °F.
            rule: `"max_min"`: (maximum + minimum) / 2 of each day against the base. `"mean"`: the
                mean of each day. `"hours"`: every hour, divided by 24. Without it, `usual_rule`.
            whole_degrees: Whether temperatures are rounded to whole °F, halves upwards, as the
                National Weather Service does (from memory); with `max_min` only.

        Returns:
            The sums over the series, by month and by year. Missing days count nothing; how many
            they are stands beside each sum.

        Raises:
            studbay.errors.WeatherError: Where the file has not what the rule needs.
            studbay.errors.InputError: For an argument outside its range.
        """

    def usual_year(
        self, base_f: float = 65.0, rule: str | None = None, whole_degrees: bool = False
    ) -> UsualYear:
        """Degree-days of a usual year: what a house is assessed with.

        Of a typical year, that year; else the mean of the calendar years that lack at most three
        days; else the last 365 days on end that lack at most three.

        Args:
            base_f: As for `degree_days`.
            rule: As for `degree_days`.
            whole_degrees: As for `degree_days`.

        Returns:
            The year.

        Raises:
            studbay.errors.WeatherError: Where there is no such year, or a grave remark stands
                against the file.
            studbay.errors.InputError: For an argument outside its range.
        """

    def climate_zone(self, rule: str | None = None) -> str:
        """The climate zone of the International Energy Conservation Code that degree-days point to.

        Zones are assigned by county: look the county up in the code that is in force.

        Args:
            rule: As for `degree_days`.

        Returns:
            As in `"4"` or `"4 (3 if marine)"`: the letter depends on rain.

        Raises:
            studbay.errors.WeatherError: As for `usual_year`.
        """

    def daily(self) -> dict[str, list[Any]]:
        """Every day of the series.

        Returns:
            A dict of lists of the same length, for a data frame: `date`, `max_f`, `min_f`,
            `mean_f` in °F with `None` where there is no value, and `hours` that have one.
        """

    def monthly(self) -> list[dict[str, float]]:
        """The calendar months, all years together.

        Returns:
            A dict for each month with two days or more: `month`, `days` of it, `mean_f` and
            `deviation_f` of its daily means, °F.
        """

    def convert(self, base_f: float, method: str = "schoenau_kehrig") -> tuple[float, float]:
        """Degree-days of a year at a base, estimated from means and deviations of the months alone.

        Args:
            base_f: The base, -40 to 120 °F.
            method: `"schoenau_kehrig"` or `"hitchin"`; see `studbay.climate`.

        Returns:
            Heating and cooling, °F·day.

        Raises:
            studbay.errors.WeatherError: Where fewer than twelve months have two days.
            studbay.errors.InputError: For an argument outside its range.
        """

    def report(
        self,
        base_f: float = 65.0,
        rule: str | None = None,
        whole_degrees: bool = False,
        by: str | None = None,
        units: str = "ip",
    ) -> list[Block]:
        """The weather in words: what it is, what was noticed, its degree-days.

        Args:
            base_f: As for `degree_days`.
            rule: As for `degree_days`.
            whole_degrees: As for `degree_days`.
            by: `"month"` or `"year"`; without it, months for one year and years for more.
            units: `"ip"` or `"si"`.

        Returns:
            Blocks to print one after the other.

        Raises:
            studbay.errors.WeatherError: As for `degree_days`.
            studbay.errors.InputError: For an argument that is no use.
        """

    def explain(
        self, base_f: float = 65.0, rule: str | None = None, whole_degrees: bool = False
    ) -> list[Block]:
        """How the degree-days come about, step by step.

        Args:
            base_f: As for `degree_days`.
            rule: As for `degree_days`.
            whole_degrees: As for `degree_days`.

        Returns:
            Blocks to print one after the other.

        Raises:
            studbay.errors.WeatherError: As for `degree_days`.
            studbay.errors.InputError: For an argument outside its range.
        """

    def house(
        self,
        fields: dict[str, Any] | str | PathLike[str],
        base_f: float = 65.0,
        rule: str | None = None,
        whole_degrees: bool = False,
    ) -> tuple[House, Block]:
        """A house in this climate.

        The degree-days of the weather take the place of any that are given; the height of the
        station is taken where none is given.

        Args:
            fields: The fields of the house, as for `House`, or the path of a house file.
            base_f: The base of heating; cooling is counted at 65 °F.
            rule: As for `degree_days`.
            whole_degrees: As for `degree_days`.

        Returns:
            The house, and where its degree-days come from.

        Raises:
            OSError: Where the house file cannot be read.
            studbay.errors.WeatherError: As for `usual_year`.
            studbay.errors.HouseFileError: As for `House.from_file`.
            studbay.errors.InputError: With every fault of the house.
        """

    def balance_saving(
        self,
        house: House,
        *,
        indoor_f: float,
        loss_btu_h_f: float,
        gains_btu_h: float | None = None,
        balance_point_f: float | None = None,
        rule: str | None = None,
    ) -> BalanceSaving:
        """The saving of a house whose loss as a whole is known, with a balance point that falls.

        Args:
            house: The house.
            indoor_f: The set point, 40 to 90 °F.
            loss_btu_h_f: Loss coefficient of the whole house, walls and air, Btu/h·°F: from bills.
            gains_btu_h: Gains of people, lights, appliances and sun, a mean over the heating
                season, Btu/h.
            balance_point_f: The balance point that the bills show, instead of gains.
            rule: As for `degree_days`.

        Returns:
            The saving by three counts of the same assessment.

        Raises:
            studbay.errors.WeatherError: Where the weather has no whole year, the fill saves
                nothing, or it would save more than the whole house loses.
            studbay.errors.InputError: For an argument outside its range, and where not exactly one
                of gains and balance point is given.
        """

    def __eq__(self, other: object, /) -> bool: ...

def balance_point(indoor_f: float, gains_btu_h: float, loss_btu_h_f: float) -> float:
    """The outdoor temperature below which a house must be heated.

    Args:
        indoor_f: The set point, 40 to 90 °F.
        gains_btu_h: Gains of people, lights, appliances and sun, Btu/h.
        loss_btu_h_f: Loss coefficient of the whole house, Btu/h·°F.

    Returns:
        `indoor_f - gains_btu_h / loss_btu_h_f`, °F.

    Raises:
        studbay.errors.InputError: For an argument outside its range.
    """

def convert_months(
    means_f: Sequence[float], base_f: float, method: str = "schoenau_kehrig"
) -> tuple[float, float]:
    """Degree-days of a year from twelve monthly means, with the usual scatter of days.

    Args:
        means_f: Means of January to December, °F.
        base_f: The base, -40 to 120 °F.
        method: `"schoenau_kehrig"`, with the deviation of Erbs, Klein and Beckman 1983 (from
            memory), or `"hitchin"`.

    Returns:
        Heating and cooling, °F·day.

    Raises:
        studbay.errors.InputError: For an argument outside its range.
    """

def hitchin_degree_days(days: float, mean: float, base: float, k: float = 0.71) -> float:
    """Degree-days of a month from its mean alone.

    `N (base - mean) / (1 - exp(-k (base - mean)))`: Hitchin 1983 (from memory).

    Args:
        days: Days of the month, N.
        mean: Mean of the month.
        base: The base.
        k: The constant of the climate, above 0: 0.71 a kelvin in the British Isles.

    Returns:
        Heating degree-days of the month; where mean and base are equal the limit, `days / k`.

    Raises:
        studbay.errors.InputError: For an argument that is no finite number, or k not above 0.
    """

def normal_degree_days(days: float, mean: float, deviation: float, base: float) -> float:
    """Degree-days of a month whose daily means scatter normally round the mean of the month.

    `N s (z Φ(z) + φ(z))`, `z = (base - mean) / s`: Schoenau and Kehrig 1990 (from memory). All in
    the same degree, Fahrenheit or Celsius.

    Args:
        days: Days of the month, N.
        mean: Mean of the month.
        deviation: Standard deviation of the daily means within it, s; 0 or more.
        base: The base.

    Returns:
        Heating degree-days of the month.

    Raises:
        studbay.errors.InputError: For an argument that is no finite number, or a deviation below 0.
    """

def place(key: str) -> Place:
    """The place of a key or name.

    Args:
        key: As in `"boston_ma"` or `"Boston, Massachusetts"`.

    Returns:
        The place.

    Raises:
        studbay.errors.InputError: Where the table has none of this key or name.
    """

def places(word: str = "") -> list[Place]:
    """The places of the table, for a first guess.

    Args:
        word: Part of a key, name or region; without it, all of them.

    Returns:
        The places, in the order of the table.
    """

def report_places(word: str = "", units: str = "ip") -> list[Block]:
    """Places in words, with the mark of each value.

    Args:
        word: As for `places`.
        units: `"ip"` or `"si"`.

    Returns:
        Blocks to print one after the other.

    Raises:
        studbay.errors.InputError: For any other word for `units`.
    """

@final
class BillFinding:
    """One thing found in bills, in a fit, or in a comparison."""

    @property
    def code(self) -> str:
        """Stable for programs."""

    @property
    def weight(self) -> Literal["note", "doubt", "refuse"]:
        """`note`: the figures stand; `doubt`: they may be wrong; `refuse`: do not use them."""

    @property
    def text(self) -> str:
        """What was found, in a sentence."""

    def __eq__(self, other: object, /) -> bool: ...
    def __ne__(self, other: object, /) -> bool: ...

@final
class BillFit:
    """A fit of metered use against the weather.

    Use is in `unit`, the unit that the fuel is sold in. Temperatures are in °F. A figure that does
    not exist is `None`. `str()` gives it in words.
    """

    @property
    def fuel(self) -> str:
        """The fuel."""

    @property
    def unit(self) -> str:
        """The unit of every use."""

    @property
    def form(self) -> Literal["straight", "heating", "heating_cooling"]:
        """`straight`, `heating` or `heating_cooling`."""

    @property
    def base_per_day(self) -> float:
        """Base load, use a day; of a straight line, use a day at 0 °F."""

    @property
    def base_per_day_se(self) -> float | None:
        """Its standard error."""

    @property
    def heating_per_day_f(self) -> float:
        """Use a day for each °F colder."""

    @property
    def heating_per_day_f_se(self) -> float | None:
        """Its standard error."""

    @property
    def heating_per_day_f_interval(self) -> tuple[float, float] | None:
        """The interval of the slope."""

    @property
    def change_point_f(self) -> float | None:
        """The temperature below which heating begins, °F."""

    @property
    def change_point_f_se(self) -> float | None:
        """Its standard error, °F."""

    @property
    def change_point_f_interval(self) -> tuple[float, float] | None:
        """The interval of the change point, °F."""

    @property
    def cooling_per_day_f(self) -> float | None:
        """Use a day for each °F warmer; `None` where cooling is not fitted."""

    @property
    def cooling_point_f(self) -> float | None:
        """The temperature above which cooling begins, °F."""

    @property
    def r2(self) -> float | None:
        """Share of the variation of use a day that the fit explains."""

    @property
    def cv_rmse(self) -> float | None:
        """Root of the mean square error over the mean use.

        ASHRAE Guideline 14 asks 0.15 of monthly data (seen quoted).
        """

    @property
    def nmbe(self) -> float | None:
        """Mean error over the mean use.

        ASHRAE Guideline 14 asks 0.05 of monthly data (seen quoted).
        """

    @property
    def readings(self) -> int:
        """How many readings were fitted.

        12 are best, fewer than 10 suspect (Rachlin, Fels and Socolow 1986).
        """

    @property
    def verdict(self) -> Literal["sound", "doubtful", "unusable"]:
        """`sound`, `doubtful` or `unusable`."""

    @property
    def findings(self) -> list[BillFinding]:
        """What was found."""

    @property
    def annual_use(self) -> float | None:
        """Use of a usual year: 365 base + slope × degree-days; `None` without one."""

    @property
    def annual_use_interval(self) -> tuple[float, float] | None:
        """Its interval."""

    @property
    def annual_heating(self) -> float | None:
        """Heating use of a usual year: what `billed_heating_fuel` of a house means."""

    @property
    def annual_heating_interval(self) -> tuple[float, float] | None:
        """Its interval."""

    @property
    def level(self) -> float:
        """The confidence of the intervals."""

    @property
    def points(self) -> Table:
        """The fitted readings: dates, days, use, mean temperature, degree-days, fitted, error."""

    def curve(self, points: int = 101) -> Table:
        """The fit over the mean temperature of a day, with its band.

        Args:
            points: How many temperatures, 2 to 10,000.

        Returns:
            `temperature_f`, `use_per_day`, `low`, `high`.
        """

    def use_per_day_at(self, temperature_f: float) -> float:
        """Use of a day at a mean temperature.

        Args:
            temperature_f: The temperature in °F.
        """

    def account(self, units: str = "ip") -> list[Block]:
        """The fit in words.

        Args:
            units: `"ip"` or `"si"`, of temperatures.
        """

    def text(self, units: str = "ip") -> str:
        """The fit as text.

        Args:
            units: `"ip"` or `"si"`, of temperatures.
        """

    def explain(self) -> str:
        """How the figures came about, line by line, with sources."""

    def to_dict(self) -> dict[str, Any]:
        """The figures as plain objects."""

@final
class Calibration:
    """The model of a house beside its bills.

    The model knows only the surfaces that are to be filled. Compared are what the whole house loses
    by its bills and what these surfaces lose, the degree-days at the change point and those of the
    house file, the modelled saving and the billed heating. `str()` gives it in words.
    """

    @property
    def house_loss_btu_h_f(self) -> float:
        """Loss of the whole house for each degree, by the bills, Btu/h·°F."""

    @property
    def house_loss_btu_h_f_interval(self) -> tuple[float, float] | None:
        """Its interval."""

    @property
    def walls_loss_btu_h_f(self) -> float:
        """Loss of the modelled surfaces now, Btu/h·°F."""

    @property
    def walls_share(self) -> float | None:
        """Their share of the whole."""

    @property
    def billed_heating_fuel(self) -> float:
        """Heating use of a usual year by the bills: the house's `billed_heating_fuel`."""

    @property
    def heating_degree_days_f(self) -> float:
        """Degree-days of a usual year at the change point: the house's `heating_degree_days_f`."""

    @property
    def modelled_fuel_saved(self) -> float:
        """Fuel saved a year as the house file has it, not held to bills."""

    @property
    def fuel_saved(self) -> float | None:
        """Fuel saved a year with the degree-days and heating use of the bills.

        `None` where model and bills do not fit together.
        """

    @property
    def factor(self) -> float | None:
        """The one over the other; `None` where it would be blind scaling."""

    @property
    def findings(self) -> list[BillFinding]:
        """What was found."""

    def account(self, units: str = "ip") -> list[Block]:
        """The comparison in words.

        Args:
            units: `"ip"` or `"si"`.
        """

@final
class Proof:
    """Bills before and after the work, both brought to the same usual year.

    Use is in the fuel's unit; an interval is `None` where nothing was drawn. `str()` gives it in
    words.
    """

    @property
    def use_before(self) -> float:
        """Use of a usual year before."""

    @property
    def use_after(self) -> float:
        """Use of a usual year after."""

    @property
    def saved(self) -> float:
        """What it is less by, the change of the comparison group taken out."""

    @property
    def saved_interval(self) -> tuple[float, float] | None:
        """Its interval."""

    @property
    def saved_share(self) -> float:
        """The saving over the use before."""

    @property
    def saved_share_interval(self) -> tuple[float, float] | None:
        """Its interval."""

    @property
    def heating_saved(self) -> float | None:
        """What heating alone is less by; `None` for straight lines."""

    @property
    def promised(self) -> tuple[float, float, float] | None:
        """Low end, figure and high end of what was promised."""

    @property
    def realised(self) -> float | None:
        """The saving over the promised figure."""

    @property
    def realised_interval(self) -> tuple[float, float] | None:
        """Its interval."""

    @property
    def comparison_ratio(self) -> float | None:
        """Use after over use before in the comparison group."""

    @property
    def comparison_ratio_interval(self) -> tuple[float, float] | None:
        """Its interval."""

    @property
    def findings(self) -> list[BillFinding]:
        """What was found."""

    @property
    def sentence(self) -> str:
        """What it says to the owner, in plain words."""

    def saved_share_at(self, temperature_f: float) -> float:
        """Share by which the use of a day is less.

        Args:
            temperature_f: The mean temperature of the day, °F.
        """

    def account(self, units: str = "ip") -> list[Block]:
        """The proof in words.

        Args:
            units: `"ip"` or `"si"`, of temperatures.
        """

    def to_dict(self) -> dict[str, Any]:
        """The figures as plain objects."""

def calibrate(house: House, fit: BillFit) -> Calibration:
    """Lays the model of a house beside its bills.

    Args:
        house: The house.
        fit: Its bills, fitted with a usual year.

    Returns:
        What can be compared, and the factor where it is plausible.

    Raises:
        studbay.errors.InputError: Where the fuel is another, for a straight line, and for a fit
            without a usual year.
    """

def fit_bills(
    bills: ArrowTable | str | PathLike[str],
    weather: ArrowTable | str | PathLike[str],
    *,
    fuel: str,
    form: str = "heating",
    normal: ArrowTable | str | PathLike[str] | None = None,
    level: float = 0.9,
    resamples: int = 1000,
    seed: int = 1,
) -> BillFit:
    """Fits the bills of one meter over the weather.

    The base load, the slope and the temperature at which heating begins, by the degree-days of
    each period; the change point is the exact optimum, the intervals are a bootstrap of residuals
    that is the same for the same seed and house.

    Args:
        bills: A table or the path of one: `start`, `end` (the day of the next reading) and `use`;
            `unit` (as in therm, ccf, kWh), `estimated` (yes or no), `fuel` and `house_id` where
            wanted.
        weather: A table or the path of one: `date`, and the mean of the day, `mean_f` or `mean_c`.
        fuel: The fuel, as in `House`; of bills of several fuels, the one to fit.
        form: `"heating"`; `"heating_cooling"` where cooling is on the meter; `"straight"` for the
            heating season alone.
        normal: Weather of a usual year, or of several; the weather itself where left out.
        level: Confidence of the intervals.
        resamples: Of the bootstrap.
        seed: Where its random numbers begin.

    Returns:
        The fit.

    Raises:
        OSError: What the system says about a file.
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: With every fault of the readings, and where they are too few.
    """

def fit_means(
    table: ArrowTable | str | PathLike[str],
    *,
    fuel: str,
    form: str = "straight",
    normal: ArrowTable | str | PathLike[str] | None = None,
    level: float = 0.9,
    resamples: int = 1000,
    seed: int = 1,
) -> BillFit:
    """Fits uses of which only the mean outdoor temperature is known.

    Args:
        table: A table or the path of one: `use`, `mean_f` or `mean_c`, and `days`, else 1.
        fuel: The fuel, whose unit the use is in.
        form: `"straight"`, or `"heating"`, by degree-days as if all days of a period were alike.
        normal: Weather of a usual year: a table or a path, as for `fit_bills`.
        level: Confidence of the intervals.
        resamples: Of the bootstrap.
        seed: Where its random numbers begin.

    Returns:
        The fit.

    Raises:
        OSError: What the system says about a file.
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: With every fault of the rows, and where they are too few.
    """

def fit_meters(
    table: ArrowTable | str | PathLike[str],
    weather: ArrowTable | str | PathLike[str] | Mapping[str, ArrowTable | str | PathLike[str]],
    *,
    fuel: str | None = None,
    form: str = "heating",
    houses: ArrowTable | str | PathLike[str] | None = None,
    normal: ArrowTable
    | str
    | PathLike[str]
    | Mapping[str, ArrowTable | str | PathLike[str]]
    | None = None,
    level: float = 0.9,
    resamples: int = 200,
    seed: int = 1,
    threads: int | None = None,
) -> Table:
    """Fits many meters on all cores.

    Args:
        table: A long table or the path of one: `house_id`, `start`, `end` and `use`; `fuel`, `unit`
            and `estimated` where wanted.
        weather: As for `fit_bills`, for all of them; or several by name, a dict.
        fuel: The fuel of rows that name none.
        form: As for `fit_bills`.
        houses: What is known of houses, a table or a path: `house_id`, and `weather`, the name of
            its weather; a house that has none there has a fault.
        normal: As for `fit_bills`; a dict gives each weather its own.
        level: Confidence of the intervals.
        resamples: Of the bootstrap.
        seed: Where its random numbers begin; each house has its own.
        threads: How many threads; all cores when `None`. The results are the same.

    Returns:
        A row for each house and fuel, in the order of their first rows: the figures of `BillFit`,
        `verdict`, the codes of `findings`, and `faults`, why a meter could not be fitted, with the
        rows of the table.

    Raises:
        OSError: What the system says about a file.
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: For rows without a house or fuel, for houses without bills, for
            weather that has no such name, and for weather of less than a year without `normal`.
    """

def prove_meters(
    before: ArrowTable | str | PathLike[str],
    after: ArrowTable | str | PathLike[str],
    weather: ArrowTable | str | PathLike[str] | Mapping[str, ArrowTable | str | PathLike[str]],
    *,
    fuel: str | None = None,
    form: str = "heating",
    houses: ArrowTable | str | PathLike[str] | None = None,
    normal: ArrowTable
    | str
    | PathLike[str]
    | Mapping[str, ArrowTable | str | PathLike[str]]
    | None = None,
    level: float = 0.9,
    resamples: int = 200,
    seed: int = 1,
    threads: int | None = None,
) -> Table:
    """Proves what each of many houses saved, on all cores.

    Args:
        before: Bills before, a long table or a path, as for `fit_meters`.
        after: Bills after.
        weather: As for `fit_meters`; it must cover both.
        fuel: The fuel of rows that name none.
        form: As for `fit_bills`.
        houses: What is known of houses, a table or a path: `house_id`; `untreated`, yes for the
            houses of the comparison group, whose change is taken out of the others of their fuel;
            `promised_low`, `promised` and `promised_high`; `weather`, as for `fit_meters`.
        normal: As for `fit_meters`.
        level: Confidence of the intervals.
        resamples: Of the bootstrap.
        seed: Where its random numbers begin; each house has its own.
        threads: How many threads; all cores when `None`. The results are the same.

    Returns:
        A row for each house and fuel: the figures of `Proof` with their intervals, `verdict`, the
        codes of `findings`, and `faults`, why nothing could be proved: a house that has bills on
        one side only is one.

    Raises:
        OSError: What the system says about a file.
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: As for `fit_meters`, and for a comparison group without use.
    """

def prove_saving(
    before: BillFit,
    after: BillFit,
    *,
    promised: House | tuple[float, float, float] | None = None,
    comparison: Sequence[tuple[BillFit, BillFit]] | None = None,
    normal: ArrowTable | str | PathLike[str] | None = None,
) -> Proof:
    """Compares the bills before and after the work.

    Args:
        before: The fit of the bills before.
        after: The fit of the bills after.
        promised: Fuel saved a year that was promised: `(low, figure, high)`, or the `House` that
            the promise was modelled with.
        comparison: Fits before and after of houses that were not treated, in pairs: what changed
            for everyone is taken out.
        normal: Weather of the usual year for all of them; that of `before` where left out.

    Returns:
        The saving with its interval.

    Raises:
        studbay.errors.InputError: Where fuel, form or level differ, and without a usual year.
    """

@final
class Doubt:
    """What is not known exactly of a house, and what that does to its figures.

    Draws of everything that may be off, all together, each assessed as `House.assess` does.
    Figures are named as among the results: `fuel_saved`, `annual_savings`, `net_cost`,
    `simple_payback_years`, `npv`, `annual_co2e_kg`, `lifetime_co2e_kg`; and, worked out when they
    are first asked for, `discounted_payback_years`, `sir`, `irr`. Every figure is
    modelled, not measured; how much of the modelled saving is realised is among the inputs.

    It offers the draws, a row each, as an Arrow stream: `polars.DataFrame(doubt)`. It never
    changes and can be used from many threads.
    """

    @property
    def house_id(self) -> str:
        """Your own name for the house."""

    @property
    def draws(self) -> int:
        """How many draws there are."""

    @property
    def seed(self) -> int:
        """What the random bits began from."""

    @property
    def inputs(self) -> list[dict[str, Any]]:
        """What may be off, a dict each.

        `name` (of the field, its surface before it where there are several), `words`, `own`
        (whether the house gives the range itself), `distribution`, `unit`, `low`, `middle` and
        `high` in that unit, `moves_with`, `moves_against`, `advice`, `source`, `text`.
        """

    def point(self, figure: str) -> float | None:
        """The figure of the house as it stands; `None` where it does not exist.

        Args:
            figure: Its name.

        Raises:
            studbay.errors.InputError: For a name that no figure has.
        """

    def values(self, figure: str) -> list[float]:
        """The figure of every draw, in their order.

        Args:
            figure: Its name.

        Returns:
            A list; a payback that does not exist, or is not reached within the life, is infinite,
            beyond every number; a `sir` or `irr` that does not exist is NaN.

        Raises:
            studbay.errors.InputError: For a name that no figure has.
        """

    def share_without(self, figure: str) -> float:
        """The share of draws in which a figure does not exist.

        A payback where nothing is saved, a discounted payback that is not reached within the
        life, a `sir` where nothing is paid, an `irr` where nothing is paid or nothing is saved.

        Args:
            figure: Its name.

        Raises:
            studbay.errors.InputError: For a name that no figure has.
        """

    def drawn(self, name: str) -> list[float]:
        """What an input is in every draw, in inch-pound units, in the order of the draws.

        Args:
            name: The input's name, as in `inputs`.

        Raises:
            studbay.errors.InputError: For a name that no input has.
        """

    def quantile(self, figure: str, share: float) -> float | None:
        """The quantile of a figure, by linear interpolation (type 7, as numpy has it).

        Args:
            figure: Its name.
            share: From 0 to 1.

        Returns:
            The quantile; `None` where it lies beyond every number, as where there is no payback. Of
            `sir` and `irr` it is among the draws that have one: `share_without` says how many have
            none.

        Raises:
            studbay.errors.InputError: For a name that no figure has and a share outside 0 to 1.
        """

    def band(self, figure: str) -> tuple[float | None, float | None, float | None]:
        """P10, P50 and P90 of a figure, each as `quantile` has it.

        Args:
            figure: Its name.

        Raises:
            studbay.errors.InputError: For a name that no figure has.
        """

    def chance_of_payback_within(self, years: float) -> float:
        """The share of draws that pay back within so many years, not discounted.

        Args:
            years: 0 or more.

        Raises:
            studbay.errors.InputError: For years below 0.
        """

    @property
    def chance_of_no_payback(self) -> float:
        """The share of draws that never pay back, because nothing is saved."""

    @property
    def chance_of_gain(self) -> float:
        """The share of draws whose net present value is above 0."""

    def cash(self) -> list[dict[str, Any]]:
        """What has come back by the end of each year, the cost taken off.

        Returns:
            A dict for each year, 0 (the day of the work) to the end of the life: `year`,
            `point` (the house as it stands), `p10`, `p50`, `p90`, and the same discounted,
            under `discounted_`.
        """

    def shares(self, figure: str = "npv", *, base: int = 4096) -> Shares:
        """Which doubt matters most: the shares of all that may be off in the variance of a figure.

        Args:
            figure: Its name; the net present value always has a variance.
            base: Draws of each design, 2 to 100,000; with `d` inputs it takes `d + 2` times as
                many assessments.

        Raises:
            studbay.errors.InputError: For a name that no figure has, a `base` outside its
                range, and a figure that does not move or does not exist in some draw.
        """

    def account(self, units: Literal["ip", "si"] = "ip", currency: str = "$") -> list[Block]:
        """The doubt in words, as blocks: holds and checks first.

        Args:
            units: `"ip"` or `"si"`.
            currency: Label in front of amounts; nothing is converted.

        Raises:
            studbay.errors.InputError: For another word than `"ip"` or `"si"`.
        """

    def to_dict(self) -> dict[str, Any]:
        """The figures as plain objects.

        Returns:
            `house_id`, `modelled`, `draws`, `seed`, `figures` (for each `point`, `p10`, `p50`,
            `p90`, and `share_without` for those that a draw may lack), `chance_of_payback_within`
            (a dict from years to shares), `chance_of_no_payback`, `chance_of_gain`, `inputs`.
        """

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object: ...
    def __arrow_c_schema__(self) -> object: ...
    def __len__(self) -> int: ...
    def _repr_html_(self) -> str: ...

@final
class Shares:
    """The shares of all that may be off in the variance of a figure."""

    @property
    def figure(self) -> str:
        """The figure."""

    @property
    def sd(self) -> float:
        """The figure's standard deviation."""

    @property
    def shares(self) -> list[dict[str, Any]]:
        """A dict for each source of doubt, the largest in total first.

        `names` (several where inputs share their draws), `words`, `advice`, `first` (what would
        go, on average, if this alone were known exactly), `total` (what would stay if all else
        were known), both as shares of the variance, `first_error` and `total_error` (standard
        errors).
        """

    @property
    def evaluations(self) -> list[float]:
        """The figure of every evaluation, for other libraries to reckon with.

        For each base draw: the first design, then the first design with one input of the
        second, in the order of `columns`, then the second design.
        """

    @property
    def columns(self) -> list[int]:
        """Where each of `shares` stands among the inputs of `evaluations`, from 0."""

    @property
    def headline(self) -> str | None:
        """The largest share in a sentence, with what settles it."""

def doubt(house: House, *, draws: int = 10000, seed: int = 1, own_only: bool = False) -> Doubt:
    """Draws everything that may be off in a house, all together, and assesses every draw.

    What may be off: the house's own `ranges`, and for every other field its usual spread, among
    them how much of the modelled saving is realised. The same seed gives the same bits on every
    machine.

    Args:
        house: The house.
        draws: 1 to 1,000,000.
        seed: A whole number, 0 or more.
        own_only: Whether only the house's own ranges count.

    Returns:
        The draws, and what they come to.

    Raises:
        studbay.errors.InputError: For a number of draws outside its range.

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
        ...     ranges={"fuel_price": [1.1, 1.5, 2.4]},
        ... )
        >>> drawn = studbay.doubt(house, draws=2000)
        >>> low, middle, high = drawn.band("simple_payback_years")
        >>> low < middle < high
        True
    """

def swings(house: House) -> list[dict[str, Any]]:
    """What would change the payback most: each thing that may be off moved alone to either end.

    Args:
        house: The house.

    Returns:
        A dict for each, the widest swing first: what `Doubt.inputs` says of it, then `at_low`
        and `at_high`, the simple payback in years there, `None` for no payback.
    """

def score_ranges(
    table: ArrowTable,
    *,
    draws: int = 2000,
    seed: int = 1,
    within: float = 10.0,
    threads: int | None = None,
) -> Table:
    """Draws every house of a table: P10, P50 and P90 of each figure, row by row.

    A row gives the numbers that `studbay.doubt` gives for its house, to the bit, whatever the
    other rows and the threads. It is slow beside `studbay.score`: every row is assessed `draws`
    times.

    Args:
        table: A row for each house with one wall, as `studbay.score` takes it.
        draws: Of each row, 1 to 1,000,000.
        seed: A whole number, 0 or more.
        within: The years of the column `chance_of_payback`.
        threads: How many; all that the machine has where it is left out.

    Returns:
        A row for every row: `house_id` and your own columns, then `fuel_saved_p10`, `_p50`,
        `_p90` and so on for each figure, missing where it lies beyond every number (no
        payback), then `chance_of_payback`, `chance_of_no_payback`, `chance_of_gain`, and
        `faults` for a row that is no house.

    Raises:
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: For an argument outside its range and for what is no table.
    """

def score_ranges_file(
    path: str | PathLike[str],
    output: str | PathLike[str],
    *,
    draws: int = 2000,
    seed: int = 1,
    within: float = 10.0,
    force: bool = False,
) -> tuple[int, int]:
    """Draws every house of a file, as `score_ranges` does, and writes the bands as another.

    Args:
        path: CSV, packed or not, or Parquet by its ending; `-` is CSV on standard input.
        output: Where the bands go, by the same endings.
        draws: Of each row, 1 to 1,000,000.
        seed: A whole number, 0 or more.
        within: The years of the column `chance_of_payback`.
        force: Whether a file that is there already may be replaced.

    Returns:
        How many rows were read, and how many of them are no house.

    Raises:
        OSError: What the system says about a file; `FileExistsError` without `force`.
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: For an argument outside its range and a file that is not what
            its name says.
    """

@final
class HouseFile:
    """A house file with everything that was written down of a job, stage by stage.

    Survey, offer, job, as built, follow-up: the plain house file is a survey; what comes later
    stands in tables of its own. The text is kept to the letter, comments and unknown keys included;
    a change gives another file and touches no other line.

    `HouseFile.from_file`, `HouseFile.from_toml` and `HouseFile.from_json` read one.
    """

    @staticmethod
    def from_file(path: str | PathLike[str]) -> HouseFile:
        """Reads a house file.

        Args:
            path: A file that ends in `.toml` or `.json`.

        Returns:
            The file; only its syntax has been looked at.

        Raises:
            OSError: Where the file cannot be read.
            studbay.errors.HouseFileError: Where it is no house file: its ending, size, encoding or
                syntax.
        """

    @staticmethod
    def from_toml(text: str) -> HouseFile:
        """Reads a house file from TOML text.

        Args:
            text: What the file holds.

        Returns:
            The file; only its syntax has been looked at.

        Raises:
            studbay.errors.HouseFileError: With the line and column of what is no TOML.
        """

    @staticmethod
    def from_json(text: str) -> HouseFile:
        """Reads a house file from JSON text.

        Args:
            text: What the file holds.

        Returns:
            The file; only its syntax has been looked at.

        Raises:
            studbay.errors.HouseFileError: With the line and column of what is no JSON.
        """

    @property
    def text(self) -> str:
        """The text, to the letter."""

    @property
    def format(self) -> str:
        """`toml` or `json`."""

    @property
    def schema_version(self) -> int:
        """The version that the file says it has; 1 where it says nothing."""

    def stages(self) -> list[tuple[str, str | None]]:
        """Each stage that the file has, with its day as text, or None where it says no day.

        Returns:
            Pairs of stage and day, in the order of the stages.

        Raises:
            studbay.errors.InputError: Where a day is no day, or the days are out of order.
        """

    def with_value(self, key: str, value: object, *, stage: str | None = None) -> HouseFile:
        """The same file with one value changed or added.

        Args:
            key: Its name.
            value: A number, text, a date, true or false.
            stage: The stage in whose table it stands: survey, offer, job, as_built, follow_up; None
                for the head of the file.

        Returns:
            Another file; every other line is as it was.

        Raises:
            studbay.errors.InputError: Where the key is no plain word, or a list or table stands
                there.
        """

    def with_row(self, stage: str, rows: str, row: dict[str, object]) -> HouseFile:
        """The same file with a row added to a list of a stage, as in a box to `calibration`.

        Args:
            stage: The stage.
            rows: The name of the list.
            row: The row's values by name.

        Returns:
            Another file; every other line is as it was.

        Raises:
            studbay.errors.InputError: Where a key is no plain word, or something else than a list
                of tables stands there.
        """

    def upgraded(self) -> HouseFile:
        """The same file with the version of this library.

        Returns:
            Another file, one line longer where it had no version.

        Raises:
            studbay.errors.InputError: Where the file is newer than this library.
        """

    def changes(self, other: HouseFile) -> list[tuple[str, str | None, str | None]]:
        """Every value that differs.

        Args:
            other: The file to compare with.

        Returns:
            Path, value here and value there; None where there is none.
        """

    def save(self, path: str | PathLike[str]) -> None:
        """Writes the file whole or not at all.

        Args:
            path: A name with the ending of the file's format. A file that is there is replaced.

        Raises:
            OSError: What the system says.
            studbay.errors.HouseFileError: Where the ending is that of the other format.
        """

    def prove(self, *, confidence: float = 0.95) -> AsBuilt:
        """Puts the evidence in the place of the assumptions and assesses the house again.

        Args:
            confidence: Of the intervals, 0.5 to 0.999.

        Returns:
            Promised, as built and measured, and what was found.

        Raises:
            studbay.errors.InputError: With every fault: of the house, of the stages and their days,
                and of what cannot be, as in more bays scanned than there are.
        """

    def __eq__(self, other: object, /) -> bool: ...
    def __ne__(self, other: object, /) -> bool: ...

@final
class AsBuilt:
    """What the evidence of a job comes to.

    Promised, as built and measured; the density of the bags, the tally of the scan with its
    intervals, the charts of the machine, what missed bays cost, and what was found. Savings and
    paybacks are modelled, but for the fuel that the bills say was saved.
    """

    @property
    def house_id(self) -> str:
        """Your own name for the house."""

    @property
    def weight(self) -> str:
        """`hold` (do not work until the machine is adjusted), `check` (look) or `note`."""

    @property
    def codes(self) -> list[str]:
        """The codes of what was found, the gravest first."""

    def to_dict(self, units: str = "ip") -> dict[str, Any]:
        """Everything in it as lists and dicts.

        Args:
            units: `"ip"` or `"si"`, for the figures of the assessments; what has its unit in its
                name keeps it.

        Returns:
            A new dict.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

    def account(self, units: str = "ip", currency: str = "$") -> list[Block]:
        """The evidence in words, for a person to read.

        Args:
            units: `"ip"` or `"si"`.
            currency: The sign of the user's money.

        Returns:
            Blocks to print one after the other, a hold first.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

    def receipt(self, units: str = "ip") -> dict[str, Any] | None:
        """What a receipt for loose-fill insulation has to say by 16 CFR 460.17, part by part.

        Check the current rule before it is handed over.

        Args:
            units: `"ip"` or `"si"`.

        Returns:
            A new dict, with what is still missing; None before the work.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

    def receipt_account(self, units: str = "ip") -> list[Block] | None:
        """The receipt's entries as blocks, with lines for date and signature.

        Args:
            units: `"ip"` or `"si"`.

        Returns:
            Blocks to print one after the other; None before the work.

        Raises:
            studbay.errors.InputError: For any other word for `units`.
        """

@final
class JobsReview:
    """Many jobs with their evidence: which lie outside the limits of density or coverage.

    `str()` of its CSV is in `csv`; `account()` tells it.
    """

    @property
    def csv(self) -> str:
        """The jobs outside the limits, then those not shown to be within, as CSV."""

    @property
    def rejected(self) -> int:
        """Rows that are no jobs."""

    def to_dict(self) -> dict[str, Any]:
        """Everything in it as lists and dicts: jobs, rejects, crews, machines, charts.

        Returns:
            A new dict.
        """

    def account(self, *, rows: int = 25) -> list[Block]:
        """The review in words.

        Args:
            rows: Jobs that are told one by one, at most.

        Returns:
            Blocks to print one after the other, a machine that must not work first.
        """

def review_jobs(path: str | PathLike[str], *, confidence: float = 0.95) -> JobsReview:
    """Reads a CSV file of jobs, a row each, and lists those outside the limits.

    A row has the fields of a house with one wall, and what was counted.
    The columns of evidence are crew, machine, work_date, bags_used, bags_delivered, bays,
    bays_scanned, cold_before, cold_after, inside_f, outside_f, wind_mph, sun_free_hours, box_date,
    box_volume_ft3, box_mass_lb, box_setting and others: see docs/EVIDENCE.md. Other columns are
    passed over.

    Args:
        path: The file.
        confidence: Of the intervals, 0.5 to 0.999.

    Returns:
        The jobs outside the limits, by crew and machine. A row that is no job is rejected with
        every fault.

    Raises:
        OSError: What the system says about the file.
        studbay.errors.SchemaError: With every fault of the columns.
    """

def share_interval(
    found: int, seen: int, *, confidence: float = 0.95, method: str = "wilson"
) -> tuple[float, float]:
    """How sure a counted share is.

    Args:
        found: How many were found.
        seen: How many were looked at.
        confidence: 0.5 to 0.999.
        method: `"wilson"` (score interval) or `"exact"` (Clopper and Pearson).

    Returns:
        The ends of the interval, shares from 0 to 1.

    Raises:
        studbay.errors.InputError: Where more were found than seen, and the like.
    """

def finite_interval(
    found: int, seen: int, total: int, *, confidence: float = 0.95
) -> tuple[int, int]:
    """How many of all may be such, where some were drawn without putting back: the exact interval.

    Args:
        found: How many were found.
        seen: How many were looked at.
        total: How many there are.
        confidence: 0.5 to 0.999.

    Returns:
        The least and the greatest number of all.

    Raises:
        studbay.errors.InputError: Where more were seen than there are, and the like.
    """

def control_chart(values: Sequence[float], *, baseline: int | None = None) -> dict[str, Any]:
    """The chart for single values and their moving range.

    Args:
        values: Finite numbers in the order in which they were taken.
        baseline: How many of the first values the limits come from; None for all.

    Returns:
        `values`, `ranges`, `limits` (None for fewer than two values) and `signals`: place and one
        of outside, jump, one_side, trend.

    Raises:
        studbay.errors.InputError: Where a value is not finite.
    """

def report(
    house: House,
    *,
    units: str = "ip",
    currency: str = "$",
    language: str = "en",
    words: dict[str, str] | None = None,
    templates: dict[str, str] | None = None,
    date: str | None = None,
    live: bool = True,
) -> str:
    """The report of a house as one page of HTML that stands alone.

    The page needs no network and holds no script but its own. With `live` it has sliders; its
    figures then come from this very library, compiled to WebAssembly and carried in the page.
    Without JavaScript it is the same page, standing still.

    Args:
        house: The house.
        units: `"ip"` or `"si"`.
        currency: Label in front of amounts, at most 12 characters; nothing is converted.
        language: `"en"` or `"es"`.
        words: Texts that take the place of the language's own, by name.
        templates: Templates of your own for `page.html`, `letterhead.html`, `page.css`, by name.
            They are trusted; what they show of a house is escaped.
        date: The day as it is to be written on the page; left out where None.
        live: Whether the page has sliders.

    Returns:
        The page.

    Raises:
        studbay.errors.InputError: For an option that gives no page.
    """

def write_reports(
    houses: list[House],
    folder: str | PathLike[str],
    *,
    units: str = "ip",
    currency: str = "$",
    language: str = "en",
    words: dict[str, str] | None = None,
    templates: dict[str, str] | None = None,
    date: str | None = None,
    force: bool = False,
) -> list[str]:
    """A page for each of many houses, into a new folder or zip, without sliders: each is small.

    Args:
        houses: The houses.
        folder: A folder that is not there yet; a zip where the name ends in `.zip`. It stands under
            its name only when all pages are in it.
        units: `"ip"` or `"si"`.
        currency: Label in front of amounts, at most 12 characters; nothing is converted.
        language: `"en"` or `"es"`.
        words: As for `report`.
        templates: As for `report`.
        date: As for `report`.
        force: Whether what is there already is replaced: a zip, or a folder that holds nothing but
            such pages.

    Returns:
        The names of the files, in the order of the houses.

    Raises:
        OSError: What the system says of the folder; `FileExistsError` where it is there.
        studbay.errors.InputError: For an option that gives no page.
    """

def _house_json(house: House) -> str:
    """The house as the text of a JSON house file: what was given, in inch-pound units, to the bit.

    Args:
        house: The house.

    Returns:
        JSON that `House.from_json` reads to a house with the same figures.
    """

def _page_shows(house: House, at: str, units: str, currency: str, language: str) -> str:
    """What a page shows with its sliders at these stops, as JSON.

    The native twin of the core in the page, for tests.
    """

def report_portfolio(
    table: ArrowTable,
    *,
    by: str | None = None,
    rejects: ArrowTable | None = None,
    budget: float | None = None,
    rank: str = "sir",
    name: str = "",
    currency: str = "$",
    language: str = "en",
    words: dict[str, str] | None = None,
    templates: dict[str, str] | None = None,
    date: str | None = None,
) -> str:
    """Many scored houses as one page of HTML that stands alone.

    What `summarize` and `select` give, and how payback, saving, cost and carbon are spread over
    the houses. The page has no script and holds sums, counts and the first fifty houses of a
    list, so that it stays small whatever the number of houses.

    Args:
        table: What `score` gives, or anything that offers the Arrow PyCapsule stream and has the
            columns of the results, your own columns beside them.
        by: A column of the table to group by; the first hundred groups are shown.
        rejects: Rows that could not be scored, as for `summarize`.
        budget: What may be spent, after rebates and tax credits: then the page says which houses
            to treat first, as `select` does.
        rank: `"sir"` or `"cost_per_tonne"`, as for `select`.
        name: What the list is called.
        currency: Label in front of amounts, at most 12 characters; nothing is converted.
        language: `"en"` or `"es"`.
        words: Texts that take the place of the language's own, by name.
        templates: Templates of your own for `portfolio.html`, `letterhead.html`, `page.css`,
            `portfolio.css`, by name. They are trusted; what they show of a list is escaped.
        date: The day as it is to be written on the page; left out where None.

    Returns:
        The page.

    Raises:
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: For an option that gives no page, and for what is no table.
    """

def report_portfolio_file(
    path: str | PathLike[str],
    *,
    by: str | None = None,
    rejects: str | PathLike[str] | None = None,
    budget: float | None = None,
    rank: str = "sir",
    name: str | None = None,
    currency: str = "$",
    language: str = "en",
    words: dict[str, str] | None = None,
    templates: dict[str, str] | None = None,
    date: str | None = None,
) -> str:
    """A scored file as one page, as `report_portfolio` makes it of a table.

    Args:
        path: CSV, packed or not, or Parquet by its ending; `-` is CSV on standard input.
        by: A column of the file to group by; the first hundred groups are shown.
        rejects: The file of the rows that could not be scored. Without it, the file that stands
            beside under the name that the command line gives it, if there is one.
        budget: What may be spent, after rebates and tax credits.
        rank: `"sir"` or `"cost_per_tonne"`.
        name: What the list is called; the name of the file where None.
        currency: Label in front of amounts, at most 12 characters; nothing is converted.
        language: `"en"` or `"es"`.
        words: As for `report_portfolio`.
        templates: As for `report_portfolio`.
        date: The day as it is to be written on the page; left out where None.

    Returns:
        The page.

    Raises:
        OSError: What the system says about a file.
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: For an option that gives no page, and for a file that is not what
            its name says.
    """

def write_reports_file(
    path: str | PathLike[str],
    folder: str | PathLike[str],
    *,
    units: str = "ip",
    currency: str = "$",
    language: str = "en",
    words: dict[str, str] | None = None,
    templates: dict[str, str] | None = None,
    date: str | None = None,
    force: bool = False,
) -> tuple[list[str], list[tuple[int, str]]]:
    """A page for each row of a file of houses, into a new folder or zip.

    A row is a house with one wall, its columns the fields, as for `score_file`; other columns do no
    harm. A row that is no house is told, and kept as it was in `rejects.csv` beside the pages.

    Args:
        path: CSV, packed or not, or Parquet by its ending; `-` is CSV on standard input.
        folder: As for `write_reports`.
        units: `"ip"` or `"si"`.
        currency: Label in front of amounts, at most 12 characters; nothing is converted.
        language: `"en"` or `"es"`.
        words: As for `report`.
        templates: As for `report`.
        date: As for `report`.
        force: As for `write_reports`.

    Returns:
        The names of the pages in the order of the rows; and the rejects, row (from 1) and faults of
        each.

    Raises:
        OSError: What the system says of file or folder; `FileExistsError` where it is there.
        studbay.errors.SchemaError: With every fault of the columns.
        studbay.errors.InputError: For an option that gives no page, and for a file that is not what
            its name says.
    """
