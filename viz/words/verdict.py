"""The verdict and everything there is to say about it, sentence by sentence, the same in every output."""

from __future__ import annotations

from geometry.coverage import REASONS
from scenes.findings.heights import ArrayTable, BandTable, HeightTable
from scenes.findings.review import AREA_STATES, STANDINGS, Counts, Review, Standing, Verdict
from scenes.room.ceiling import highest_m, lowest_m
from scenes.room.scene import Scene
from scenes.rulebook import rules
from viz.words import areas, clearances, coverage, first_look, layouts, sight, sound, tolerance
from viz.words.locale import Locale
from viz.words.things import kind_name

SHOWN_UNSURE = 6


def word(verdict: Verdict | None, locale: Locale) -> str:
    """The verdict in one word: `Pass`; that there is none before every array has a place."""
    return locale.say("verdict.none" if verdict is None else f"verdict.{verdict}")


def mark(standing: Standing, locale: Locale) -> str:
    """Dot, ring, diamond, cross: how a talker stands is never shown by colour alone."""
    return locale.say(f"mark.{standing}")


def standing(one: Standing, locale: Locale) -> str:
    """How a talker stands in a word or two: `covered`, `upright only`, `blocked`, `not covered`."""
    return locale.say(f"state.{one}")


def counts(one: Counts, locale: Locale) -> str:
    """How many of all talkers are covered: `5 of 6`."""
    return locale.say("of", part=one.covered or 0, whole=one.talkers)


def covered(one: Counts, locale: Locale) -> str:
    """What stands under `counts`: `talkers covered, 1 upright only, 2 not covered`."""
    some: dict[Standing, int | None] = {
        "marginal": one.marginal,
        "blocked": one.blocked,
        "missed": one.missed,
    }
    others = [
        locale.say("count.standing", count=count, standing=standing(name, locale))
        for name, count in some.items()
        if count
    ]
    return ", ".join([locale.say("count.talkers covered"), *others])


def paragraph(review: Review) -> str:
    """The verdict and all its sentences as one paragraph."""
    locale = Locale.of(review.scene)
    return locale.say("whole", verdict=word(review.verdict, locale), sentences=" ".join(whole(review)))


def whole(review: Review) -> tuple[str, ...]:
    """Every sentence there is: coverage, tolerance, what is at the ceiling, then the file, then sight."""
    locale = Locale.of(review.scene)
    if not review.judged:
        room = review.scene
        return (
            *first_look.sentences(review),
            *_wall_names(room, locale),
            *_rule_changes(room, locale),
            *_unsure(room, locale),
        )
    headline = tolerance.headline(review)
    if review.scene.layouts:
        return (*layouts.lines(review), *of_all_layouts(review))
    return (
        *layouts.beside(review, [coverage.sentence(review), *areas.sentences(review)]),
        *([headline] if headline else []),
        *_idle(review, locale),
        *clearances.sentences(review),
        *_wall_names(review.scene, locale),
        *_rule_changes(review.scene, locale),
        *sight.sentences(review),
        *sound.sentences(review),
        *_unsure(review.scene, locale),
    )


def of_all_layouts(review: Review) -> tuple[str, ...]:
    """What there is to say of a room of several layouts beside each one's line."""
    locale, headline = Locale.of(review.scene), tolerance.headline(review)
    shared = [row for row in review.clearances if row.layout is None]
    return (
        *([headline] if headline else []),
        *_idle(review, locale),
        *clearances.of_rows(shared, locale, judged=bool(review.clearances)),
        *_wall_names(review.scene, locale),
        *_rule_changes(review.scene, locale),
        *sound.sentences(review),
        *_unsure(review.scene, locale),
    )


