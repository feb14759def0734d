"""Each check of the rule base with something it passes, which is the base that ships, and something it must find."""

from __future__ import annotations

import json
import re
import shutil
from functools import cache
from pathlib import Path

import pytest

from diagnose.cli.main import run
from diagnose.lint.base import Base
from diagnose.lint.lint import CHECKS, findings, sorted_findings, twins
from diagnose.lint.numbers import bare_numbers, unknown_units
from diagnose.lint.reach import unasked_tests, uncited_sources, unheard_faults, untaken_tests
from diagnose.lint.twins import twin_faults
from diagnose.model.figures import Tables
from diagnose.store.data_folder import rules_folder
from diagnose.store.rule_base import read_base
from diagnose.store.rules import read_rules
from diagnose.store.yaml_text import yaml_document


@cache
def shipped() -> tuple[Base, Tables]:
    """Return the rule base that ships."""
    read = read_base(rules_folder())
    assert read.wrong == ()
    assert read.base is not None
    assert read.tables is not None
    return read.base, read.tables


def changed(name: str, old: str, new: str) -> Base:
    """Return the base that ships with one file written otherwise; the records stay as they were."""
    base, _ = shipped()
    text = (rules_folder().parent / name).read_text(encoding="utf-8")
    assert old in text
    return base._replace(texts={**base.texts, name: yaml_document(text.replace(old, new, 1), name)})


@pytest.mark.slow
def test_the_rules_that_ship_have_no_failure() -> None:
    base, _ = shipped()
    assert [f.problem.text() for f in findings(base) if f.severity == "FAIL"] == []


def test_a_number_without_source() -> None:
    base, _ = shipped()
    assert list(bare_numbers(base)) == []
    (found,) = bare_numbers(changed("rules/tests/ohms.yaml", "confidence: contract\n", ""))
    assert (found.file, found.what) == ("rules/tests/ohms.yaml", "a number without source and confidence")
    assert found.line is not None


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [("unit: min", "unit: minz", "`minz` is no unit, did you mean"), (", unit: min", "", "a figure without a unit")],
)
def test_a_unit(old: str, new: str, says: str) -> None:
    base, _ = shipped()
    assert list(unknown_units(base)) == []
    (found,) = unknown_units(changed("rules/tables/minutes.yaml", old, new))
    assert says in found.text()
    assert re.match(r"rules/tables/minutes\.yaml:\d+:\d+: ", found.text())


def test_a_fault_that_nobody_hears_or_sees_of() -> None:
    base, _ = shipped()
    assert list(unheard_faults(base)) == []
    deaf = {name: rule.model_copy(update={"favours": ()}) for name, rule in base.rules.complaints.items()}
    unseen = base.rules.faults | {"undersized": base.rules.faults["undersized"].model_copy(update={"sights": ()})}
    for complaints, faults, stems in ((deaf, base.rules.faults, []), (base.rules.complaints, unseen, []),
                                      (deaf, unseen, ["undersized"])):  # fmt: skip
        rules = base.rules.model_copy(update={"complaints": complaints, "faults": faults})
        assert [Path(each.file).stem for each in unheard_faults(base._replace(rules=rules))] == stems


def test_a_test_that_nobody_can_take() -> None:
    base, _ = shipped()
    assert list(untaken_tests(base)) == []
    tests = dict(base.rules.tests)
    tests["ohms"] = tests["ohms"].model_copy(update={"tools": ("multimetre",)})
    tests["look"] = tests["look"].model_copy(update={"states": ()})
    found = {each.file: each.text() for each in untaken_tests(
        base._replace(rules=base.rules.model_copy(update={"tests": tests})))}  # fmt: skip
    assert set(found) == {"rules/tests/ohms.yaml", "rules/tests/look.yaml"}
    assert "did you mean multimeter?" in found["rules/tests/ohms.yaml"]


def test_a_test_that_is_never_proposed() -> None:
    base, _ = shipped()
    known = {Path(each.file).stem for each in unasked_tests(base)}
    assert "volts" not in known
    without = base._replace(layouts={"solar_only_van": base.layouts["solar_only_van"]})
    assert {Path(each.file).stem for each in unasked_tests(without)} > known


def test_a_source_that_nobody_cites() -> None:
    base, _ = shipped()
    known = {each.what for each in uncited_sources(base)}
    more = {**base.sources, "an_old_book": next(iter(base.sources.values()))}
    found = {each.what for each in uncited_sources(base._replace(sources=more))}
    assert found - known == {"nobody cites `an_old_book`"}
    assert "nobody cites `design_table`" not in known


@pytest.mark.slow
def test_faults_that_no_test_tells_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    base, tables = shipped()
    one = base._replace(layouts={"relay_pair": base.layouts["relay_pair"]})
    assert list(twin_faults(one, tables)) == []
    # With eyes shut a fuse of the wrong rating is as good as none wrong.
    monkeypatch.setattr("diagnose.inference.inseparable.ALL_TOOLS", ("multimeter", "clamp"))
    monkeypatch.setattr("diagnose.inference.inseparable.inseparable.__defaults__", (("multimeter", "clamp"),))
    (found, *_) = twins(one, tables)
    assert found.severity == "LOOK"
    assert found.problem.file == "rules/layouts/relay_pair.yaml"
    assert found.problem.what.startswith("no test tells these apart: nothing wrong, ")


