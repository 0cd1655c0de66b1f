"""Lines of sight that are blocked, by what, and what would free them."""

from __future__ import annotations

from collections.abc import Sequence

from geometry.records import record
from scenes.findings.cause import Move
from scenes.findings.heights import InTheWay
from scenes.findings.review import Review
from scenes.findings.sight import LineKind, Sightline, Unblock
from scenes.review.blockers import wall_ids
from scenes.review.sight import CORNERS
from scenes.room.scene import Scene
from scenes.room.walls import wall_name
from viz.words.locale import Locale

KINDS: tuple[LineKind, ...] = ("array", "camera", "display")
"""In the order in which their lines are told."""
MOST_TOLD = 2
"""Moves that are told of one blocker: enough to choose from."""


def thing(id: str, scene: Scene, locale: Locale) -> str:
    """What blocks a line, by its id; a wall by its name on the plan."""
    walls = wall_ids(scene)
    return locale.say("sight.wall", wall=wall_name(walls.index(id))) if id in walls else id


@record(frozen=True, slots=True)
class UnblockText:
    """What a thing blocks, what would free it, and the default that decides (empty where none does)."""

    what: str
    advice: str
    default: str

    @property
    def whole(self) -> str:
        """All of it."""
        return " ".join(text for text in (self.what, self.advice, self.default) if text)


def finding(one: Unblock, review: Review) -> UnblockText:
    """What a thing blocks, all of its lines at once, and what would free them."""
    locale, scene = Locale.of(review.scene), review.scene
    lines = [line for line in review.blocked if (line.start, line.end) in one.lines]
    decides = [line.default_decides for line in lines if line.blocked_by == one.blocker]
    default = next((what for what in decides if what is not None), None)
    return UnblockText(
        _finding(one.blocker, lines, scene, locale),
        advice(one, scene, locale),
        "" if default is None else locale.say(f"sight.default.{default}", thing=one.blocker),
    )


def findings(review: Review) -> tuple[UnblockText, ...]:
    """For every thing that blocks lines, in the order of the review."""
    return tuple(finding(one, review) for one in review.unblock)


def advice(one: Unblock, scene: Scene, locale: Locale) -> str:
    """What would free all lines of a thing: one of two moves, or who needs another place."""
    moves = one.moves[:MOST_TOLD]
    if not moves:
        return locale.say("sight.elsewhere", things=_either(one.else_place, locale))
    first, *rest = (_move(move, scene, locale) for move in moves)
    text = locale.say("sight.move or", first=first, other=rest[0]) if rest else first
    return locale.say("sight.advice", moves=text[:1].upper() + text[1:])


def advice_for(line: Sightline, review: Review) -> str | None:
    """The advice on everything that blocks a line, or None for a line that is clear."""
    locale = Locale.of(review.scene)
    texts = [
        advice(one, review.scene, locale) for one in review.unblock if (line.start, line.end) in one.lines
    ]
    return " ".join(texts) or None


def sentences(review: Review) -> tuple[str, ...]:
    """For arrays, for cameras and for displays the first thing that blocks lines of theirs, and how many more."""
    locale = Locale.of(review.scene)
    texts = []
    for kind in KINDS:
        pairs = [(line.start, line.end) for line in review.blocked if line.kind == kind]
        first = next((one for one in review.unblock if set(one.lines) & set(pairs)), None)
        if first is not None:
            more = len([pair for pair in pairs if pair not in first.lines])
            texts.append(finding(first, review).whole)
            if more:
                texts.append(locale.say(f"sight.more.{kind}", count=more))
    return tuple(dict.fromkeys(texts))


def in_the_way(one: InTheWay, locale: Locale) -> str:
    """What a thing blocks, all of its lines at once."""
    name = locale.say("sight.walls first") if one.thing is None else one.thing
    return locale.say("sight.blocks", thing=name, what=locale.listed(_blocked(one.lines, locale)))


def _blocked(lines: Sequence[tuple[LineKind, str, str]], locale: Locale) -> list[str]:
    parts = []
    for kind in KINDS:
        found: dict[str, list[str]] = {}
        for start, end in ((start, end) for its, start, end in lines if its == kind):
            # an array or camera looks at several talkers, several talkers at a display
            one, other = (end, start) if kind == "display" else (start, end)
            found.setdefault(one, []).append(other)
        for one, others in found.items():
            parts.append(
                locale.say(f"sight.line.{kind}", count=len(others), one=one, others=locale.listed(others))
            )
    return parts


def _finding(blocker: str, lines: Sequence[Sightline], scene: Scene, locale: Locale) -> str:
    by = [line for line in lines if line.blocked_by == blocker]
    name, walls = blocker, wall_ids(scene)
    if blocker in walls:
        name = locale.say("sight.wall first", wall=wall_name(walls.index(blocker)))
    elif by and all(line.cable for line in by):
        name = locale.say("sight.cable first", array=blocker)
    parts = []
    for kind in KINDS:
        mine = [line for line in lines if line.kind == kind]
        # an array or camera looks at several talkers, several talkers at a display
        viewers = dict.fromkeys(line.end if kind == "display" else line.start for line in mine)
        for one in viewers:
            of_one = [line for line in mine if one in (line.start, line.end)]
            others = [line.start if kind == "display" else line.end for line in of_one]
            parts.append(
                locale.say(f"sight.line.{kind}", count=len(others), one=one, others=locale.listed(others))
            )
            if kind == "display" and len(of_one) == 1:
                parts[-1] += _hidden(of_one[0], locale)
    return locale.say("sight.blocks", thing=name, what=locale.listed(parts))


def _hidden(line: Sightline, locale: Locale) -> str:
    """Which part of the screen is hidden."""
    if len(line.hidden) == len(CORNERS):
        return ""
    corners = [locale.say(f"sight.corner.{corner}") for corner in line.hidden]
    return (
        locale.say("sight.corners", corners=locale.listed(corners)) if corners else locale.say("sight.part")
    )


def _move(move: Move, scene: Scene, locale: Locale) -> str:
    by = locale.needed(move.by_m)
    if move.direction in ("up", "down"):
        text = locale.say(f"sight.lift.{move.direction}", thing=move.thing, by=by)
    else:
        towards = (
            locale.say(f"sight.way.{move.direction}")
            if move.wall is None
            else locale.say("sight.way.wall", wall=wall_name(move.wall))
        )
        text = locale.say("sight.move", thing=move.thing, by=by, towards=towards)
    return locale.say("sight.seldom", move=text) if move.seldom else text


def _either(things: Sequence[str], locale: Locale) -> str:
    *rest, last = things
    return locale.say("sight.or", first=", ".join(rest), last=last) if rest else last
