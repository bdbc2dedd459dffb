"""The table of rows as Parquet, made from the finished CSV piece by piece: the same numbers, columns with units."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

from cases.errors import OutputError
from cases.files import write_whole
from cases.study.names import NUMBER, REMARK, STATUS, input_columns, output_columns
from cases.study.studyfile import Study

NAME = "rows.parquet"
PIECE = 4 * 2**20
"""Bytes of CSV that are read at a time; memory does not grow with the table."""
UNITS = {"n": "N", "nmm": "N mm", "deg": "deg", "mpa": "MPa", "share": ""}


def write_parquet(study: Study, table: Path) -> Path:
    """``rows.parquet`` beside the finished ``rows.csv``, whole or not at all.  Raises OutputError."""
    try:
        (path,) = write_whole(table.parent, {NAME: partial(_convert, study, table)})
    except OSError as error:
        raise OutputError(
            f"{table.with_name(NAME)} cannot be written: {error.strerror or error}; the rows stand in {table.name}: "
            "make room, and give the same command again"
        ) from error
    return path


def _convert(study: Study, table: Path, path: Path) -> Path:
    import pyarrow as pa
    from pyarrow import csv, parquet

    schema = _schema(study)
    convert = csv.ConvertOptions(
        column_types={name: schema.field(name).type for name in schema.names},
        strings_can_be_null=False,
        null_values=[""],
    )
    with (
        csv.open_csv(table, csv.ReadOptions(block_size=PIECE), convert_options=convert) as pieces,
        parquet.ParquetWriter(path, schema) as writer,
    ):
        for piece in pieces:
            writer.write_table(pa.Table.from_batches([piece]).cast(schema))
    return path


def _schema(study: Study) -> Any:
    """The columns with their types and units."""
    import pyarrow as pa

    fields = [pa.field(NUMBER, pa.int64())]
    for name, one in zip(input_columns(study.base, study.varied), study.varied, strict=True):
        values = one.values if one.distribution is None else one.distribution.values
        kind = pa.string()
        if values and all(isinstance(value, bool) for value in values):
            kind = pa.bool_()
        elif one.numeric:
            kind = pa.float64()
        fields.append(_field(name, kind, one.unit.name or ""))
    fields.append(pa.field(STATUS, pa.string()))
    for name in output_columns(study.base):
        fields.append(_field(name, pa.float64(), UNITS[name.rsplit("_", 1)[1]]))
    return pa.schema([*fields, pa.field(REMARK, pa.string())], {"title": study.title})


def _field(name: str, kind: Any, unit: str) -> Any:
    import pyarrow as pa

    return pa.field(name, kind, metadata={"unit": unit} if unit else None)
