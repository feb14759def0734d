"""`diagnose rules` and the option `--rules` as their user meets them."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from diagnose.cli.main import run
from diagnose.inference.handbook import here_of, places_of
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import load_layout
from diagnose.store.rule_skeletons import FOLDERS
from diagnose.store.rules import load_rules
from diagnose.store.tables import load_tables

HEADINGS = [
    "What it is", "Where it can sit, the likeliest first", "Where it can sit on: Crew-cab tray utility",
    "What people notice", "What people say", "What eyes, nose and hands find", "What brings it about",
    "How it reads here: high resistance at the tray strap", "How to prove it", "How to repair it",
    "Proof of the repair", "Examples", "Sources",
]  # fmt: skip


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = run(list(words))
    shown = capsys.readouterr()
    return status, shown.out, shown.err


def test_a_page_reads_like_a_handbook(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = told(capsys, "rules", "show", "high_resistance", "tray_strap", "--on", "crew_cab_tray")
    assert (status, err) == (0, "")
    lines = out.splitlines()
    assert [line for line in lines if line in HEADINGS] == HEADINGS
    for heading in ("How to prove it", "How to repair it"):
        section = out.partition(f"\n{heading}\n")[2].partition("\n\n")[0]
        said = [line.strip().partition(" ")[0] for line in section.splitlines() if re.match("  [C-]", line)]
        assert said == sorted(said, reverse=True, key=lambda word: word == "Caution:"), "cautions stand first"
        assert said[0] == "Caution:"
    rule = load_rules().faults["high_resistance"]
    flat = " ".join(out.split())
    assert all(text in flat for text in (rule.says, rule.remedy, rule.proof, *rule.noticed))


def test_it_reads_here_as_expect_says(capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = told(capsys, "rules", "show", "high_resistance", "tray_strap", "--on", "crew_cab_tray")
    sound, faulty = re.findall(r"(?:sound|faulty): +(-?[\d.]+) V to (-?[\d.]+) V", out)[:2]
    words = ["expect", "crew_cab_tray", "tray", "chassis", "--when", "engine_running", "--json"]
    fault = '{"fault": "high_resistance", "part": "tray_strap"}'
    for band, more in ((sound, []), (faulty, ["--fault", fault])):
        (one,) = json.loads(told(capsys, *words, *more)[1])["expected"]
        assert [float(end) for end in band] == pytest.approx([one["low"], one["high"]], abs=0.006)


@pytest.mark.slow
def test_every_fault_is_told_by_some_test_where_it_is_likeliest() -> None:
    rules, tables = load_rules(), load_tables(rules_folder())
    layouts = [load_layout("crew_cab_tray"), load_layout("van_lfp_seat"), load_layout("portable_panel")]
    for rule in rules.faults.values():
        found = (here_of(places_of(rule, layout, rules), layout, rules, tables, 1, 1).telling for layout in layouts)
        (best, *_) = next(telling for telling in found if telling)
        assert best.share >= 0.35, rule.id
        bands = [(each.low, each.high, each.chances) for each in (best.sound, best.faulty)]
        assert bands[0] != bands[1], rule.id


def test_a_page_without_an_installation(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = told(capsys, "rules", "show", "leaking_diode")
    assert status == 0
    assert "diagnose rules show leaking_diode --on INSTALLATION" in " ".join(out.split())
    status, out, _ = told(capsys, "rules", "show", "protection_open", "--on", "crew_cab_tray")
    assert (status, "nowhere: nothing is fitted" in out) == (0, True)


@pytest.mark.parametrize("columns", [40, 80])
def test_no_line_is_wider_than_the_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, columns: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    _, out, _ = told(capsys, "rules", "show", "high_resistance", "--on", "crew_cab_tray")
    assert max(map(len, out.splitlines())) <= columns


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("show", "high_resistence"), "FAULT: unknown fault `high_resistence`, did you mean high_resistance?"),
        (("show", "blown fuze"), "FAULT: unknown fault `blown fuze`, did you mean blown?"),
        (("show",), "FAULT: `rules show` needs it, write diagnose rules show FAULT"),
        (("show", "blown", "input_fuse"), "input_fuse: one word too many, write FAULT behind show"),
        (("show", "blown", "input_fuze", "--on", "crew_cab_tray"), "did you mean input_fuse?"),
        (("show", "blown", "--into", "x"), "--into: `rules show` does not take it, leave it out"),
        (("shw",), "ACTION: `shw` is none, write show or new"),
        (("new", "falt", "x"), "KIND: `falt` cannot be written anew, did you mean fault?"),
        (("new", "fault"), "NAME: `rules new` needs it"),
        (("new", "fault", "../x"), "NAME: `../x` is no name of a rule"),
        (("new", "fault", "blown"), "NAME: a fault `blown` ships already"),
        (("new", "test", "wolts"), "NAME: the program works out no test `wolts`, did you mean volts?"),
        (("new", "fault", "x", "--into", ""), "--into: this is no name of a folder"),
        (("show", "blown", "--rules", ""), "--rules: there is no such folder"),
        (("new", "fault", "x", "--on", "y"), "--on: `rules new` does not take it"),
    ],
)
def test_mistakes_on_the_command_line(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
    words: tuple[str, ...], says: str,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    status, out, err = told(capsys, "rules", *words)
    assert (status, out) == (2, "")
    assert says in err
    assert list(tmp_path.iterdir()) == []


NAMES = {"fault": "strand_cut", "test": "volts", "layout": "our_van", "complaint": "it_hums"}


@pytest.mark.parametrize("kind", [pytest.param(k, marks=pytest.mark.slow) if k == "layout" else k for k in FOLDERS])
def test_a_skeleton_is_written_and_lint_names_what_is_to_be_filled_in(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, kind: str
) -> None:
    monkeypatch.chdir(tmp_path)
    status, out, err = told(capsys, "rules", "new", kind, NAMES[kind])
    assert (status, err) == (0, "")
    written = re.findall("^written: (.*)$", out, re.MULTILINE)
    assert written[0] == f"own_rules/{FOLDERS[kind]}/{NAMES[kind]}.yaml"
    assert sorted(written) == sorted(str(file.relative_to(tmp_path)) for file in tmp_path.rglob("*.yaml"))
    open_values = [(file, number) for file in written
                   for number, line in enumerate(Path(file).read_text().splitlines(), 1)
                   for _ in re.findall("FILL IN", line)]  # fmt: skip
    status, out, err = told(capsys, "lint", "--rules", "own_rules", "--json")
    found = json.loads(out)["findings"]
    assert status == 1
    assert {each["id"] for each in found} == {"unfilled"}
    assert sorted((each["file"], each["line"]) for each in found) == sorted(open_values)
    assert err.startswith("rules: those of own_rules over those that ship: ")


def test_nothing_is_written_over(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "ours" / "examples").mkdir(parents=True)
    example = tmp_path / "ours" / "examples" / "it_hums.yaml"
    example.write_text("mine\n", encoding="utf-8")
    status, out, err = told(capsys, "rules", "new", "complaint", "it_hums", "--into", "ours")
    assert (status, out) == (2, "")
    assert err.startswith("ours/examples/it_hums.yaml: it exists already, nothing was written")
    assert [file for file in tmp_path.rglob("*") if file.is_file()] == [example]
    assert example.read_text(encoding="utf-8") == "mine\n"


FILLED = {
    "what the trade calls it": "cut strands", "in one sentence": "Some strands are cut, so volts are lost.",
    "families above": "cable", "laws above": "add_resistance", "kinds above": "cable", "such as ohm": "ohm",
    "the smallest": 0.02, "the largest": 0.4, "how often at one place": 0.2, "what people notice": "it is warm there",
    "`look` may find": "damaged", "how often with the fault": 0.4, "how often on a sound part": 0.015,
    "in an owner's words": "One cable is partly cut.", "without a tool": "Is the cable cut anywhere?",
    "how to mend it": "Renew the cable.", "proves it mended": "At full current under 0.1 V is lost along the cable.",
    "minutes it takes": 30, "shows that it is this": "volts along the cable", "looks like it": "a fuse is blown",
    "such as 0.31 V": "0.31 V", "such as 0.04 V": "0.04 V", "the part it sits at": "input_cable",
    "the same part": "input_cable", "the complaint as one sentence": "It hums.", "how one person": "it hums",
    "how another": "something is buzzing", "the id of a fault": "high_resistance", "how many times": 2.0,
    "the case is called": "A case", "was found at": "input_cable", "in the order of doing": "Red here, black there.",
    "on the telephone": "Put the red tip there.", "a mistake people": "a probe on paint", "then looks": "too little",
    "another point": "charger_in", "a point": "start_pos", "such as 14.1 V": "14.1 V", "such as 13.8 V": "13.8 V",
    "vehicle is called": "Our van", "few sentences": "It is ours.", "what was read": "0.2 V",
}  # fmt: skip


def fill_in(folder: Path) -> None:
    """Fill in every value that is open, those that show an example with the example."""
    for file in folder.rglob("*.yaml"):
        text = file.read_text(encoding="utf-8")
        for value in re.findall('"FILL IN: ([^"]*)"', text):
            shown = re.search(r"(?:for example|, such as) ([\d.]+ [A-Za-z0-9]+)$", value)
            known = [filled for words, filled in FILLED.items() if words in value]
            assert known or shown, value
            text = text.replace(f'"FILL IN: {value}"', str(known[0]) if known else shown[1] if shown else "", 1)
        file.write_text(text, encoding="utf-8")


@pytest.mark.slow
def test_skeletons_that_are_filled_in_are_whole_rules(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    for kind, name in NAMES.items():
        assert run(["rules", "new", kind, name, "--into", "ours"]) == 0
    fill_in(tmp_path / "ours")
    capsys.readouterr()
    status, out, err = told(capsys, "lint", "--rules", "ours")
    assert (status, "0 FAIL" in out) == (0, True), out
    assert "added complaints/it_hums, examples/it_hums, examples/our_van" in err
    status, out, _ = told(capsys, "rules", "show", "strand_cut", "--rules", "ours", "--on", "our_van")
    assert status == 0
    assert "cut strands at the" in " ".join(out.split())


SMALL = """\
title: One lamp
parts:
  battery: {kind: battery, pos: pos, neg: neg, chemistry: agm, capacity: 50 Ah}
  fuse: {kind: fuse, ends: [pos, fuse_load], rating: 10 A, style: blade}
  feed: {kind: cable, ends: [fuse_load, lamp_pos], area: 2.5 mm2, length: 2 m}
  lamp: {kind: load, pos: lamp_pos, neg: neg, power: 20 W}
