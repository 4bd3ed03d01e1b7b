"""The compiled part of studbay.

Signatures here are kept by hand. Docstrings and the results of `Assessment` are written by
tests/generate/make_stubs.py, from the module itself.
"""

from collections.abc import Callable, Iterable, Iterator
from os import PathLike
from pathlib import Path
from typing import Any, Final, Literal, SupportsFloat, SupportsIndex, Unpack, final, overload

from studbay.typing import ArrowTable, HouseFields

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

    def to_polars(self) -> Any:
        """As a polars DataFrame. Needs polars."""

    def to_pandas(self) -> Any:
        """As a pandas DataFrame. Needs pandas 3 or later and pyarrow."""

    def to_arrow(self) -> Any:
        """As a pyarrow Table. Needs pyarrow."""

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
) -> list[str]:
    """A page for each of many houses, into a new folder: without sliders, so that each is small.

    Args:
        houses: The houses.
        folder: A folder that is not there yet. It stands under its name only when all pages are
            in it.
        units: `"ip"` or `"si"`.
        currency: Label in front of amounts, at most 12 characters; nothing is converted.
        language: `"en"` or `"es"`.
        words: As for `report`.
        templates: As for `report`.
        date: As for `report`.

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
