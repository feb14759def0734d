"""The JSON Schema of the installation form and of the readings form, for editors and for those who write such files.

Built from the records and the word lists, so it cannot drift from them; `rules/schemas/` holds the same text, and a
test compares. A schema is looser than the program: what depends on other parts is checked on loading only.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from diagnose.model.causes import CauseRule, OperatingState
from diagnose.model.fields import Record
from diagnose.model.installation import Installation
from diagnose.model.practice import PracticeCase, PracticeRules
from diagnose.model.reading import QUANTITIES, STATES
from diagnose.model.rules import Caution, ComplaintRule, FaultRule, TestRule
from diagnose.model.textbook import TextbookOrder
from diagnose.model.unknowns import Unknowns
from diagnose.model.words import TEST_LAMP_WORDS, WORDS
from diagnose.model.worked_case import WorkedCase
from diagnose.store.reading_entry import METERS

__all__ = ["schema_texts", "write_schemas"]

_DIALECT = "https://json-schema.org/draft/2020-12/schema"
_TEXT = {"type": "string"}
_PAIR = {"type": "array", "items": _TEXT, "minItems": 2, "maxItems": 2}
_NULLABLE_TEXT = {"type": ["string", "null"]}
_REPAIRED = {
    "type": "object",
    "properties": {
        "fault": _TEXT, "part": _TEXT, "at": _NULLABLE_TEXT, "to": _NULLABLE_TEXT, "size": {},
    },
    "required": ["fault", "part"],
    "additionalProperties": False,
}
#: file name without its ending -> the record of a file, and what such a file is
_RECORDS: dict[str, tuple[type[Record], str]] = {
    "fault": (FaultRule, "A fault of the rule base"),
    "cause": (CauseRule, "A cause of the rule base"),
    "operating_state": (OperatingState, "An operating state of the rule base"),
    "test": (TestRule, "A test of the rule base"),
    "complaint": (ComplaintRule, "A complaint of the rule base"),
    "caution": (Caution, "A caution of the rule base"),
    "practice": (PracticeRules, "Skills and points of practice"),
    "practice_case": (PracticeCase, "A practice case"),
    "worked_case": (WorkedCase, "A worked case"),
    "textbook_order": (TextbookOrder, "A fixed order of tests"),
    "unknowns": (Unknowns, "What may be unknown of an installation"),
}


def schema_texts() -> dict[str, str]:
    """Return file name -> JSON text of every published schema.

    >>> sorted(schema_texts())[:4]
    ['cause.json', 'caution.json', 'complaint.json', 'fault.json']
    """
    schemas = {"installation.json": _installation(), "readings.json": _readings()}
    schemas |= {f"{name}.json": _of_record(model, title) for name, (model, title) in _RECORDS.items()}
    return {name: json.dumps(schema, indent=1, ensure_ascii=False) + "\n" for name, schema in schemas.items()}


def write_schemas(folder: Path) -> None:
    """Write every published schema into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in schema_texts().items():
        (folder / name).write_text(text, encoding="utf-8")


def _of_record(model: type[Record], title: str) -> dict[str, Any]:
    """Return the schema of a file that holds one record; places and numbers that hang together are checked on
    loading.
    """
    return {"$schema": _DIALECT, **model.model_json_schema(), "title": title}


def _installation() -> dict[str, Any]:
    """Return the schema of an installation file as written: with `layout:`, everything else may be left out.

    A part of a file with a layout may give some keys only, or be null; so it is held to the keys that exist, not to
    those that are required.
    """
    schema = Installation.model_json_schema()
    kinds = schema["properties"]["parts"]
    complete, partial = dict(schema), dict(schema["properties"])
    partial["parts"] = {"type": "object", "additionalProperties": {"type": ["object", "null"]}}
    schema["properties"] = {key: value if key != "parts" else {"type": "object"} for key, value in partial.items()}
    schema["if"] = {"required": ["layout"]}
    schema["then"] = {"properties": partial}
    schema["else"] = {"properties": {"parts": kinds}, "required": complete["required"]}
    del schema["required"]
    return {"$schema": _DIALECT, **schema, "title": "An installation", "description": "What is fitted."}


def _readings() -> dict[str, Any]:
    entry: dict[str, Any] = {
        **{quantity: _TEXT if places == 1 else _PAIR for quantity, (places, _) in QUANTITIES.items()},
        "when": {"enum": list(STATES)},
        "meter": {"type": "string", "examples": list(METERS)},
        "jumper": _PAIR,
        "swap": _TEXT,
        "read": {"type": ["string", "number"]},
    }
    reading = {
        "type": "object",
        "properties": entry,
        "oneOf": [_of_quantity(quantity) for quantity in QUANTITIES],
        "additionalProperties": False,
    }
    repair = {
        "type": "object",
        "properties": {"repaired": _REPAIRED, "read": entry["read"]},
        "required": ["repaired"],
        "additionalProperties": False,
    }
    return {
        "$schema": _DIALECT,
        "title": "Readings",
        "description": "What was found, in order.",
        "type": "object",
        "properties": {
            "complaint": {"type": ["string", "null"], "maxLength": 2000},
            "readings": {"type": ["array", "null"], "maxItems": 5000, "items": {"anyOf": [reading, repair]}},
        },
        "additionalProperties": False,
    }


def _of_quantity(quantity: str) -> dict[str, Any]:
    """Return what makes an entry one of a quantity: its key, and the words where only words will do."""
    one: dict[str, Any] = {"required": [quantity]}
    if QUANTITIES[quantity][1] is None:
        one["properties"] = {"read": {"enum": [*WORDS[quantity], "skipped"]}}
    elif quantity == "volts":
        one["properties"] = {"read": {"examples": ["11.92 V", "OL", "unsteady 11.8 to 13.1 V", *TEST_LAMP_WORDS]}}
    if quantity == "ohms":
        one["properties"] = {"when": {"const": "isolated"}}
    return one