def at_height(scene: Scene, table: HeightTable, one: ArrayTable, band: BandTable, k: int) -> tuple[str, ...]:
    """Every sentence there is with the array at that height of a table, in that band: as `whole`, without tolerance."""
    locale = Locale.of(scene)
    standings, reasons = band.standing[k].tolist(), band.reason[k].tolist()
    heads = coverage.Figures(
        [head.id for head in scene.heads],
        [head.person for head in scene.heads],
        [STANDINGS[standing] for standing in standings],
        [None if reason < 0 else REASONS[reason] for reason in reasons],
        band.margin_m[k].tolist(),
    )
    serving = set(band.served_by[k].tolist())
    idle = [array.id for i, array in enumerate(scene.arrays) if i not in serving and not scene.areas]
    text = [
        coverage.of_figures(heads, locale),
        *areas.at_height(scene, [AREA_STATES[state] for state in band.areas[k].tolist()], locale),
    ]
    return (
        *layouts.with_stands(text, band.layouts[k] if band.layouts else (), scene.layout, locale),
        *([locale.say("idle", len(idle), arrays=locale.listed(idle))] if idle else []),
        *clearances.of_rows(one.clearances[k], locale, judged=table.judged),
        *_wall_names(scene, locale),
        *_rule_changes(scene, locale),
        *(sight.in_the_way(thing, locale) for thing in band.in_the_way[k]),
        *sound.of_advice(band.sound[k] if band.sound else (), scene),
        *_unsure(scene, locale),
    )


def _unsure(scene: Scene, locale: Locale) -> list[str]:
    """What of the room nobody measured, by name."""
    about = [about for about, _ in scene.unsure]
    return [locale.say("unsure", len(about), things=locale.listed(about, SHOWN_UNSURE))] if about else []


def _idle(review: Review, locale: Locale) -> list[str]:
    busy = {id for area in review.areas for id in area.arrays}
    idle = [array.id for array in review.arrays if not array.heads and array.id not in busy]
    return [locale.say("idle", len(idle), arrays=locale.listed(idle))] if idle else []


def _wall_names(scene: Scene, locale: Locale) -> list[str]:
    shared = [
        locale.say("wall name.thing", kind=kind_name(kind, locale), id=id)
        for kind, id in called_as_walls(scene)
    ]
    if not shared:
        return []
    things = locale.listed(shared)
    return [locale.say("wall name", len(shared), things=f"{things[0].upper()}{things[1:]}")]


def _rule_changes(scene: Scene, locale: Locale) -> list[str]:
    told = []
    for change in scene.rule_changes:
        reason = change.reason.rstrip(".")
        number, title = rules()[change.rule].number, rules()[change.rule].title
        if change.value_m is None:
            told.append(locale.say("rule change.off", number=number, title=title, reason=reason))
        else:
            value = locale.length(change.value_m)
            told.append(
                locale.say("rule change.value", number=number, title=title, value=value, reason=reason)
            )
    return told


def called_as_walls(scene: Scene) -> list[tuple[str, str]]:
    """The things of the spec that have the name of a wall of this room (W1, W2, …): kind and id."""
    walls = {f"W{index + 1}" for index in range(len(scene.room.outline_m))}
    return [(kind, id) for kind, id in scene.things if id in walls]


def heading(scene: Scene) -> tuple[str, str]:
    """What room this is: its name, and what follows it, from project to ceiling."""
    locale = Locale.of(scene)
    project = locale.say("heading.project", project=scene.project) if scene.project else ""
    room = scene.room
    kind, area, height = room.ceiling_kind, locale.area(room.area_m2), ceiling_height(scene, locale)
    said = locale.say("heading", area=area, kind=kind, height=height, codes=codes(scene, locale))
    return scene.name, project + said


def codes(scene: Scene, locale: Locale) -> str:
    """Whose codes it is checked by: `UK codes`; that it is a default where the file does not say."""
    of = locale.say(f"codes.{scene.code.value}")
    return of if scene.code.own else locale.say("codes.default", codes=of)


def ceiling_height(scene: Scene, locale: Locale) -> str:
    """How high the ceiling is; from its lowest to its highest where it is in parts."""
    low, high = lowest_m(scene.room), highest_m(scene.room)
    if low == high:
        return locale.length(low)
    return locale.say("heading.heights", low=locale.length(low), high=locale.length(high))
