"""What else an array hears, in words: places to keep away, noisy things, and the turn that helps."""

from __future__ import annotations

from collections.abc import Sequence

from scenes.findings.heard import Heard
from viz.words.locale import Locale
from viz.words.things import of_a_kind

MOST_NAMED = 6


def sentences(rows: Sequence[Heard], locale: Locale, *, devices: bool = True) -> tuple[str, ...]:
    """For each array what it hears in the same sector as talkers, and the turn; without `devices` only of places."""
    texts = []
    for array in dict.fromkeys(row.array for row in rows):
        of_array = [row for row in rows if row.array == array]
        some = [row for row in of_array if devices or row.kind == "keep_away"]
        if not some:
            continue
        things = locale.listed([_thing(row, locale) for row in some], MOST_NAMED)
        texts.append(locale.say("heard", array=array, things=things))
        turn = some[0].turn
        if turn is not None:
            angle = locale.edge(round(turn.to_deg, 1))
            left = turn.places + (turn.devices if devices else 0)
            message = "heard.turn" if left else "heard.turn.none"
            texts.append(locale.say(message, array=array, angle=angle, left=left, now=len(some)))
    return tuple(texts)


def _thing(row: Heard, locale: Locale) -> str:
    if row.kind == "device":
        name = of_a_kind(row.what, row.thing, locale)
    elif row.reason:
        name = locale.say("heard.place.why", place=row.thing, reason=row.reason)
    else:
        name = row.thing
    return locale.say(
        "heard.thing" if row.ratio_dB >= 0 else "heard.thing.louder",
        thing=name,
        sector=row.sector,
        talker=row.nearest_talker,
        ratio=locale.level(abs(row.ratio_dB)),
    )
