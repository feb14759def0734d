"""The words of scripts, and what may be unknown of an installation: each defect of a file is named with its place, and
the linter names it.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.store.data_folder import rules_folder
from diagnose.store.rule_base import read_base
from diagnose.store.script_words import load_script_words
from diagnose.store.unknowns import load_unknowns


def written(folder: Path, name: str, old: str, new: str) -> int:
    """Write a file of phone scripts otherwise into a folder of rules; return the line that was changed."""
    (folder / "scripts").mkdir(exist_ok=True)
    text = (rules_folder() / "scripts" / name).read_text(encoding="utf-8")
    assert old in text
    (folder / "scripts" / name).write_text(text.replace(old, new, 1), encoding="utf-8")
    return text[: text.index(old)].count("\n") + 1


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("share: 0.4\n", "share: 0.5\n", "the shares come to 1.1, let them sum to 1"),
        ("share: 0.4\n", "share: 0\n", "`0` is out of range, `share` must be above 0"),
        ("say: Does the engine stop", "say: Look and does the engine stop", "two things at once for an owner"),
        ("kind: alternator", "kind: alternater", "no kind `alternater`, did you mean alternator?"),
        ("has: [solar, input]", "has: [solar, inlet]", "no key of a charger `inlet`"),
        ("keys: {regulation: variable", "keys: {regulations: variable", "no key of an alternator `regulations`"),
        ("gone: true", "gone: false", "this change changes nothing, or too much, write either keys: or gone: true"),
        ("gone: true", "gone: true, keys: {rating: 5 A}", "this change changes nothing, or too much"),
        ("    how: A button", "    hwo: A button", "unknown key `hwo`, did you mean how?"),
        ("confidence: judgement", "confidence: read", "`source` and `confidence` disagree"),
        ('      "yes":\n', "      skipped:\n", "`skipped` is no answer here, give it a word of its own"),
    ],
)
def test_each_defect_is_named_with_its_place(tmp_path: Path, old: str, new: str, said: str) -> None:
    written(tmp_path, "unknowns.yaml", old, new)
    with pytest.raises(BadInput) as caught:
        load_unknowns(tmp_path)
    found = [problem for problem in caught.value.problems if said in problem.text()]
    assert found, [problem.text() for problem in caught.value.problems]
    assert found[0].file == "rules/scripts/unknowns.yaml"
    assert found[0].line is not None


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("[smoking, swollen, melted, burnt", "[smoking, swolen, melted, burnt", "no word of a look `swolen`"),
        ("  charger: [hot]", "  chargr: [hot]", "no kind of part `chargr`"),
        ("  panel: [hot]", "  panel: [blown]", "no word of stops `blown`"),
        ("discharged: [shorted_cell", "discharged: [shorted_cel", "no fault `shorted_cel`, did you mean shorted_cell?"),
        ("  protection_open: [", "  protection_shut: [", "no fault that an owner puts right `protection_shut`"),
        ("after_danger: [at_rest]", "after_danger: [at_ease]", "no state `at_ease`"),
        ("Charge {thing} fully", "Charge {battery} fully", "no blank `battery`"),
        ("Give {thing} air", "Give {thing air", "the braces are wrong"),
    ],
)
def test_each_name_among_the_words_of_scripts_is_known(tmp_path: Path, old: str, new: str, said: str) -> None:
    whole = tmp_path / "rules"
    shutil.copytree(rules_folder(), whole)
    line = written(whole, "cards.yaml", old, new)
    with pytest.raises(BadInput) as caught:
        load_script_words(whole)
    assert [p.line for p in caught.value.problems if said in p.text()] == [line]
    assert caught.value.problems[0].file == "rules/scripts/cards.yaml"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "old", "new"), [("unknowns.yaml", "gone: true", "gone: false"), ("cards.yaml", "cannot:", "cant:")]
)
def test_the_linter_reads_the_words_of_scripts(tmp_path: Path, name: str, old: str, new: str) -> None:
    whole = tmp_path / "rules"
    shutil.copytree(rules_folder(), whole)
    line = written(whole, name, old, new)
    wrong = read_base(whole).wrong
    assert {check for check, _ in wrong} == {"script"}
    assert (f"rules/scripts/{name}", line) in {(problem.file, problem.line) for _, problem in wrong}
