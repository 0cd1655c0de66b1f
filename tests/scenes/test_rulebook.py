"""The file of rules: its form, its numbers, what each rests on; and that no code tests for a rule by its id."""

from __future__ import annotations

import ast
from pathlib import Path
from typing import get_args

import pytest

from scenes.rulebook import Rule, read_rules, rule_ids, rules
from scenes.spec.equipment import Kind

ROOT = Path(__file__).parents[2]

NUMBERS = {
    "touch": "R1",
    "sprinkler-spray": "R2",
    "sprinkler-table": "R3",
    "smoke-detector": "R4",
    "supply-diffuser": "R5",
    "return-grille": "R6",
    "loudspeaker": "R7",
    "light": "R8",
    "projector": "R9",
    "projector-light": "R10",
    "beam": "R11",
    "other": "R12",
    "obstacle": "R13",
    "hang-line": "R14",
    "grid-tee": "R15",
    "other-array": "R16",
    "wall": "R17",
    "headroom": "R18",
    "free-over-table": "R19",
    "fan": "R20",
    "access-panel": "R21",
    "safety-sign": "R22",
    "detector-in-air": "R23",
    "light-in-spray": "R24",
    "detector-by-loudspeaker": "R25",
    "misplaced-device": "R26",
    "swing": "R27",
}
"""Sheets, tables and issue files name rules by these. A number is never changed and never given again."""


def test_a_rules_number_stays_its_own_for_ever() -> None:
    assert {id: rule.number for id, rule in rules().items()} == NUMBERS
    assert rule_ids() == tuple(NUMBERS)


def test_every_rule_has_a_title_of_its_own_and_says_what_it_rests_on() -> None:
    titles = [rule.title for rule in rules().values()]
    assert len(set(titles)) == len(titles)
    for rule in rules().values():
        assert len(rule.source) > 10
        assert not rule.source.endswith(".")


def test_what_a_rule_rests_on() -> None:
    by_basis: dict[str, set[str]] = {}
    for rule in rules().values():
        by_basis.setdefault(rule.basis, set()).add(rule.id)
    assert by_basis["fact"] == {"touch", "headroom"}
    assert by_basis["code"] == {"sprinkler-spray", "sprinkler-table", "smoke-detector"}
    assert {rule.sureness for rule in rules().values()} == {"geometry", "copy", "memory", "default"}


def test_no_website_and_nobodys_memory_is_an_authority_in_what_people_read() -> None:
    for rule in rules().values():
        read = f"{rule.title} {rule.source} {rule.standard}".lower()
        assert not [word for word in ("www", ".com", ".org", ".gov", "forum") if word in read]
        assert not [word for word in ("memory", "our ", "designer's input", "copy") if word in read]


def test_every_kind_of_device_has_a_rule_beside_touching() -> None:
    about = {kind for rule in rules().values() for kind in rule.applies_to}
    assert set(get_args(Kind)) <= about


SOUND = (
    "id: a, number: R1, title: t, measure: distance, applies_to: [light], about: ceiling, basis: default, "
    "values: {required: 1}, sureness: default, source: s, signs: [fire]"
)


def test_a_sound_rule_is_read() -> None:
    rule = read_rules(f"- {{{SOUND}}}")["a"]
    assert isinstance(rule, Rule)
    assert (rule.binds_search, rule.values, rule.table, rule.limit) == (True, {"required": 1.0}, (), None)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{}", "no list"),
        ("- {id: a}", "rule a: (?s:.*)Field required"),
        (f"- {{{SOUND}, weight: 3}}", "rule a: (?s:.*)Extra inputs"),
        (f"- {{{SOUND}}}".replace("R1", "1"), "number"),
        (f"- {{{SOUND}}}".replace("sureness: default", "sureness: sure"), "sureness"),
        (f"- {{{SOUND}}}".replace("sureness: default", "sureness: copy"), "as sure as a default"),
        (f"- {{{SOUND}}}".replace("required: 1", "required: -1"), "greater than or equal to 0"),
        (f"- {{{SOUND}}}".replace("{required: 1}", "{}"), "has values"),
        (f"- {{{SOUND}, table: [[1, 1], [1, 2]]}}", "rise from row to row"),
        (f"- {{{SOUND}, standard: X 1}}", "a rule of a code names its standard"),
        (f"- {{{SOUND}}}\n- {{{SOUND}}}", "given twice"),
        (f"- {{{SOUND}}}\n- {{{SOUND}}}".replace("id: a", "id: b", 1), "number R1 is given twice"),
        (f"- {{{SOUND}, shares: b}}", "shares b, which is no rule before it"),
    ],
)
def test_a_rules_file_that_breaks_its_form_is_an_error(text: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        read_rules(text)


def test_each_measure_is_a_file_and_each_file_a_rules() -> None:
    files = {path.stem for path in (ROOT / "scenes" / "rules" / "measures").glob("*.py")} - {"__init__"}
    assert files == {rule.measure for rule in rules().values()}


def test_no_code_names_a_rule() -> None:
    """An id that is a word of its own (light, wall, touch) is looked for beside the name of what holds an id."""
    telling = {id for id in rules() if "-" in id}
    plain = set(rules()) - telling
    found = []
    for path in (file for floor in ("geometry", "scenes", "viz") for file in (ROOT / floor).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and node.value in telling:
                found.append((path.relative_to(ROOT), node.lineno, node.value))
            if isinstance(node, ast.Compare) and "rule" in ast.unparse(node.left):
                named = {n.value for n in ast.walk(node) if isinstance(n, ast.Constant)} & plain
                found += [(path.relative_to(ROOT), node.lineno, name) for name in named]
    assert found == []