def test_every_check_of_the_table_has_a_test_and_a_line_in_the_document() -> None:
    here = Path(__file__).read_text(encoding="utf-8")
    developers = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
    for name, (_, check) in CHECKS.items():
        assert f"{check.__name__}(" in here
        assert f"`{name}`" in developers


def test_failures_come_first_each_once() -> None:
    base, _ = shipped()
    found = findings(base._replace(sources={**base.sources, "an_old_book": next(iter(base.sources.values()))}))
    found += findings(changed("rules/tables/minutes.yaml", "unit: min", "unit: minz"))
    ordered = sorted_findings(found)
    assert len(set(ordered)) == len(ordered) < len(found)
    assert [f.severity for f in ordered] == sorted(f.severity for f in ordered)
    assert ordered[0].check == "unit"


BREAKS = [
    ("id", "faults/blown.yaml", "id: blown", "id: blwn"),
    ("law", "faults/blown.yaml", "change: open_element", "change: open_elemnt"),
    ("sights", "faults/blown.yaml", "word: blown", "word: blow"),
    ("examples", "faults/undersized.yaml", "ranks_first: false", "ranks_first: true"),
    ("size", "faults/high_resistance.yaml", "low: 0.010", "low: 0"),
    ("owner_words", "faults/discharged.yaml", "tell: ", "tell: a b c d e f g h i j k l m n o p "),
    ("links", "tests/ohms.yaml", "states: [isolated]", "states: [isolatd]"),
    ("sources", "tests/volts.yaml", "source: design_table", "source: design_tabel"),
]


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    folder = tmp_path / "rules"
    shutil.copytree(rules_folder(), folder)
    return folder


def write(file: Path, old: str, new: str) -> None:
    text = file.read_text(encoding="utf-8")
    assert old in text, file
    file.write_text(text.replace(old, new, 1), encoding="utf-8")


def test_what_reading_finds_comes_with_the_name_of_its_check(copy: Path) -> None:
    assert read_rules(copy).wrong == ()
    for _, name, old, new in BREAKS:
        write(copy / name, old, new)
    found = {(check, problem.file) for check, problem in read_rules(copy).wrong}
    assert found >= {(check, f"rules/{name}") for check, name, _, _ in BREAKS}
    write(copy / "complaints" / "never_full.yaml", "id: never_full", "idd: never_full")
    named = {check for check, _ in read_rules(copy).wrong}
    assert "form" in named
    assert "sources" not in named, "links are looked at only where nothing they lead to was refused"


def test_a_caution_that_nothing_leads_to(copy: Path) -> None:
    acid = (copy / "cautions" / "acid.yaml").read_text(encoding="utf-8")
    kept = [line for line in acid.splitlines() if line.partition(":")[0] not in ("id", "quantities")]
    (copy / "cautions" / "lonely.yaml").write_text("\n".join(["id: lonely", *kept]), encoding="utf-8")
    assert [(check, problem.file) for check, problem in read_rules(copy).wrong] == [
        ("unseen_caution", "rules/cautions/lonely.yaml")
    ]


def test_the_command_fails_where_a_rule_does(copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(copy / "tests" / "ohms.yaml", "minutes: 4.0", "minutes: -4.0")
    write(copy / "tables" / "minutes.yaml", "source: design_table", "source: design_tabel")
    assert run(["lint", "--rules", str(copy), "--json"]) == 1
    shown = capsys.readouterr()
    form = json.loads(shown.out)
    assert shown.err == ""
    assert (form["schema"], form["failed"]) == ("diagnose/lint/1", len(form["findings"]))
    assert {(f["id"], f["severity"], f["file"]) for f in form["findings"]} == {
        ("form", "FAIL", "rules/tests/ohms.yaml"), ("figures", "FAIL", "rules/tables/minutes.yaml")
    }  # fmt: skip
    assert all(f["line"] and f["column"] and f["what"] and f["right"] for f in form["findings"])


def test_the_command_refuses_what_cannot_be_read(copy: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (copy / "cautions" / "acid.yaml").write_text("id: [\n", encoding="utf-8")
    assert run(["lint", "--rules", str(copy)]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.startswith("rules/cautions/acid.yaml:")
    assert run(["lint", "--rules", str(copy.parent)]) == 2
    assert "this is no rule base" in capsys.readouterr().err


@pytest.mark.slow
def test_the_command_passes_the_rules_that_ship(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["lint"]) == 0
    last = capsys.readouterr().out.splitlines()[-1]
    assert re.fullmatch(r"0 FAIL, \d+ LOOK", last)


@pytest.mark.slow
def test_faults_that_no_test_tells_apart_on_any_layout() -> None:
    base, tables = shipped()
    assert [each.what for each in twin_faults(base, tables)] == []
