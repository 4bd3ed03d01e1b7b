"""The same score on Apache Spark, in the executors, partition by partition.

Needs PySpark 4 or later on the driver, and studbay and pyarrow wherever Python workers run.
docs/SPARK.md has the recipe.

Examples:
    >>> import studbay.spark  # doctest: +SKIP
    >>> scored = studbay.spark.score(houses)  # doctest: +SKIP
    >>> scored.where("faults is not null").show()  # doctest: +SKIP
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import studbay

if TYPE_CHECKING:
    import pyarrow
    from pyspark.sql import DataFrame
    from pyspark.sql.types import StructType

__all__ = ["score"]

#: Text in the types that Spark's Arrow does not take.
_VIEWS = ("string_view", "binary_view")


def score(df: DataFrame, units: str = "ip") -> DataFrame:
    """Scores a Spark DataFrame of houses, lazily and in the executors.

    The columns are read and the results named as by `studbay.score`, with the same bits; your own
    columns keep their Spark types. Rows stay where they are: their order is that of the
    partitions, and a row that cannot be scored has nulls and says why in `faults`.

    Args:
        df: A row a house; a column `surfaces`, an array of structs, for houses with several.
        units: Of the results, `"ip"` or `"si"`.

    Returns:
        The house's name, your own columns, every result, `faults`.

    Raises:
        studbay.errors.SchemaError: At once, with every fault of the columns.
        studbay.errors.InputError: For any other word for `units`.
    """
    import pyarrow

    # No row is read: only the types are asked for.
    scored = pyarrow.table(studbay.score(df.limit(0).toArrow(), units=units))
    schema = _spark_schema(df.schema, scored.schema)
    wanted = _arrow_schema(scored.schema)

    def run(batches: Iterator[Any]) -> Iterator[Any]:
        for batch in batches:
            # Spark gives each task a core: one thread.
            rows = pyarrow.table(studbay.score(batch, units=units, threads=1))
            yield from rows.cast(wanted).to_batches()

    return df.mapInArrow(run, schema)


def _arrow_schema(scored: pyarrow.Schema) -> pyarrow.Schema:
    """The scored columns in types that Spark takes: plain strings."""
    import pyarrow

    def plain(field: Any) -> Any:
        kind = field.type
        if pyarrow.types.is_dictionary(kind):
            kind = kind.value_type
        return field.with_type(pyarrow.string() if str(kind) in _VIEWS else kind)

    return pyarrow.schema([plain(field) for field in scored])


def _spark_schema(given: StructType, scored: pyarrow.Schema) -> StructType:
    """The user's own columns as they were, then the results."""
    from pyspark.sql.types import DoubleType, LongType, StringType, StructField, StructType

    results = len(studbay.results()) + 1
    own = list(given.fields)
    fields = []
    for name in scored.names[:-results]:
        place = next(place for place, field in enumerate(own) if field.name == name)
        fields.append(own.pop(place))
    kinds = {"double": DoubleType(), "int64": LongType()}
    for field in list(scored)[-results:]:
        fields.append(StructField(field.name, kinds.get(str(field.type), StringType())))
    return StructType(fields)
