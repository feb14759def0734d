"""The published schemas are those of the program."""

from __future__ import annotations

import json
from pathlib import Path

from diagnose.model.reading import QUANTITIES, STATES
from diagnose.store.data_folder import rules_folder
from diagnose.store.schemas import schema_texts, write_schemas


def test_published_schemas_are_current() -> None:
    published = {path.name: path.read_text(encoding="utf-8") for path in (rules_folder() / "schemas").glob("*.json")}
    current = schema_texts()
    assert {name: published.get(name) for name in current} == current


def test_written_as_they_are(tmp_path: Path) -> None:
    write_schemas(tmp_path / "new")
    assert {path.name for path in (tmp_path / "new").iterdir()} == set(schema_texts())


def test_every_quantity_state_and_kind_is_in_them() -> None:
    readings = json.loads(schema_texts()["readings.json"])
    reading = readings["properties"]["readings"]["items"]["anyOf"][0]
    assert set(QUANTITIES) < set(reading["properties"])
    assert reading["properties"]["when"]["enum"] == list(STATES)
    installation = json.loads(schema_texts()["installation.json"])
    kinds = installation["else"]["properties"]["parts"]["patternProperties"]
    kinds = next(iter(kinds.values()))["discriminator"]["mapping"]
    assert {"battery", "charger", "panel"} < set(kinds)
