"""Data sets on disk, a block of rows at a time: Parquet, Arrow and CSV, in and out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import Any

from clauseway.survey.block import BLOCK, at_once
from clauseway.survey.columns import Column, Columns
from clauseway.text.nearest import nearest
from clauseway.text.problems import ClausewayError, Place, Problem

KINDS = (".parquet", ".arrow", ".feather", ".csv")


Groups = tuple[int, ...]


@dataclass(frozen=True)
class DataSet:
    """A table of rows. `rows` is how many it has, where the file says so without being read."""

    path: Path
    names: tuple[str, ...]
    rows: int | None

    def parts(self) -> list[tuple[Groups, int]]:
        """The parts that may be read apart, as row groups with the number of the first row; none for other files."""
        return parts_of(self.path) if self.path.suffix == ".parquet" else []

    def batches(self, names: Sequence[str], groups: Groups | None = None) -> Iterator[Any]:
        """Record batches of at most `BLOCK` rows with the named columns, of all the table or of a part.

        Raises:
            ClausewayError: when the file turns out to be no such table.
        """
        import pyarrow as pa

        try:
            rows = at_once(len(names))
            wanted = list(names)
            read = (
                _batches(self.path, wanted, rows)
                if groups is None
                else parquet_batches(self.path, wanted, rows, groups)
            )
            for batch in read:
                for start in range(0, batch.num_rows, rows):
                    yield batch.slice(start, rows)
                del batch
        except (pa.ArrowException, OSError) as error:
            raise _unreadable(self.path, error) from None


def open_data(path: Path) -> DataSet:
    """A data set by its file; what kind it is, the name's ending says.

    Raises:
        ClausewayError: for a file that cannot be read, or another kind of file.
    """
    if path.suffix not in KINDS:
        expected = "a name that ends in .parquet, .arrow, .feather or .csv"
        raise ClausewayError(Problem(Place(str(path)), "no table", expected, nearest(path.suffix, KINDS) or ""))
    try:
        import pyarrow as pa
        import pyarrow.csv
        import pyarrow.parquet
    except ImportError:
        raise ClausewayError(
            Problem(Place(str(path)), "a survey needs NumPy and PyArrow", "pip install 'clauseway[survey]'")
        ) from None
    try:
        if path.suffix == ".parquet":
            with pyarrow.parquet.ParquetFile(path) as file:
                names, rows = file.schema_arrow.names, file.metadata.num_rows
        elif path.suffix == ".csv":
            with pyarrow.csv.open_csv(path) as reader:
                names, rows = reader.schema.names, None
        else:
            with pa.memory_map(str(path)) as source:
                names, rows = pa.ipc.open_file(source).schema.names, None
    except (pa.ArrowException, OSError) as error:
        raise _unreadable(path, error) from None
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ClausewayError(Problem(Place(str(path)), f"two columns called {twice[0]}", "each name once"))
    return DataSet(path, tuple(names), rows)


def _unreadable(path: Path, error: Exception) -> ClausewayError:
    said = str(error).partition("\n")[0]
    return ClausewayError(Problem(Place(str(path)), f"this cannot be read: {said}", "a table"))


def _batches(path: Path, names: list[str], rows: int) -> Iterator[Any]:
    import pyarrow as pa
    import pyarrow.csv
    import pyarrow.parquet

    if path.suffix == ".parquet":
        yield from parquet_batches(path, names, rows)
    elif path.suffix == ".csv":
        options = pyarrow.csv.ConvertOptions(
            include_columns=names, column_types=dict.fromkeys(names, pa.string()), strings_can_be_null=True
        )
        with pyarrow.csv.open_csv(path, convert_options=options) as reader:
            yield from reader
    else:
        with pa.memory_map(str(path)) as source:
            reader = pa.ipc.open_file(source)
            for number in range(reader.num_record_batches):
                yield reader.get_batch(number).select(names)


def prepared(columns: Columns, batch: Any) -> dict[str, Any]:
    """The columns of a batch as `Columns.block` takes them: numbers as Arrow's widest, others by distinct values.

    Raises:
        ClausewayError: for text where numbers are due, and for numbers of which nobody says the unit.
    """
    schema = batch.schema
    known, ways = columns.ways
    if known is None or not known.equals(schema):
        ways = [
            (name, schema.get_field_index(name), _way(column, batch.column(name).type))
            for name, column in columns.by_name.items()
        ]
        columns.ways = schema, ways
    arrays = batch.columns
    return {name: arrays[at] if way is None else way(arrays[at]) for name, at, way in ways}


def _way(column: Column, kind: Any) -> Callable[[Any], Any] | None:
    """What has to be done with an Arrow array of a column, by its type; none for nothing."""
    import pyarrow as pa

    is_coded = pa.types.is_dictionary(kind)
    kind = kind.value_type if is_coded else kind
    if column.scale is not None:
        if pa.types.is_boolean(kind):
            found, expected = "true or false among numbers", "numbers, or no unit in the column's name"
            raise ClausewayError(Problem(Place(f"column {column.name}"), found, expected))
        is_text = pa.types.is_string(kind) or pa.types.is_large_string(kind)
        is_ready = pa.types.is_float64(kind) or pa.types.is_int64(kind)
        return None if is_ready and not is_coded else partial(_as_numbers, column.name, is_coded, is_text, is_ready)
    if column.fact.sort == "quantity" and (pa.types.is_floating(kind) or pa.types.is_integer(kind)):
        expected = f"the unit in its name, such as {column.name} [unit], or in each value"
        raise ClausewayError(Problem(Place(f"column {column.name}"), "numbers without a unit", expected))
    if pa.types.is_list(kind) or pa.types.is_large_list(kind) or pa.types.is_fixed_size_list(kind):
        return _listed
    if pa.types.is_boolean(kind) and not is_coded:
        return None
    if pa.types.is_date(kind):
        return _dated
    return None if is_coded else partial(_coded, column.name)


def _as_numbers(name: str, is_coded: bool, is_text: bool, is_ready: bool, values: Any) -> Any:
    import pyarrow as pa
    import pyarrow.compute as pc

    values = values.dictionary_decode() if is_coded else values
    if is_text:
        values = pc.if_else(pc.equal(values, ""), None, values)
    try:
        return values if is_ready else values.cast(pa.float64())
    except pa.ArrowException:
        expected = "numbers, or no unit in the column's name and one in each value"
        raise ClausewayError(Problem(Place(f"column {name}"), "text among numbers", expected)) from None


def _listed(values: Any) -> Any:
    return values.to_pylist()


def _dated(values: Any) -> Any:
    import pyarrow as pa

    return values.cast(pa.string()).dictionary_encode()


def _coded(name: str, values: Any) -> Any:
    import pyarrow as pa

    try:
        return values.dictionary_encode()
    except pa.ArrowException:
        found, expected = f"values of the type {values.type}", "texts, numbers, true or false, dates, or lists of texts"
        raise ClausewayError(Problem(Place(f"column {name}"), found, expected)) from None


def parts_of(path: Path) -> list[tuple[Groups, int]]:
    """Row groups that make up about a block each, with the number of the first row."""
    import pyarrow.parquet

    found: list[tuple[Groups, int]] = []
    with pyarrow.parquet.ParquetFile(path) as file:
        sizes = [file.metadata.row_group(number).num_rows for number in range(file.metadata.num_row_groups)]
    groups: list[int] = []
    first = rows = 0
    for number, size in enumerate(sizes):
        groups.append(number)
        rows += size
        if rows >= BLOCK or number == len(sizes) - 1:
            found.append((tuple(groups), first))
            first, rows, groups = first + rows, 0, []
    return found


def parquet_batches(path: Path, names: list[str], rows: int, groups: Sequence[int] | None = None) -> Iterator[Any]:
    """Record batches of a Parquet file, or of some of its row groups; texts by their distinct values."""
    import pyarrow as pa
    import pyarrow.parquet

    with pyarrow.parquet.ParquetFile(path) as file:
        texts = [f.name for f in file.schema_arrow if f.name in names and pa.types.is_string(f.type)]
    with pyarrow.parquet.ParquetFile(path, read_dictionary=texts, pre_buffer=False) as file:
        # Who reads parts has several processes.
        yield from file.iter_batches(rows, columns=names, row_groups=groups, use_threads=groups is None)


class Output:
    """A new table, written block by block; its columns are those of the first block, and without any it is empty."""

    def __init__(self, path: Path) -> None:
        if path.suffix not in (".parquet", ".csv"):
            raise ClausewayError(Problem(Place(str(path)), "no table", "a new name that ends in .parquet or .csv"))
        if path.exists():
            raise ClausewayError(
                Problem(Place(str(path)), "this file exists already", "a new name; nothing is overwritten")
            )
        self.path = path
        self._writer: Any = None

    def __enter__(self) -> Output:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._writer is None and kind is None:
            import pyarrow as pa

            self.write(pa.table({"row": pa.array([], pa.int64())}))
        if self._writer is not None:
            self._writer.close()
        if kind is not None:
            self.path.unlink(missing_ok=True)

    def write(self, table: Any) -> None:
        """Add rows, as an Arrow table.

        Raises:
            ClausewayError: when they cannot be written.
        """
        import pyarrow as pa
        import pyarrow.csv
        import pyarrow.parquet

        try:
            if self._writer is None:
                writer = pyarrow.csv.CSVWriter if self.path.suffix == ".csv" else pyarrow.parquet.ParquetWriter
                self._writer = writer(str(self.path), table.schema)
            self._writer.write_table(table)
        except (pa.ArrowException, OSError) as error:
            raise ClausewayError(Problem(Place(str(self.path)), f"this cannot be written: {error}")) from None
