"""Messages are complete both ways: each one is used, each use has one, and the values are its fields."""

from __future__ import annotations

import ast
import re
import string
from collections.abc import Iterator
from pathlib import Path
from typing import get_args, get_type_hints

import pytest

from geometry.aims import AimName
from geometry.branching import Outcome
from geometry.coverage import REASONS
from geometry.heights import Cause
from geometry.index import IndexClass
from geometry.snap import Lacks, LeftOut
from geometry.tolerance import DIRECTIONS as WAYS
from scenes.findings.cause import CauseName, Direction
from scenes.findings.cautions import CautionName, OpenName, Signatory
from scenes.findings.changes import ChangeKind, FieldName
from scenes.findings.clearance import ClearanceState, Part
from scenes.findings.comparison import FigureName
from scenes.findings.installation import StepName
from scenes.findings.ladder import Layout, Proof
from scenes.findings.model import CeilingSource, DoubtName, NoteName, Skipped
from scenes.findings.placement import Change
from scenes.findings.review import AREA_STATES, Standing, Verdict
from scenes.findings.review import Direction as ToleranceDirection
from scenes.findings.sight import Corner, DefaultDecides, LineKind
from scenes.findings.sound import VALIDITY
from scenes.findings.wishes import WhyDropped
from scenes.models.devices import PREFIXES
from scenes.models.refusals import RefusalName
from scenes.place.problem import HOLDS
from scenes.place.refusals import PLACE_REFUSALS
from scenes.review.cautions import LOOKED_FOR
from scenes.room.hung import BoxPlace
from scenes.room.provenance import Origin
from scenes.room.scene import CeilingKind, HangsBy, Mount, Posture
from scenes.rulebook import CodeSet, Profession
from scenes.spec.agreement import NameOf
from scenes.spec.equipment import HELD, Kind
from scenes.spec.lengths import METRES_IN
from scenes.spec.mistakes import MisreadAs, MistakeCode, WriteRefusal
from scenes.spec.values import Counted, Quantity, Shape
from scenes.starting import Allowed, Question, RemarkName
from viz.building_index import COLUMNS as PROJECT_COLUMNS
from viz.commands.demo import ROOMS
from viz.drawing_list import COLUMNS as DRAWING_COLUMNS
from viz.handover import GROUPS
from viz.report import HEADINGS
from viz.schedule_sheet import COLUMNS as SCHEDULE_SHEET_COLUMNS
from viz.stage import LAYERS
from viz.start.documents import KINDS
from viz.words.american import SPELLINGS, SPELT
from viz.words.as_hung import COLUMNS as HUNG_COLUMNS
from viz.words.cautions import CODES, NOT_GIVEN
from viz.words.english import MESSAGES
from viz.words.materials import ITEMS
from viz.words.projects import STATES
from viz.words.start import FIELDS as START_FIELDS
from viz.words.start import LABELS as START_LABELS
from viz.words.topics import UNSIGNED

ROOT = Path(__file__).parents[3]

LABELS = (
    *(
        "profile",
        "x",
        "y",
        "tile",
        "ceiling",
        "underside",
        "drop",
        "turn",
        "band",
        "mass",
        "cut",
        "second",
        "holes",
        "cable",
        "box",
        "fixing",
    ),
    *("box support", "array support", "relief", "tolerance", "suspension", "hang", "level"),
)
BOXES = set(get_args(BoxPlace))
PENDANT = set(HELD["pendant"])

