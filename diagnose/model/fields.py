"""Field types of the records: a quantity with its unit, an identifier, a plain line of text.

This file joins the parsing of `basics.quantities` to pydantic; it must not know any particular record.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    PlainSerializer,
    PlainValidator,
    StringConstraints,
    WithJsonSchema,
)

from diagnose.basics.quantities import DIMENSIONS, QuantityError, Span, format_span, parse_span

__all__ = ["Identifier", "Line", "Measured", "Record", "quantity"]


class Record(BaseModel):
    """A frozen record that refuses keys it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", coerce_numbers_to_str=True)


def _identifier(text: str) -> str:
    if re.fullmatch(r"[a-z][a-z0-9_]{0,59}", text) is None:
        what = f"`{text[:60]}` is no name" if len(text) <= 60 else "a name of more than 60 characters"
        raise QuantityError(what, "use small letters, digits and _, beginning with a letter, at most 60")
    return text


_IDENTIFIER_SCHEMA = {"type": "string", "pattern": r"^[a-z][a-z0-9_]{0,59}$"}
Identifier = Annotated[str, AfterValidator(_identifier), WithJsonSchema(_IDENTIFIER_SCHEMA)]
Line = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=2000)]


@dataclass(frozen=True)
class Measured:
    """The mark that makes a `Span` field a quantity of one dimension, read from text with a unit.

    `above` (the bound left out), `least` and `most` (the bound let in) are bounds of the whole span [base unit of the
    dimension], beyond those of the dimension itself.
    """

    dimension: str
    above: float | None = None
    least: float | None = None
    most: float | None = None

    def read(self, raw: Any) -> Span:
        """Return the span [base unit] of what a file gave; raises QuantityError."""
        if isinstance(raw, Span):
            return raw
        span = parse_span(raw, self.dimension)
        unit, example = DIMENSIONS[self.dimension].base_unit, DIMENSIONS[self.dimension].example
        if self.above is not None and span.low <= self.above:
            right = f"it must be above {self.above:g} {unit}"
            raise QuantityError(f"{raw} is too low here", f"{right}, for example {example}")
        if self.least is not None and span.low < self.least:
            raise QuantityError(f"{raw} is too low here", f"it must be {self.least:g} {unit} or more")
        if self.most is not None and span.high > self.most:
            raise QuantityError(f"{raw} is too high here", f"it may be {self.most:g} {unit} at most")
        return span

    def write(self, span: Span) -> str:
        """Return the span as text that `read` takes."""
        return format_span(span, self.dimension)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> Any:
        article = "an" if self.dimension[0] in "aeiou" else "a"
        description = f"{article} {self.dimension}: a number with its unit, or a range such as `3 to 6 {self._unit}`"
        return handler.generate_schema(
            Annotated[
                Any,
                PlainValidator(self.read),
                PlainSerializer(self.write, return_type=str),
                WithJsonSchema({"type": "string", "description": description}),
            ]
        )

    @property
    def _unit(self) -> str:
        return DIMENSIONS[self.dimension].base_unit


def quantity(dimension: str) -> Any:
    """Return the field type of a quantity where a static type is not wanted.

    Parameters: `dimension`, a name in `basics.quantities.DIMENSIONS` such as ``length``.
    Returns: an annotated `Span`; its numbers are in the base unit of the dimension.
    """
    return Annotated[Span, Measured(dimension)]
