"""Rows gathered into one JSON value, and a list read as rows, as each database says it."""

from typing import Any

from sqlalchemy import JSON, Integer, bindparam, column
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.compiler import SQLCompiler
from sqlalchemy.sql.functions import GenericFunction
from sqlalchemy.sql.selectable import TableValuedAlias


class ObjectOf(GenericFunction[Any]):
    """A key and a value of each row, as one object; where there is no row, {} or None."""

    type = JSON()
    inherit_cache = True


class ListOf(GenericFunction[Any]):
    """A value of each row, as one list; where there is no row, [] or None."""

    type = JSON()
    inherit_cache = True


class EachOf(GenericFunction[Any]):
    """Each number of a list, as rows."""

    inherit_cache = True


def numbers_given(parameter: str) -> TableValuedAlias:
    """The numbers of a list that is given by that name, as rows ``asked`` of one ``value``."""
    given = bindparam(parameter, type_=JSON)
    return EachOf(given).table_valued(column("value", Integer), name="asked")


_SAID: tuple[tuple[type[GenericFunction[Any]], str, str], ...] = (
    (ObjectOf, "json_group_object(%s)", "json_object_agg(%s)"),
    (ListOf, "json_group_array(%s)", "json_agg(%s)"),
    (
        EachOf,
        "json_each(%s)",
        "(SELECT value::integer AS value FROM json_array_elements_text(%s))",
    ),
)


def _say(kind: type[GenericFunction[Any]], database: str, form: str) -> None:
    @compiles(kind, database)
    def _said(element: GenericFunction[Any], compiler: SQLCompiler, **words: Any) -> str:
        return form % compiler.process(element.clause_expr.element, **words)


for _kind, _sqlite, _postgresql in _SAID:
    _say(_kind, "sqlite", _sqlite)
    _say(_kind, "postgresql", _postgresql)