FAMILIES: dict[str, set[str]] = {
    "compare.figure.": {*get_args(FigureName), "hung"},
    "compare.more.": {"margin", "sideways", "farthest", "covered"},
    "rooms.count.": set(STATES),
    "drawings.": set(DRAWING_COLUMNS),
    "materials.": set(ITEMS),
    "count.": {"talker", "array", "clearance", "line", "room", "position"},
    "allowed.": set(get_args(MistakeCode)),
    "mistake.": set(get_args(MistakeCode)),
    "misread.": set(get_args(MisreadAs)),
    "wish.why.": set(get_args(WhyDropped)),
    "write.": set(get_args(WriteRefusal)),
    "quantity.": set(get_args(Quantity)),
    "counted.": set(get_args(Counted)),
    "shape.": set(get_args(Shape)),
    "what.": set(get_args(NameOf)),
    "cut.": {
        *("wires", "rod", "pole", "wires not known, spread"),
        *(f"{by} not known, structure" for by in ("wires", "rod", "pole")),
    },
    "holes.": {f"{what}, {say}" for what in ("hole", "cut") for say in ("one", "size not known")},
    "column.": {name.removeprefix("column.") for name in MESSAGES if name.startswith("column.")},
    "held.": set(HOLDS),
    "search.": set(get_args(AimName)),
    "search.round.": {"count", "margin", "tolerance", "most"},
    "search.several.": {"near", "centre"},
    "ladder.layout.": {*get_args(Layout), "middle"},
    "ladder.proof.": {*get_args(Proof), "not everyone"},
    "lattice.out.": set(get_args(LeftOut)),
    "lattice.less.": set(get_args(Lacks)),
    "tolerance.limited.": set(get_args(ToleranceDirection)),
    "aims.key.": set(get_args(AimName)),
    "aims.proof.": {*get_args(Outcome), "certified, groups"},
    "tour.outcome.": {"pass", "open"},
    "ways.": set(WAYS),
    "ways.stop.": {"ceiling", "floor", "sight"},
    "standing.verdict.": set(get_args(Verdict)),
    "report.aim.": set(get_args(AimName)),
    "report.fact.": {
        *("client", "number", "revision", "date", "drawn by", "checked by", "purpose", "from", "codes"),
    },
    "report.heading.": set(HEADINGS),
    "report.sight.": set(get_args(LineKind)),
    "sound.class.": set(get_args(IndexClass)),
    "sound.own.": {"noise", "over noise", "index", "direct"},
    "sound.reach.": {"more", "less"},
    "sound.reverberation.": {"long", "short"},
    "sound.valid.": set(VALIDITY) - {"before processing"},
    "report.tile.": {"advised", "unjudged"},
    "posture.": set(get_args(Posture)),
    "stage.reached.": set(get_args(Posture)),
    "stage.sight.": set(get_args(LineKind)),
    "state.": set(get_args(Standing)),
    "view.": {"corner", "plan", "ceiling", "long", "cross", "array", "camera", "seat", "free"},
    "verdict.": set(get_args(Verdict)),
    "mark.": set(get_args(Standing)),
    "reason.": set(REASONS),
    "outside.": {"leaning", *REASONS},
    "clearance.state.": set(get_args(ClearanceState)),
    "clearance.legend.": set(get_args(ClearanceState)),
    "clearance.part.": set(get_args(Part)),
    "clearance.who.": set(get_args(Part)) - {"body"},
    "sheet.ceiling.": set(get_args(CeilingKind)),
    "sheet.level.": {"underside", "centre"},
    "sheet.legend.keep-out.": {"body", "cable"},
    "sheet.item.": {"wall", "floor", "grid", "structure", "ceiling"},
    "clearance.thing.": {"wall", "floor", "grid", "structure", "ceiling"},
    "cause.": set(get_args(CauseName)) - {"runs-into"},
    "claim.tolerance.": {"level", "grid-tee"},
    "profession.": set(get_args(Profession)),
    "ask.": set(get_args(Profession)),
    "sight.line.": set(get_args(LineKind)),
    "sight.more.": set(get_args(LineKind)),
    "sight.corner.": set(get_args(Corner)),
    "sight.default.": set(get_args(DefaultDecides)),
    "slider.sign.": {"best", "now"},
    "sight.lift.": {"up", "down"},
    "sight.way.": (set(get_args(Direction)) | {"wall"}) - {"up", "down"},
    "page.place.": {"left", "right", "below", "above"},
    "page.view.": {"corner", "plan", "ceiling", "long", "cross"},
    "page.legend.": set(get_args(Standing)),
    "page.made.": {"document", "revision", "drawn by", "checked by"},
    "layer.": set(LAYERS),
    "schedule.": set(SCHEDULE_SHEET_COLUMNS),
    "as built.back.": {"lower", "raise"},
    "as built.why.": {"band", "turn", "level"},
    "as built.risk.": {"head", "rule"},
    "as built.column.": set(HUNG_COLUMNS),
    "card.mount.": set(get_args(Mount)),
    "card.as hung.": {"wall", "underside", "level", "band", "ceiling"},
    "mount.": set(get_args(Mount)),
    "handover.group.": set(GROUPS),
    "project.": set(PROJECT_COLUMNS),
    "demo.": set(ROOMS),
    "start.label.": set(START_LABELS),
    "start.aim.": {"none", *get_args(AimName)},
    "start.document.": {*KINDS, "none", "made", "stale"},
    "start.document.what.": set(KINDS),
    "start.field.": set(START_FIELDS),
    "start.hint.": set(START_FIELDS),
    "start.unit.": set(METRES_IN),
    "start.answer.": {"no", "yes"},
    "import.": set(get_args(NoteName)),
    "doubt.": set(get_args(DoubtName)),
    "rooms.source.": set(get_args(CeilingSource)),
    "rooms.why.": set(get_args(get_type_hints(Skipped)["why"])),
    "refused.": set(get_args(RefusalName)),
    "topic.trade.": {"mechanical", *(set(get_args(Signatory)) - UNSIGNED)},
    "update.": {"changed", "new", "gone", "kept"},
    "new.question.": set(get_args(Question)),
    "new.remark.": set(get_args(RemarkName)),
    "new.allowed.": set(get_args(Allowed)) - {"kind", "shape"},
    "tolerance.": {"sideways", "up", "down"},
    "tolerance.figure.": set(get_args(ToleranceDirection)),
    "tolerance.by.": {"area", "sight"},
    "conflict.limit.": set(REASONS),
    "try.hold.": set(HOLDS),
    "try.with.": {"ceiling", "reach", "band", "without"},
    "try.none.": set(get_args(Change)),
    "open point.": set(get_args(OpenName)) - {"missed", *NOT_GIVEN},
    "layout.stand.": set(get_args(Verdict)),
    "area.": {"marginal", "missed"},
    "area.at height.": set(AREA_STATES),
    "area.state.": set(AREA_STATES),
    "map.": {"missed", "marginal"},
    "place.refused.": set(PLACE_REFUSALS),
    "thing.": {"walls", "floor", "grid", "structure", "ceiling"},
    "kind.": {
        *("talker", "table", "array", "obstacle", "camera", "display", "door", "window", "opening"),
        "ceiling part",
        *get_args(Kind),
        *PREFIXES,
        *LOOKED_FOR,
    },
    "who.": set(get_args(Signatory)),
    "signs.": {"architect", "client", "ceiling", "no ceiling"},
    "caution.title.": set(get_args(CautionName)),
    "caution.line.": set(get_args(CautionName)),
    "caution.text.": set(get_args(CautionName)),
    "caution.uk.code.": set(CODES),
    "caution.eu.code.": set(CODES),
    "codes.": {*get_args(CodeSet), "default"},
    "caution.code.": set(get_args(CautionName)),
    "label.": set(LABELS),
    "box.": BOXES | {f"{box}, tile" for box in BOXES - {"under the ceiling"}},
    "hang.": BOXES - {"frame"},
    "fixing.": BOXES | {"structure, suspended", "frame, suspended"},
    "support.box.": {"line", "line, frame", "none"},
    "suspension.": set(get_args(HangsBy)),
    "support.array.": {*PENDANT, "frame"},
    "relief.": {*PENDANT, "frame", "none"},
    "step.title.": set(get_args(StepName)),
    "step.text.": set(get_args(StepName)),
    "installed.": {
        *("array", "x", "y", "underside", "level", "by", "serial", "band", "turn", "support", "signed"),
    },
    "kind of change.": set(get_args(ChangeKind)),
    "field.": set(get_args(FieldName)),
    "value.from.": set(get_args(Origin)) - {"given"},
    "assumed.mouth.": set(get_args(Posture)),
    "assumed.survey.": {*get_args(Posture), "copy"},
    "people.span.": {"one", "both"},
    "people.fact.": {"people", "advice"},
    "people.held.": set(get_args(Posture)),
    "people.lower.": set(get_args(Posture)),
    "people.place.": set(get_args(Posture)),
    "assumed.limit.": {"wall", "table"},
    "heights.why.": (set(get_args(Cause)) | {"floor, flush"}) - {"disagree"},
}
"""What may follow a name that ends in a point: each has its message."""

