"""What to heed, what is open and who signs, in words: in full where there is room, else what is open in this room."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final, Literal

from geometry.records import record
from scenes.findings.cautions import Caution, CautionName, Open, SignOff
from scenes.findings.review import Review
from scenes.review.cautions import cautions, open_points, sign_offs
from scenes.room.scene import Scene, ceiling_of
from scenes.rulebook import DEFAULT_CODE, CodeSet, rules
from viz.words import first_look
from viz.words.locale import DASH, Locale
from viz.words.things import kind_name, surface

Sureness = Literal["copy", "mention", "memory"]

CODES: Final[frozenset[CautionName]] = frozenset(
    (
        *("sprinklers", "no sprinklers", "detectors", "no detectors"),
        *("grid", "grid load", "plenum", "seismic", "electrical"),
    )
)
"""The cautions that name other codes in another set than the US one."""

ELSEWHERE: Final[Mapping[CautionName, Sureness]] = {
    "sprinklers": "mention",
    "no sprinklers": "mention",
    "detectors": "memory",
    "no detectors": "memory",
    "seismic": "memory",
    "electrical": "memory",
}
"""How surely the codes of another set are known; where none is named, nothing is to be checked."""

SURENESS: Final[Mapping[CautionName, Sureness | None]] = {
    "sprinklers": "copy",
    "no sprinklers": "copy",
    "detectors": "memory",
    "no detectors": "memory",
    "grid": "mention",
    "grid load": "mention",
    "plenum": "memory",
    "seismic": "memory",
    "electrical": "memory",
}
"""How surely the code that a caution names is known; those that name no standard are not here."""

NOT_GIVEN: Final = ("mass", "structure", "grid", "safety cable")
"""What is open because the file does not give it: called as the caution of that name is."""

MOST: Final = 6
"""This many things are listed before the rest is counted."""


@record(frozen=True, slots=True)
class CautionText:
    """One caution in words. `code` is the topic it defers to, `defers` the sentence that says so, `checked` how far it
    was looked up."""

    name: CautionName
    title: str
    text: str
    code: str
    defers: str
    checked: str
    sureness: Sureness | None


@record(frozen=True, slots=True)
class SignOffText:
    """One line of the list of sign-offs: who, for what, and what is open."""

    who: str
    what: str
    open: str


def full(scene: Scene) -> tuple[CautionText, ...]:
    """Every caution of this room, the most specific first."""
    locale = Locale.of(scene)
    return tuple(_text(caution, scene, locale) for caution in cautions(scene))


def advice(locale: Locale) -> str:
    """What every output says of the clearances it shows."""
    return locale.say("clearance advice")


def closing(locale: Locale) -> str:
    """The sentence every set of cautions ends with."""
    return locale.say("closing")


def topics(scene: Scene) -> str:
    """What the cautions are about in one line, where there is no room for more: they are in the report."""
    locale = Locale.of(scene)
    found = [_topic(caution, locale) for caution in cautions(scene)]
    return locale.say("caution topics", topics="; ".join(found))


def line(review: Review) -> str:
    """What holds a room and all that is open in it, in one line that says what a check is not."""
    return f"{mark(review)}. {Locale.of(review.scene).say('advice, short')}"


def coordination(locale: Locale) -> str:
    """What stands under a picture in place of the cautions."""
    return locale.say("for coordination")


def hold(review: Review) -> str | None:
    """Why a room that fails, or has no verdict yet, is not to be installed; None where nothing fails."""
    locale = Locale.of(review.scene)
    if not review.judged:
        return locale.say("hold", reasons=first_look.reason(review))
    found = reasons(review)
    return locale.say("hold", reasons="; ".join(found)) if found else None


def reasons(review: Review) -> list[str]:
    """What fails in a room, each in a few words; none where nothing does."""
    locale, points = Locale.of(review.scene), open_points(review)
    return [_reason(point, points, review, locale) for point in points if point.fails]


def in_short(review: Review, most: int = 4) -> str:
    """What fails and what is open in a room, the first few of it, for a line in a table of rooms.

    Overhead load and secondary support are not among them: they are open in any.
    """
    locale = Locale.of(review.scene)
    if not review.judged:
        return first_look.reason(review)
    points = open_points(review)
    # how many are covered only upright stands beside how many are not
    said_already = {"overhead", "marginal" if any(one.name == "missed" for one in points) else "overhead"}
    others = [one for one in points if not one.fails and one.name not in said_already]
    said = [*reasons(review), *(_point(one, review, locale) for one in others)]
    return locale.listed(said, most)


def open_here(review: Review) -> str | None:
    """What is open in a room that does not fail, with who decides; None where one fails."""
    if any(point.fails for point in open_points(review)):
        return None
    return still_open(review)


def still_open(review: Review) -> str:
    """All that is open beside what fails a room, with who decides: there always is something that hangs overhead."""
    locale = Locale.of(review.scene)
    parts = []
    # what is open in any room comes after what is open in this one
    signed = sorted(sign_offs(review), key=lambda one: [point.name for point in one.open] == ["overhead"])
    for one in signed:
        points = [_point(point, review, locale) for point in one.open if not point.fails]
        if points:
            who = locale.say(f"who.{one.who}").lower()
            parts.append(locale.say("open, who", who=who, points=", ".join(points)))
    return locale.say("open", points="; ".join(parts))


def mark(review: Review) -> str:
    """What a title block and a page's head carry: the hold of a room that fails, then what is open."""
    held, points = hold(review), still_open(review)
    return f"{held}. {points}" if held else points


