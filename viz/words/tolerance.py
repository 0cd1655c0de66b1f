"""How far an array may be off, and what limits it: the headline of every output."""

from __future__ import annotations

from collections.abc import Mapping

from scenes.findings.review import Direction, Limit, Review, Tolerance
from scenes.review.blockers import WALLS
from scenes.room.scene import Scene
from viz.words.locale import DASH, Locale
from viz.words.things import named, surface

DIRECTIONS: tuple[Direction, ...] = ("sideways", "up", "down")
STOPS: Mapping[Direction, str] = {"up": "tolerance.to the ceiling", "down": "tolerance.to the floor"}
"""What is said of a direction that only a stop ends."""


def headline(review: Review) -> str | None:
    """The installation tolerance in one sentence; None where the room fails or covers nobody: not to be hung so.

    `Installation tolerance: ±25 mm sideways, 7 mm up, 27 mm down (limited by sprinkler SP2).`
    """
    if review.told_tolerance is None:
        return None
    locale = Locale.of(review.scene)
    name = "tolerance.headline, too close" if review.too_close_already else "tolerance.headline"
    return locale.say(name, tolerance=with_limit(review.told_tolerance, review.scene, locale))


def tile(review: Review) -> tuple[str, str]:
    """A large figure and what stands under it: `±25 mm`, `sideways, 7 mm up, 27 mm down: installation tolerance`."""
    locale, told = Locale.of(review.scene), review.told_tolerance
    if told is None:
        return DASH, locale.say("tolerance.name")
    _, *rest = (text for text in rose(told, locale).values() if text is not None)
    where = ", ".join([locale.say("tolerance.where.sideways"), *rest])
    return figure(told, "sideways", locale), locale.say("tolerance.tile", where=where)


def with_limit(tolerance: Tolerance, scene: Scene, locale: Locale) -> str:
    """All directions and what limits them: `±25 mm sideways, 7 mm up, 27 mm down (limited by …)`.

    Where not one thing limits all of them, what limits the tightest, and which that is: `(up limited by …)`.
    """
    found = tightest(tolerance)
    if found is None:
        return short(tolerance, locale)
    direction, limit = found
    one = len({end for end in tolerance.limited_by.values() if end is not None}) == 1
    by, all_of_it = limited_by(limit, scene, locale), short(tolerance, locale)
    if one:
        return locale.say("tolerance.limited", tolerance=all_of_it, by=by)
    return locale.say(f"tolerance.limited.{direction}", tolerance=all_of_it, by=by)


def of_array(tolerance: Tolerance, review: Review) -> str:
    """`with_limit` of one array; a dash in a room that fails: it is not to be hung so."""
    if review.held:
        return DASH
    return with_limit(tolerance, review.scene, Locale.of(review.scene))


def of_room(review: Review) -> str:
    """`short` of all arrays together; a dash in a room that has no headline."""
    if review.told_tolerance is None:
        return DASH
    return short(review.told_tolerance, Locale.of(review.scene))


def limits(tolerance: Tolerance, review: Review) -> list[str | None]:
    """What limits each direction, in their order; in a room that fails nothing is named."""
    if review.held:
        return [None for _ in DIRECTIONS]
    locale = Locale.of(review.scene)
    return [_limit(tolerance, direction, review.scene, locale) for direction in DIRECTIONS]


def _limit(tolerance: Tolerance, direction: Direction, scene: Scene, locale: Locale) -> str | None:
    """What limits one direction; a stop by its name; None where a flush body has no such direction."""
    end = tolerance.limited_by[direction]
    if end is not None:
        return limited_by(end, scene, locale)
    return locale.say(STOPS[direction]) if stopped(tolerance, direction) else None


def short(tolerance: Tolerance, locale: Locale) -> str:
    """All directions: `±25 mm sideways, 7 mm up, 27 mm down`; one that only a stop ends says so."""
    texts = [text for direction, text in rose(tolerance, locale).items() if text is not None]
    if not any(getattr(tolerance, f"{direction}_m") for direction in DIRECTIONS):
        return locale.say("tolerance.none")
    return ", ".join(texts)


def rose(tolerance: Tolerance, locale: Locale) -> dict[Direction, str | None]:
    """Each direction by itself: `±25 mm sideways`, `7 mm up`, `27 mm down`; None where a flush body has none."""
    texts: dict[Direction, str | None] = {}
    for direction in DIRECTIONS:
        length_m = getattr(tolerance, f"{direction}_m")
        if length_m is not None:
            texts[direction] = locale.say(f"tolerance.{direction}", length=locale.tolerance(length_m))
        else:
            texts[direction] = locale.say(STOPS[direction]) if stopped(tolerance, direction) else None
    return texts


def stopped(tolerance: Tolerance, direction: Direction) -> bool:
    """Whether only ceiling or floor ends a direction of what hangs: a flush body has neither up nor down."""
    flush = tolerance.up_m is None and tolerance.down_m is None
    return not flush and direction in STOPS and getattr(tolerance, f"{direction}_m") is None


def figure(tolerance: Tolerance, direction: Direction, locale: Locale) -> str:
    """One direction as a number beside an arrow: `±25 mm`, `+7 mm`, `−27 mm`; a stop in the words of every output."""
    length_m = getattr(tolerance, f"{direction}_m")
    if stopped(tolerance, direction):
        return locale.say(STOPS[direction])
    if length_m is None:
        return DASH
    return locale.say(f"tolerance.figure.{direction}", length=locale.tolerance(length_m))


def at_the_array(one: Tolerance, locale: Locale) -> list[str]:
    """The figures of the rose on a sheet: any way on plan, then up and down: `±25 mm`, `+7 mm, −27 mm`."""
    lines = [figure(one, "sideways", locale)]
    if one.up_m is not None or one.down_m is not None:
        lines.append(", ".join(figure(one, way, locale) for way in ("up", "down")))
    return lines


def of_the_legend(review: Review) -> str:
    """What the rose of a sheet is."""
    return Locale.of(review.scene).say("tolerance.legend")


def tightest(tolerance: Tolerance) -> tuple[Direction, Limit] | None:
    """The direction in which there is least and what ends it; of equal ones a rule before a head."""
    ended = [
        (getattr(tolerance, f"{direction}_m"), limit.kind != "rule", direction, limit)
        for direction in DIRECTIONS
        if (limit := tolerance.limited_by[direction]) is not None
    ]
    return min(ended, key=lambda one: one[:2])[2:] if ended else None


def limited_by(limit: Limit, scene: Scene, locale: Locale) -> str:
    """What limits, in words: `sprinkler SP2`, `talker T1-8`, `the walls`, `the line of sight past L1`."""
    if limit.kind in ("rule", "head"):
        return named(limit.id, scene)
    if (limit.kind, limit.id) == ("sight", WALLS):
        return surface(WALLS, locale)
    return locale.say(f"tolerance.by.{limit.kind}", id=limit.id)
