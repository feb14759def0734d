"""A company's own rules lie over those that ship key by key; nothing of them is passed over, each mistake has its place
in the file that made it, and nothing stale is ever used.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import load_installation, load_layout
from diagnose.store.rule_folders import RuleFolders, rule_folders
from diagnose.store.rule_overlay import overlaid
from diagnose.store.rules import load_rules, read_rules
from diagnose.store.rules_kept import kept_rules, predictions_key
from diagnose.store.tables import load_tables
from diagnose.store.yaml_text import yaml_document

BACKED = '{weight: 0.5, source: "no published figure: judgement", confidence: judgement}'
Own = Callable[..., Path]


@pytest.fixture
def own(tmp_path: Path) -> Own:
    """Return what writes a company's folder: files by name below it."""

    def write(**files: str) -> Path:
        folder = tmp_path / "own"
        for name, text in files.items():
            section, _, stem = name.partition("__")
            file = folder / section / f"{stem}.yaml" if stem else folder / f"{section}.yaml"
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, encoding="utf-8")
        return folder

    return write


def texts(folder: Path) -> list[str]:
    """Return what reading the rules says, the company's folder written short."""
    said = [problem.text() for _, problem in read_rules(rule_folders(str(folder))).wrong]
    return [text.replace(str(folder), "own") for text in said]


def refused(folder: Path) -> list[str]:
    with pytest.raises(BadInput) as caught:
        rule_folders(str(folder))
    return [problem.text().replace(str(folder), "own") for problem in caught.value.problems]


def test_keys_lie_over_keys_and_everything_else_stays(own: Own) -> None:
    folder = own(faults__blown=f"frequency: {BACKED}\nremedy: Our way.\n")
    shipped, rules = load_rules(), load_rules(rule_folders(str(folder)))
    blown = shipped.faults["blown"]
    wanted = blown.frequency.model_copy(update={"weight": 0.5, "source": "no published figure: judgement",
                                                "confidence": "judgement"})  # fmt: skip
    assert rules.faults["blown"] == blown.model_copy(update={"frequency": wanted, "remedy": "Our way."})
    assert {n: f for n, f in rules.faults.items() if n != "blown"} == {
        n: f for n, f in shipped.faults.items() if n != "blown"
    }
    assert rules.model_copy(update={"faults": {}}) == shipped.model_copy(update={"faults": {}})


def test_lists_are_replaced_whole_and_null_takes_a_key_away() -> None:
    below = yaml_document("a: [1, 2]\nb: {c: x, d: y}\nkind: one\n", "rules/b.yaml")
    both = overlaid(yaml_document("a: [3]\nb: {c: null, e: z}\n", "own/b.yaml"), below)
    assert both.data == {"a": [3], "b": {"d": "y", "e": "z"}, "kind": "one"}
    other = overlaid(yaml_document("kind: another\n", "own/b.yaml"), below)
    assert other.data == {"kind": "another"}, "a mapping of another kind is replaced whole"


def test_a_problem_is_placed_in_the_file_that_wrote_it() -> None:
    below = yaml_document("b: {c: x, d: y}\nlist: [{e: 1}, {f: 2}]\n", "rules/b.yaml")
    both = overlaid(yaml_document("b:\n  d: z\nlist: [{e: 3}]\n", "own/b.yaml"), below)
    places = {loc: both.problem(loc, "x", "y")[:3] for loc in [("b", "c"), ("b", "d"), ("b", "no"), ("list", 1, "f")]}
    assert places == {
        ("b", "c"): ("rules/b.yaml", 1, 8), ("b", "d"): ("own/b.yaml", 2, 6), ("b", "no"): ("own/b.yaml", 2, 3),
        ("list", 1, "f"): ("own/b.yaml", 3, 7),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("name", "text", "says"),
    [
        ("faults__blown", "frequency: {weight: 0.5}\n", "own/faults/blown.yaml:1:13: `weight` is changed, and "),
        ("faults__blown", "remedy: [1\n", "own/faults/blown.yaml:2:1: cannot be read as YAML"),
        ("faults__blown", "remedi: x\n", "own/faults/blown.yaml:1:1: unknown key `remedi`, did you mean remedy?"),
        ("faults__blown", "cautions: [acid]\n", "own/faults/blown.yaml:1:11: the caution `cool_first` is left out"),
        ("faults__blown", "cautions: null\n", "own/faults/blown.yaml:1:11: the caution `cool_first` is left out"),
        ("complaints__plug_melted", "danger: false\n", "own/complaints/plug_melted.yaml:1:9: a sign of danger"),
        ("tests__volts", "states: [at_rset]\n", "own/tests/volts.yaml:1:9: no state `at_rset`, did you mean at_rest?"),
        ("complaints__hums", "id: hums\n", "own/complaints/hums.yaml:1:1: `says` is missing"),
        ("complaints__hums", "id: hums\nsays: x\nwords: [y]\ncautions: [acdi]\n",
         "own/complaints/hums.yaml:4:11: no caution `acdi`, did you mean acid?"),
        ("faults__blown", 'remedy: "FILL IN: how"\n', "own/faults/blown.yaml:1:9: `remedy` is still to be filled in, "
         "write how"),
    ],
)  # fmt: skip
def test_what_is_wrong_has_its_place_in_the_company_s_file(own: Own, name: str, text: str, says: str) -> None:
    folder = own(**{name: text})
    found = texts(folder)
    assert any(each.startswith(says) for each in found), found
    with pytest.raises(BadInput):
        load_rules(rule_folders(str(folder)))