def signed_by(review: Review) -> tuple[SignOffText, ...]:
    """The list of sign-offs."""
    locale = Locale.of(review.scene)
    return tuple(_sign_off(one, review, locale) for one in sign_offs(review))


def as_json(scene: Scene) -> dict[str, Any]:
    """The cautions of a room as entries of its JSON: `advice` and `cautions`."""
    return {
        "advice": advice(Locale.of(scene)),
        "cautions": [
            {
                "id": one.name,
                "topic": one.title,
                "text": one.text,
                "defers_to": one.code,
                "sureness": one.sureness,
            }
            for one in full(scene)
        ],
    }


# ---- the pieces ------------------------------------------------------------------------------------------


def _text(caution: Caution, scene: Scene, locale: Locale) -> CautionText:
    name = caution.name
    things = _things(caution, locale)
    code, sureness = _code(name, scene.code.value, locale)
    unknown = name == "sprinklers" and scene.code.value != DEFAULT_CODE
    text = (
        locale.say("caution.text.sprinklers, not known", things=things, code=code)
        if unknown
        else locale.say(f"caution.text.{name}", things=things)
    )
    return CautionText(
        name=name,
        title=locale.say(f"caution.title.{name}"),
        text=text,
        code=code,
        defers=locale.say("defers, unchecked" if sureness else "defers", code=code),
        checked=locale.say("code.unchecked" if sureness else "code.none"),
        sureness=sureness,
    )


def _code(name: CautionName, code: CodeSet, locale: Locale) -> tuple[str, Sureness | None]:
    """What a caution defers to under a set of codes, and how surely that is known."""
    if code == "us" or name not in CODES:
        return locale.say(f"caution.code.{name}"), SURENESS.get(name)
    if code == "uk":
        return locale.say(f"caution.uk.code.{name}"), ELSEWHERE.get(name)
    return locale.say(f"caution.eu.code.{name}"), ELSEWHERE.get(name)


def _things(caution: Caution, locale: Locale) -> str:
    if caution.name == "not listed":
        return locale.either(_kinds(caution, locale))
    return locale.listed(caution.things, MOST)


def _kinds(caution: Caution, locale: Locale) -> list[str]:
    return [kind_name(kind, locale, 2) for kind in caution.things]


def _topic(caution: Caution, locale: Locale) -> str:
    things = caution.things if caution.name != "not listed" else _kinds(caution, locale)
    return locale.say(f"caution.line.{caution.name}", things=locale.listed(things, MOST))


def _reason(point: Open, points: Sequence[Open], review: Review, locale: Locale) -> str:
    """Why a room is held; beside who is not covered how many more are only upright, so that the counts add up."""
    upright = sum(len(other.things) for other in points if other.name == "marginal")
    text = _point(point, review, locale)
    return (
        locale.say("hold, upright", missed=text, count=upright)
        if point.name == "missed" and upright
        else text
    )


def _point(point: Open, review: Review, locale: Locale) -> str:
    if point.name == "missed":
        talkers = locale.counted(review.counts.talkers, "talker")
        return locale.say("hold, missed", count=len(point.things), talkers=talkers)
    things = locale.listed(_named(point, locale))
    if point.name in NOT_GIVEN:
        return locale.say(f"caution.line.{point.name}", things=things)
    return locale.say(f"open point.{point.name}", things=things, value=locale.length(point.value_m))


def _named(point: Open, locale: Locale) -> list[str]:
    if point.name == "changed":
        return [rules()[id].title for id in point.things]
    return [surface(id, locale) for id in point.things]


def _sign_off(one: SignOff, review: Review, locale: Locale) -> SignOffText:
    topics = [_topic(caution, locale) for caution in one.cautions]
    if one.who in ("architect", "client", "ceiling"):
        nothing = one.who == "ceiling" and not topics and ceiling_of(review.scene) == "open"
        topics.insert(0, locale.say(f"signs.{'no ceiling' if nothing else one.who}"))
    what = "; ".join(topics)
    points = [_point(point, review, locale) for point in one.open]
    return SignOffText(
        who=locale.say(f"who.{one.who}"),
        what=f"{what[0].upper()}{what[1:]}",
        open="; ".join(points) or DASH,
    )
