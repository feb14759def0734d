"""Quantity fields: read from text, bounded, written back."""

from __future__ import annotations

from typing import Annotated

import pytest
from pydantic import ValidationError

from diagnose.basics.quantities import Span
from diagnose.model.fields import Identifier, Line, Measured, Record, quantity


class Sample(Record):
    size: Annotated[Span, Measured("length", most=10.0)] | None = None
    rating: Annotated[Span, Measured("current", above=0.0)] | None = None
    floor: Annotated[Span, Measured("voltage", least=0.0)] | None = None
    loose: quantity("time") | None = None  # type: ignore[valid-type]
    id: Identifier | None = None
    name: Line | None = None


def test_read_and_written_back() -> None:
    sample = Sample.model_validate({"size": "3 to 6 m", "rating": "500 mA", "loose": "90 s"})
    assert sample.size == Span(3.0, 6.0)
    assert sample.rating == Span(0.5, 0.5)
    assert sample.model_dump(exclude_none=True) == {"size": "3 to 6 m", "rating": "0.5 A", "loose": "1.5 min"}
    assert Sample.model_validate(sample.model_dump()) == sample


def test_a_span_is_taken_as_it_is() -> None:
    assert Sample(size=Span(1.0, 2.0)).size == Span(1.0, 2.0)


@pytest.mark.parametrize(
    "data",
    [
        {"size": "11 m"}, {"size": "0 m"}, {"size": 4}, {"rating": "0 A"}, {"rating": "-1 to 3 A"}, {"floor": "-1 V"},
        {"id": "Bad"}, {"id": "a@b"}, {"id": "a.b"}, {"id": ""}, {"id": "a" * 61}, {"id": 7}, {"name": " "},
        {"nam": "x"},
    ],
)
def test_refused(data: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        Sample.model_validate(data)


def test_zero_where_it_is_let_in_and_numbers_as_names() -> None:
    assert Sample.model_validate({"floor": "0 V"}).floor == Span(0.0, 0.0)
    assert Sample.model_validate({"name": 12}).name == "12"


def test_schema_says_what_is_wanted() -> None:
    schema = Sample.model_json_schema()["properties"]["size"]["anyOf"][0]
    description = "a length: a number with its unit, or a range such as `3 to 6 m`"
    assert schema == {"type": "string", "description": description}