BRITISH = (
    "anticlockwise",
    "centre",
    "colour",
    "favour",
    "grey",
    "labour",
    "metre",
    "programme",
    "storey",
    "judgement",
)
"""Words whose American spelling differs, wherever they stand in a message."""


def fields(text: str) -> set[str]:
    """The names of a template's fields."""
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


def forms(message: str | tuple[str, str]) -> tuple[str, ...]:
    return (message,) if isinstance(message, str) else message


def names_of(node: ast.expr) -> Iterator[str]:
    """The message names an argument can be: a text, either of two, or a family's beginning with its point."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from names_of(node.body)
        yield from names_of(node.orelse)
    elif isinstance(node, ast.JoinedStr) and isinstance(node.values[0], ast.Constant):
        yield str(node.values[0].value)


REFUSALS = ("WrongUse", "OutputInTheWay", "NoSuchView", "NoSuchStyle", "Refused")
"""Kinds of viz.refusals.Refusal that are made of a message's name and its fields."""


def calls() -> Iterator[tuple[str, ast.Call]]:
    """Every call of `say` in viz, by its own name too, and every refusal made there, with the file it is in."""
    for path in sorted((ROOT / "viz").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and (
                getattr(node.func, "attr", "") == "say" or getattr(node.func, "id", "") in ("say", *REFUSALS)
            ):
                yield f"{path.relative_to(ROOT)}:{node.lineno}", node


def template_calls() -> Iterator[tuple[str, str, set[str]]]:
    """Every `say` of the templates: where, the name or a family's beginning with its point, and the fields given."""
    for path in sorted((ROOT / "viz" / "templates").rglob("*.html")):
        for name, ending, rest in TEMPLATE_CALL.findall(path.read_text("utf-8")):
            yield path.name, name, set() if ending else set(re.findall(r"(\w+)=", rest))


TEMPLATE_CALL = re.compile(r'say\("([^"]+)"( ~ [\w.]+)?((?:, \w+=[\w.]+)*)\)')


def constants() -> set[str]:
    """Every text in viz but the messages themselves."""
    found = set()
    for path in (ROOT / "viz").rglob("*.py"):
        if not path.name.startswith("english"):
            tree = ast.walk(ast.parse(path.read_text("utf-8")))
            found |= {n.value for n in tree if isinstance(n, ast.Constant) and isinstance(n.value, str)}
    return found


def test_every_message_is_used_and_every_one_used_is_there() -> None:
    used = {name for _, call in calls() for name in names_of(call.args[0])}
    used |= {name for _, name, _ in template_calls()}
    families = {name for name in used if name.endswith(".")}
    # counts are looked up inside `counted`
    assert families == set(FAMILIES)
    there = {family + name for family, names in FAMILIES.items() for name in names}
    assert there <= set(MESSAGES)
    assert used - families <= set(MESSAGES)
    columns = {name.removeprefix("column.") for name in there if name.startswith("column.")}
    assert columns <= constants() | {name.removeprefix("column.") for name in used}
    # a name may also come by a variable: then it stands somewhere as it is
    assert set(MESSAGES) - there - used <= constants()


def test_no_message_is_there_twice() -> None:
    names = [
        key.value
        for path in sorted((ROOT / "viz" / "words").glob("english*.py"))
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Dict)
        for key in node.keys
        if isinstance(key, ast.Constant)
    ]
    assert len(names) == len(MESSAGES)
    assert {name for name in names if names.count(name) > 1} == set()