"""


def test_the_ranking_follows_the_company_s_rules_and_says_so(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "ours" / "faults").mkdir(parents=True)
    backed = 'source: "no published figure: judgement", confidence: judgement'
    (tmp_path / "ours/faults/blown.yaml").write_text(f"frequency: {{weight: 40.0, {backed}}}\n", encoding="utf-8")
    (tmp_path / "readings.yaml").write_text("readings:\n  - {works: lamp, when: loaded, read: no}\n", encoding="utf-8")
    (tmp_path / "small.yaml").write_text(SMALL, encoding="utf-8")
    words = ["rank", "small.yaml", "--readings", "readings.yaml", "--json"]
    told_rules = "rules: those of ours over those that ship: changed faults/blown (frequency)\n"
    status, first, err = told(capsys, *words, "--rules", "ours")
    assert (status, err) == (0, told_rules)
    again = told(capsys, *words, "--rules", "ours", "--no-cache")
    assert again == (0, first, told_rules), "the same bytes, with the cache and without"
    _, shipped, err = told(capsys, *words)
    assert err == ""
    chance = [next(f["probability"] for f in json.loads(text)["faults"] if f["fault"] == "blown")
              for text in (first, shipped)]  # fmt: skip
    assert chance[0] > 2 * chance[1]
    status, _, err = told(capsys, "expect", "small.yaml", "pos", "neg", "--rules", "ours", "--json")
    assert (status, err) == (0, told_rules)


@pytest.mark.parametrize("words", [("rank", "crew_cab_tray"), ("expect", "crew_cab_tray", "tray", "chassis"),
                                   ("rules", "show", "blown"), ("lint",)], ids=" ".join)  # fmt: skip
def test_a_mistake_in_the_company_s_rules(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, words: tuple[str, ...]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "ours" / "faults").mkdir(parents=True)
    (tmp_path / "ours/faults/blown.yaml").write_text("remedy: [\n", encoding="utf-8")
    status, out, err = told(capsys, *words, "--rules", "ours")
    assert (status, out) == (2, "")
    assert re.match(r"ours/faults/blown\.yaml:\d+:\d+: ", err)
    (tmp_path / "ours/faults/blown.yaml").write_text("remedi: x\n", encoding="utf-8")
    status, out, err = told(capsys, *words, "--rules", "ours")
    assert status == (1 if words == ("lint",) else 2)
    assert "ours/faults/blown.yaml:1:1: unknown key `remedi`, did you mean remedy?" in out + err


def test_a_whole_rule_base_stands_in_place_of_the_one_that_ships(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    shutil.copytree(rules_folder(), tmp_path / "whole")
    file = tmp_path / "whole" / "faults" / "blown.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("name: blown fuse", "name: gone fuse"), encoding="utf-8")
    status, out, err = told(capsys, "rules", "show", "blown", "--rules", "whole")
    assert (status, err) == (0, "rules: those of whole alone, not those that ship\n")
    assert out.startswith("Gone fuse (blown, ")
