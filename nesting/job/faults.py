"""All faults of a job file at once, each with its line, what is written and what would be right."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from nesting.errors import Fault, JobError
from nesting.job.fields import Context, near, nothing
from nesting.job.outline import MOST_FAULTS, Cell, Row, Spot, Table, Text, Value, short, where

Path = Sequence[str | int]
Order = tuple[str, str, int, int]
Model = TypeVar("Model", bound=BaseModel)
# Lists that may stand in a spreadsheet.
SPREADSHEETS = ("stock", "openings", "parts")
# How one entry of a list or table is called.
ENTRIES = {"materials": "material", "openings": "opening", "parts": "part"}


class Faults:
    """Collects the faults of one file.

    Parameters
    ----------
    name : str
        The file, as faults name it.
    top : Table
        What it holds.
    found : list of Fault
        Those found already.
    """

    def __init__(self, name: str, top: Table, found: Sequence[Fault]) -> None:
        self.name = name
        self.top = top
        self.found: dict[Fault, Order] = {
            fault: _order(int(fault.where.rpartition(":")[2])) for fault in found
        }
        self.more = 0
        self.unread = False  # a spreadsheet's list is missing, so nothing is said of what is not there

    def add(self, path: Path, right: str, at: Any = None) -> None:
        """Report what stands at a path, or the key that is missing there; ``at`` if it is known."""
        value, known = locate(self.top, path)
        if isinstance(value, Text):
            path = path[:known]
        if not isinstance(at, Text):
            at = value if known == len(path) or isinstance(value, Row) else ""
        self.report(getattr(at, "line", value.line), words(self.top, path), str(at), right)

    def report(self, spot: Spot, what: str, written: str, right: str) -> None:
        """Report what is wrong at a place, in the job file or in a spreadsheet."""
        if len(self.found) < MOST_FAULTS:
            self.found[Fault(where(self.name, spot), what, short(written), right)] = _order(spot)
        else:
            self.more += 1

    def read(self, model: type[Model], path: Path, context: Context) -> Model | None:
        """Validate what stands at a path; None where it has faults, which are kept."""
        value, _ = locate(self.top, path)
        try:
            return model.model_validate(value, context=context)
        except ValidationError as error:
            details = error.errors(include_url=False)
            for item in details[:MOST_FAULTS]:
                self._translate(model, path, item)
            self.more += len(details[MOST_FAULTS:])
            return None

    def _translate(self, model: type[BaseModel], path: Path, item: ErrorDetails) -> None:
        spot = [*path, *(key for key in item["loc"] if key != "[key]")]
        if item["type"] == "extra_forbidden":
            self._unknown(model, path, item["loc"])
        elif item["type"] == "missing":
            if not (self.unread and spot[-1] == "wall"):  # it may stand in the spreadsheet
                self.add(spot, f"is missing ({_description(model, item['loc'])})")
        else:
            self.add(spot, _right(item, model), item["input"])

    def _unknown(self, model: type[BaseModel], path: Path, loc: Path) -> None:
        table, _ = locate(self.top, [*path, *loc[:-1]])
        key = next(key for key in table if key == loc[-1])
        inner = _model_at(model, loc[:-1])
        right = f"is no key here{near(key, inner.model_fields if inner else {})}"
        if ":" in key:
            right = "needs a space after the colon, between the key and its value"
        elif table[key] == "":
            right += "; what has a comma in it needs quotes, and decimals have a point"
        self.report(key.line, f"a key of {words(self.top, [*path, *loc[:-1]])}", key, right)

    def stop(self) -> None:
        """Raise what was found, in the order of the lines.

        Raises
        ------
        JobError
            If there is any fault.
        """
        if not self.found:
            return
        faults = sorted(self.found, key=self.found.__getitem__)
        if self.more:
            faults.append(Fault(self.name, "the job", "", f"has {self.more} more faults"))
        raise JobError(faults)


def _order(spot: Spot) -> Order:
    """The job file's faults come first, then those of each spreadsheet from above."""
    if isinstance(spot, Cell):
        return spot.file, spot.sheet, spot.row, spot.column
    return "", "", spot, 0


def locate(top: Value, path: Path) -> tuple[Any, int]:
    """The value at a path, or the deepest one on the way, and how many of its steps exist."""
    value: Any = top
    for known, key in enumerate(path):
        inside = isinstance(value, Table) and key in value
        inside |= isinstance(value, Row) and isinstance(key, int) and key < len(value)
        if not inside:
            return value, known
        value = value[key]
    return value, len(path)


def words(top: Table, path: Path) -> str:
    """Name the thing at a path: ``stock 2 (birch 4x8), length``."""
    if not path:
        return "the job"
    text, rest = str(path[0]), path[1:]
    if rest and text in ("materials", "stock", "openings", "parts"):
        text = f"{ENTRIES.get(text, text)} {_count(path[1])}"
        name, known = locate(top, [*path[:2], "name"])
        if known == 3 and isinstance(name, Text) and name:
            text += f" ({short(name)})"
        rest = path[2:]
    for key in rest:
        text += f" {_count(key)}" if isinstance(key, int) else f", {key}"
    return printable(text)


def printable(text: str) -> str:
    """Show what cannot be printed by its code."""
    return "".join(sign if sign.isprintable() else repr(sign)[1:-1] for sign in text)


def _count(key: str | int) -> str:
    return str(key + 1) if isinstance(key, int) else key


def _right(item: ErrorDetails, model: type[BaseModel]) -> str:
    kind, inner = item["type"], _model_at(model, item["loc"])
    if isinstance(item["input"], Text) and not item["input"].strip():
        return nothing(item["input"])
    if kind == "value_error":
        return str(item["ctx"]["error"])
    if kind == "model_type" and inner:
        fields = inner.model_fields
        keys = [key for key, field in fields.items() if field.description] or list(fields)
        return f"must be a table, like {{{', '.join(f'{key}: ..' for key in keys)}}}"
    if kind == "dict_type":
        return "must be a table: a name and a colon for each, without dashes"
    if kind in ("list_type", "tuple_type"):
        file = ", or the name of a .csv or .xlsx file" if item["loc"][-1] in SPREADSHEETS else ""
        return f"must be a list: in brackets, or one entry a line, each behind a dash{file}"
    return "cannot be read; look at how the sample jobs write it"


def _description(model: type[BaseModel], loc: Path) -> str:
    inner = _model_at(model, loc[:-1])
    field = inner.model_fields.get(str(loc[-1])) if inner else None
    return field.description or "it" if field else "it"


def _model_at(model: type[BaseModel], loc: Path) -> type[BaseModel] | None:
    inner: type[BaseModel] | None = model
    for key in loc:
        if isinstance(key, str) and inner:
            field = inner.model_fields.get(key)
            inner = model_in(field.annotation) if field else None
    return inner


def model_in(annotation: Any) -> type[BaseModel] | None:
    """Find the model within a field's type."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next(filter(None, map(model_in, get_args(annotation))), None)