def test_every_call_gives_the_fields_of_its_message() -> None:
    wrong = []
    for where, call in calls():
        # a page's refusal may be one that is not said
        given = {keyword.arg for keyword in call.keywords} - {"quiet"}
        if None in given:
            continue  # passed on
        if len(call.args) > 1:
            given.add("count")
        for name in names_of(call.args[0]):
            if name in MESSAGES:
                asked = {field for form in forms(MESSAGES[name]) for field in fields(form)}
                counted = not isinstance(MESSAGES[name], str)
                if asked - {"count"} != given - {"count"} or (counted or "count" in asked) != (
                    "count" in given
                ):
                    wrong.append((where, name, asked ^ given))
    for file, name, given_there in template_calls():
        if name in MESSAGES and not name.endswith("."):
            asked = {field for form in forms(MESSAGES[name]) for field in fields(form)}
            if asked != given_there:
                wrong.append((file, name, asked ^ given_there))
    assert wrong == []


def test_every_say_of_a_template_is_understood() -> None:
    for path in (ROOT / "viz" / "templates").rglob("*.html"):
        text = path.read_text("utf-8")
        assert text.count("say(") == len(TEMPLATE_CALL.findall(text)), path.name


@pytest.mark.parametrize("name", MESSAGES)
def test_both_forms_of_a_message_have_the_same_fields_but_for_the_count(name: str) -> None:
    asked = [fields(form) - {"count"} for form in forms(MESSAGES[name])]
    assert all(one == asked[0] for one in asked)


def test_american_spells_every_message_and_keeps_its_fields() -> None:
    assert SPELT.keys() == MESSAGES.keys()
    for name, message in MESSAGES.items():
        for british, american in zip(forms(message), forms(SPELT[name]), strict=True):
            assert fields(british) == fields(american)
            assert len(british.split()) == len(american.split())
            words = set(re.findall(r"[a-z]+", re.sub(r"{.*?}", "", american).lower()))
            assert not {word for word in words for stem in BRITISH if word.startswith(stem)}
    assert not set(SPELLINGS) & set(SPELLINGS.values())


def test_the_walk_finds_names_in_every_way_they_are_given() -> None:
    call = ast.parse('say("a" if x else f"b.{y}", 2, z=1)').body[0].value  # type: ignore[attr-defined]
    assert list(names_of(call.args[0])) == ["a", "b."]
