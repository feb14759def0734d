"""DEVELOPERS.md says what the code says: every key, state, quantity, fault, figure, constant, floor and option, and
no other.
"""

from __future__ import annotations

import re
from importlib import import_module
from typing import get_args

import pytest
import typer.main

from diagnose.basics.quantities import DIMENSIONS
from diagnose.circuit.faults import LAWS
from diagnose.circuit.parameters import NAMES
from diagnose.cli.main import app
from diagnose.inference.candidates import ALL_TOOLS
from diagnose.model.parts import Part
from diagnose.model.reading import QUANTITIES, STATES
from diagnose.model.states import OPERATING_STATES
from diagnose.model.words import TEST_LAMP_WORDS, WORDS
from diagnose.store import reading_entry, readings
from diagnose.store.data_folder import rules_folder
from diagnose.store.rules import load_rules
from diagnose.store.tables import load_tables
from tests.house.documents import ROOT, measured_of, read, table_after, valid_range
from tests.house.floors import FLOORS, HOMES
from tests.house.records import RECORDS, Documented
from tests.house.rule_words import sits_at, size_words

DEVELOPERS = read("DEVELOPERS.md")
DOCUMENTS = DEVELOPERS + read("README.md")


def bare(cell: str) -> str:
    """Return a cell without the marks of code."""
    return cell.strip().removeprefix("`").removesuffix("`")


def rows_of(heading: str, key: str) -> dict[str, dict[str, str]]:
    """Return the rows of the table below a heading by the name in one column, each name once."""
    rows = table_after(DEVELOPERS, heading)
    names = [bare(row[key]) for row in rows]
    assert names, f"no table below `{heading}`"
    assert len(set(names)) == len(names), f"a name stands twice below `{heading}`"
    return dict(zip(names, rows, strict=True))


@pytest.mark.parametrize("record", RECORDS.values(), ids=RECORDS)
def test_a_table_has_every_key_of_its_record_and_no_other(record: Documented) -> None:
    fields = {name: field for name, field in record.model.model_fields.items() if name not in record.elsewhere}
    rows = rows_of(record.heading, "key")
    assert set(rows) == set(fields)
    for name, field in fields.items():
        row = rows[name]
        quantity = measured_of(field)
        assert row["meaning"], name
        assert row["required"] == ("yes" if field.is_required() else "no"), name
        assert row["unit"] == ("" if quantity is None else DIMENSIONS[quantity.dimension].base_unit), name
        assert bool(row["default"]) != field.is_required(), f"{name}: a default just where not required"
        wanted = valid_range(record.kind, name, field)
        assert row["valid range"] == wanted if wanted is not None else row["valid range"], name
        if isinstance(field.default, bool | int | float | str) and not isinstance(field.default, tuple):
            shown = str(field.default).lower() if isinstance(field.default, bool) else f"{field.default}"
            assert row["default"].split()[0] == shown.removesuffix(".0"), name
        elif isinstance(field.default, tuple) and quantity is not None:
            assert row["default"] == f"{field.default[0]:g} {row['unit']}", name


def test_every_kind_of_part_has_a_table() -> None:
    kinds = {kind for form in get_args(get_args(Part)[0]) for kind in get_args(form.model_fields["kind"].annotation)}
    headings = [record.heading for record in RECORDS.values() if record.kind is not None]
    assert {kind for kind in kinds if any(f"`{kind}`" in heading for heading in headings)} == kinds
    assert {word for heading in headings for word in re.findall(r"`(\w+)`", heading)} == kinds


def test_dimensions() -> None:
    rows = rows_of("Dimensions", "dimension")
    assert set(rows) == set(DIMENSIONS)
    for name, dimension in DIMENSIONS.items():
        row = rows[name]
        found = (row["base unit"], row["units that can be typed"], float(row["from"]), float(row["to"]))
        assert found == (dimension.base_unit, ", ".join(dimension.shown), dimension.low, dimension.high)


def test_quantities_with_their_words_tools_and_minutes() -> None:
    rows, rules = rows_of("Quantities", "quantity"), load_rules()
    assert list(rows) == list(QUANTITIES)
    for name, (places, unit) in QUANTITIES.items():
        row, test = rows[name], rules.tests[name]
        assert (int(row["places"]), row["unit"]) == (places, unit or ""), name
        assert row["words"] == ", ".join(WORDS.get(name, ())), name
        assert (row["tool"], float(row["minutes"])) == (", ".join(test.tools), test.minutes), name
    assert all(f"`{word}`" in DEVELOPERS for word in (*TEST_LAMP_WORDS, "OL", "unsteady", "skipped"))


def test_states() -> None:
    rows = rows_of("States", "state")
    assert list(rows) == list(STATES) == list(OPERATING_STATES)
    for name, state in OPERATING_STATES.items():
        row = rows[name]
        switches = [row[column] == "yes" for column in ("key", "loads", "supplies", "sun", "leads off")]
        assert switches == [state.key, state.loads, state.supplies, state.sun, state.isolated], name
        assert (row["engine"], row["in words"]) == (state.engine, state.says), name


def test_keys_of_the_readings_form() -> None:
    assert set(rows_of("Keys of a readings file", "key")) == set(readings._KEYS)
    assert set(rows_of("Keys of a reading", "key")) == {"a quantity", *reading_entry._FURTHER}
    assert set(rows_of("Keys of a repair", "key")) == set(reading_entry._REPAIRED)
    assert f"at most {readings._MOST:,} entries" in DEVELOPERS.replace("\n", " ")


