"""What every section of the job is made of: strict frozen models, quantities, stated defaults.

A field that is ``None`` has its *stated default*: a value with a source, told by the field
itself.  :func:`value_of` gives the value that counts, and the list of fields that are ``None``
is the list of defaults in use.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from operator import itemgetter
from types import EllipsisType
from typing import Annotated, Any, NoReturn, Self, TypeVar

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from pondwright.base.errors import Fault
from pondwright.base.kinds import ELEVATION, LENGTH, Kind
from pondwright.base.sources import Source

ID_PATTERN = r"^[a-z][a-z0-9_]{0,39}$"
CODE_PATTERN = r"^[a-z][a-z0-9_]{0,39}(\.[a-z][a-z0-9_]{0,39}){0,3}$"
ENTRY_PATTERN = r"^[A-Za-z0-9_-]{1,64}$"
HASH_PATTERN = r"^[0-9a-f]{64}$"
BROKEN_RULES = "broken_rules"

Id = Annotated[str, Field(pattern=ID_PATTERN)]
Code = Annotated[str, Field(pattern=CODE_PATTERN)]
FileHash = Annotated[str, Field(pattern=HASH_PATTERN)]
Line = Annotated[str, Field(max_length=200)]
Text = Annotated[str, Field(max_length=20_000)]

V = TypeVar("V")

WIDEST: Mapping[Kind, tuple[float | None, float | None]] = {
    ELEVATION: (-500.0, 9_000.0),
    LENGTH: (-10_000_000.0, 10_000_000.0),
}
"""Range of a number that tells no other: what may be on earth, so that a slip is told where it is typed."""


class Section(BaseModel):
    """A part of the document: frozen, strict, without unknown fields, NaN or infinity.

    Rules that span several fields are told by :meth:`broken_rules`, so that an edit can ask
    a touched model again without validating what it did not touch.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)

    def broken_rules(self) -> Iterator[Fault]:
        """Faults between the fields of this model, with paths that start at the model."""
        return iter(())

    @model_validator(mode="after")
    def _keeps_its_own_rules(self) -> Self:
        if type(self).broken_rules is Section.broken_rules:  # most rows have none, and there are thousands
            return self
        faults = tuple(self.broken_rules())
        if faults:
            raise PydanticCustomError(BROKEN_RULES, "breaks its own rules", {"faults": faults})
        return self


class Rows(dict[str, V]):
    """Read-only mapping in the order of its keys, so that history never changes a result."""

    def __init__(self, rows: Mapping[str, V] = {}) -> None:
        super().__init__(sorted(rows.items(), key=itemgetter(0)))

    def with_row(self, name: str, row: V) -> Rows[V]:
        """Same rows with one put in or replaced."""
        return self._same_order(name, row) if name in self else Rows({**self, name: row})

    def without(self, name: str) -> Rows[V]:
        """Same rows without one."""
        return Rows({key: row for key, row in self.items() if key != name})

    def _same_order(self, name: str, row: V) -> Rows[V]:
        # A drag replaces one of thousands of rows sixty times a second: copied, not sorted again.
        rows: Rows[V] = Rows()
        dict.update(rows, self)
        dict.__setitem__(rows, name, row)
        return rows

    def _refuse(self, *_: Any, **__: Any) -> NoReturn:
        raise TypeError("rows of a job are read-only: change them with an edit")

    __setitem__ = __delitem__ = __ior__ = _refuse
    clear = pop = popitem = setdefault = update = _refuse

    def __reduce__(self) -> tuple[Any, ...]:
        return Rows, (dict(self),)

    def __deepcopy__(self, memo: dict[int, Any]) -> Rows[V]:
        return self


def rows(help: str) -> Any:
    """Field of a section that maps ids to rows, empty until something is added."""
    return Field(
        default={},
        validate_default=True,
        description=help,
        json_schema_extra={"additionalProperties": False},
    )


RowsById = Annotated[Mapping[Id, V], AfterValidator(Rows)]
RowsByCode = Annotated[Mapping[Code, V], AfterValidator(Rows)]


@dataclass(frozen=True, slots=True)
class Default:
    """What ``None`` stands for in a field: a value with its source, told in plain words.

    A value of ``None`` means that a stage works the number out; ``by`` looks the value up
    where it depends on the row itself, for example on its kind of soil.
    """

    value: float | None
    source: Source
    says: str = ""
    by: Callable[[Any], tuple[float | None, Source]] | None = None

    def of(self, model: Section) -> tuple[float | None, Source]:
        """Value and source that hold for one model."""
        return self.by(model) if self.by else (self.value, self.source)


@dataclass(frozen=True, slots=True)
class Quantity:
    """Kind and stated default of a field; called by pydantic to write them in the schema.

    A field that is a choice rather than a number has no kind.
    """

    kind: Kind | None
    default: Default | None

    def __call__(self, schema: dict[str, Any]) -> None:
        """Write kind, unit and stated default into the JSON Schema of the field."""
        if self.kind:
            schema.update(kind=self.kind.name, unit=self.kind.unit)
        if self.default:
            schema["stated_default"] = {
                "value": self.default.value,
                "says": self.default.says,
                "source": str(self.default.source),
            }


def quantity(
    kind: Kind,
    *,
    help: str,
    default: Default | float | EllipsisType | None = ...,
    ge: float | None = None,
    gt: float | None = None,
    le: float | None = None,
    lt: float | None = None,
) -> Any:
    """Field of a model that holds a number of one kind, in the house unit.

    Parameters
    ----------
    kind : Kind              What the number measures.
    help : str               One line for the form, the schema and the reference.
    default : Default        What ``None`` stands for; or a plain number; or ``None`` for
                             "not known"; left out: the field must be given.
    ge, gt, le, lt : float   Range of the number, in the house unit; none is :data:`WIDEST`.

    Returns
    -------
    pydantic field that carries a :class:`Quantity`.
    """
    stated = default if isinstance(default, Default) else None
    if (ge, gt, le, lt) == (None, None, None, None):
        ge, le = WIDEST.get(kind, (None, None))
    return Field(
        default=None if stated else default,
        description=help,
        ge=ge,
        gt=gt,
        le=le,
        lt=lt,
        json_schema_extra=Quantity(kind, stated),  # called with the schema
    )


def choice(*, help: str, default: Default) -> Any:
    """Field that names something by id, with what ``None`` stands for."""
    return Field(
        default=None,
        description=help,
        json_schema_extra=Quantity(None, default),  # called with the schema
    )


def quantity_of(model: type[Section], field: str) -> Quantity | None:
    """Kind and stated default of a field, or ``None`` if it holds no quantity."""
    extra = model.model_fields[field].json_schema_extra
    return extra if isinstance(extra, Quantity) else None


def value_of(model: Section, field: str) -> Any:
    """Value of a field, or its stated default where the document leaves it open.

    Parameters
    ----------
    model : Section   A row or section of the job.
    field : str       Name of the field.

    Returns
    -------
    The value in the house unit; ``None`` where a stage works the number out.
    """
    value = getattr(model, field)
    stated = quantity_of(type(model), field)
    if value is not None or stated is None or stated.default is None:
        return value
    return stated.default.of(model)[0]