def test_a_figure_needs_what_backs_it(own: Own) -> None:
    name = next(iter(load_tables(rules_folder()).figures["joints"]))
    folder = own(tables__joints=f"{name}: {{value: 1.25}}\n")
    with pytest.raises(BadInput) as caught:
        load_tables(rule_folders(str(folder)))
    (problem,) = caught.value.problems
    assert problem.file.endswith("own/tables/joints.yaml")
    assert problem.right == "write source: and confidence: and checked: beside it"
    own(tables__joints=f"{name}: {{value: 1.25, source: 'no published figure: judgement', confidence: judgement, "
        "checked: '2026-11-26'}\n")  # fmt: skip
    assert load_tables(rule_folders(str(folder))).figure("joints", name).value == 1.25


def test_a_source_of_our_own_can_be_cited(own: Own) -> None:
    cited = "frequency: {weight: 0.5, source: our_jobs, confidence: read}\n"
    folder = own(faults__blown=cited)
    assert any("unknown source" in each or "no source `our_jobs`" in each for each in texts(folder))
    own(sources="our_jobs: {title: our closed jobs, edition: '2026', kind: open_data}\n")
    assert texts(folder) == []


def test_a_layout_of_our_own_is_known(own: Own, tmp_path: Path) -> None:
    text = (rules_folder() / "layouts" / "relay_pair.yaml").read_text(encoding="utf-8")
    folders = rule_folders(str(own(layouts__ours=text, layouts__relay_pair="title: Our pair\n")))
    assert load_layout("ours", folders) == load_layout("relay_pair")
    assert load_layout("relay_pair", folders).title == "Our pair"
    file = tmp_path / "van.yaml"
    file.write_text("layout: ours\n", encoding="utf-8")
    assert load_installation(file, folders).parts == load_layout("relay_pair").parts
    with pytest.raises(BadInput, match="no layout `ours`"):
        load_installation(file)


def test_nothing_is_passed_over(own: Own, tmp_path: Path) -> None:
    folder = own(fault__blown="id: blown\n", checks__a="id: a\n", blown="id: blown\n")
    (folder / "tests").mkdir()
    (folder / "tests" / "volts.yml").write_text("id: volts\n", encoding="utf-8")
    (folder / "README.md").write_text("ours\n", encoding="utf-8")
    assert [each.partition(", ")[0] for each in refused(folder)] == [
        "own/blown.yaml: this file is not read here", "own/checks: rules in this folder are not read",
        "own/fault: rules in this folder are not read", "own/tests/volts.yml: this is not read",
    ]  # fmt: skip
    empty = tmp_path / "empty"
    empty.mkdir()
    assert "holds no rules" in refused(empty)[0]
    assert "no such folder" in refused(tmp_path / "nowhere")[0]
    assert "this is no rule base, give the folder `rules` within it" in refused(rules_folder().parent)[0]


def test_it_is_told_what_lies_over_what(own: Own) -> None:
    folder = own(faults__blown="id: blown\nremedy: x\n", complaints__hums="id: hums\nsays: x\nwords: [y]\n")
    assert rule_folders(str(folder)).told() == (
        f"rules: those of {folder} over those that ship: changed faults/blown (remedy); added complaints/hums"
    )
    assert rule_folders(None).told() is None
    assert rule_folders(str(rules_folder())).told() == f"rules: those of {rules_folder()} alone, not those that ship"


def test_what_is_kept_depends_on_the_company_s_files(
    own: Own, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path / "cache"))
    folder = own(faults__blown="remedy: First.\n")
    folders = rule_folders(str(folder))
    installation = load_layout("relay_pair")
    assert kept_rules().faults["blown"].remedy != "First."
    assert kept_rules(folders).faults["blown"].remedy == "First."
    keys = {predictions_key(installation, 1), predictions_key(installation, 1, folders)}
    own(faults__blown="remedy: Second.\n")
    assert kept_rules(folders).faults["blown"].remedy == "Second."
    assert kept_rules(folders) == load_rules(folders)
    assert len(keys | {predictions_key(installation, 1, folders)}) == 3
    assert kept_rules() == load_rules()


def test_rules_that_ship_are_as_without_a_folder() -> None:
    assert RuleFolders(rules_folder()).digest() == rule_folders(None).digest()
    assert load_rules(rule_folders(None)) == load_rules()