def test_faults_and_their_laws() -> None:
    rows, rules = rows_of("Faults that are known", "fault"), load_rules()
    assert set(rows) == set(rules.faults)
    for name, rule in rules.faults.items():
        row = rows[name]
        assert (bare(row["law"]), row["sits at"], row["size"]) == (rule.change, sits_at(rule), size_words(rule)), name
        assert row["what changes"], name
    laws = rows_of("Laws of change", "law")
    assert set(laws) == set(LAWS)


def test_numbers_of_a_vehicle() -> None:
    rows = rows_of("Numbers of a vehicle", "name")
    assert {name: (row["rows"], row["unit"], row["meaning"]) for name, row in rows.items()} == NAMES


def test_cited_figures_stand_in_the_tables() -> None:
    tables = load_tables(rules_folder())
    cited = re.findall(r"([0-9][0-9.e+-]*) ([^\s()]+) \(`(\w+)\.(\w+)`\)", DEVELOPERS)
    assert len(cited) > 30
    for value, unit, table, name in cited:
        figure = tables.figure(table, name)
        assert (float(value), unit) == (figure.value, figure.unit), f"{table}.{name}"


def test_constants() -> None:
    rows = table_after(DEVELOPERS, "Constants")
    assert len(rows) > 20
    for row in rows:
        module = import_module(bare(row["file"]).removesuffix(".py").replace("/", "."))
        assert getattr(module, bare(row["name"])) == float(row["value"]), row


def test_the_plan_of_the_floors() -> None:
    rows = rows_of("Plan of the floors", "folder")
    assert {folder: int(row["floor"]) for folder, row in rows.items()} == dict(FLOORS)
    for folder, row in rows.items():
        homes = sorted(library for library, folders in HOMES.items() if folder in folders)
        assert row["other people's libraries"] == (", ".join(homes) or "none"), folder


def options() -> list[tuple[str, str]]:
    """Return (command, option or argument) of everything that can be typed."""
    command = typer.main.get_command(app)
    found = [("", name) for parameter in command.params for name in parameter.opts]
    for name, below in command.commands.items():  # type: ignore[attr-defined]
        found += [(name, option) for parameter in below.params for option in parameter.opts]
    return found


def test_every_command_and_option_is_told_and_no_other() -> None:
    known = options()
    assert {command for command, _ in known} > {"expect", "rank"}
    long = {option for _, option in known if option.startswith("--")}
    for command, option in known:
        assert f"diagnose {command}".strip() in DOCUMENTS
        assert not option.startswith("-") or re.search(rf"(?<![\w-]){option}(?![\w-])", DOCUMENTS), option
    rows = table_after(DEVELOPERS, "Commands")
    told = {option for row in rows for option in re.findall(r"`(--[\w-]+)`", row["argument or option"])}
    assert told - {"--help"} == long
    for command in {command for command, _ in known} - {""}:
        own = {option for name, option in known if name == command and option.startswith("--")}
        here = [row for row in rows if row["command"] == "all" or f"`diagnose {command}`" in row["command"]]
        assert own <= {option for row in here for option in re.findall(r"--[\w-]+", row["argument or option"])}, command


def test_every_tool_is_named() -> None:
    missing = [tool for tool in ALL_TOOLS if not re.search(rf"\b{tool}\b", DEVELOPERS)]
    assert missing == []


def test_every_file_that_is_named_exists() -> None:
    named = set(re.findall(r"`((?:diagnose|tests|rules|cases|\.ci)/[\w./-]+?)(?:::\w+)?`", DOCUMENTS))
    assert len(named) > 50
    assert [name for name in sorted(named) if not (ROOT / name).exists()] == []


def test_every_outside_check_is_listed_and_exists() -> None:
    rows = table_after(DEVELOPERS, "Outside checks")
    listed = [check for row in rows for check in re.findall(r"`([\w/.]+::\w+)`", row["test"])]
    assert all(row["what"] and row["source"] and row["tolerance"] for row in rows)
    assert len(set(listed)) == len(listed)
    for check in listed:
        file, _, name = check.partition("::")
        assert f"def {name}(" in (ROOT / file).read_text(encoding="utf-8"), check
    cited = [
        f"tests/outside/{file.name}::{name}"
        for file in sorted((ROOT / "tests" / "outside").glob("test_*.py"))
        for name, body in re.findall(r"^def (test_\w+)\((.*?)(?=^\S|\Z)", file.read_text(encoding="utf-8"), re.M | re.S)
        if "# Source:" in body
    ]
    assert len(cited) > 30
    assert [check for check in cited if check not in listed] == []


def test_the_contents_lead_to_sections() -> None:
    headings = re.findall(r"^#+ (.*)$", DEVELOPERS, re.MULTILINE)
    anchors = {re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-") for heading in headings}
    assert set(re.findall(r"\]\(#([\w-]+)\)", DEVELOPERS)) <= anchors
    sections = re.findall(r"^## (.*)$", DEVELOPERS, re.MULTILINE)
    assert len(re.findall(r"\]\(#", DEVELOPERS)) == len(sections)


def test_five_files_set_the_bar() -> None:
    section = DEVELOPERS.partition("## Five files that set the bar")[2].partition("\n## ")[0]
    assert len(re.findall(r"^- `diagnose/[\w/]+\.py`", section, re.MULTILINE)) == 5
