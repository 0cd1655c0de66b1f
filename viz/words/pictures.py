"""What stands beside a picture: which view it is, how many signs it shows."""

from __future__ import annotations

from scenes.findings.review import Standing
from scenes.room.area import Area
from viz.words.locale import Locale


def view(kind: str, whose: str, eye_m: float, locale: Locale) -> str:
    """A view by its kind; `whose` array or camera it is, if any; of a look down from how high."""
    text = locale.say(f"view.{kind}")
    if whose:
        text = locale.say("view of", view=text, whose=whose)
    if kind == "array":
        text = locale.say("view from", view=text, height=locale.length(eye_m))
    return text


def floor_map(floor: Area, locale: Locale) -> str:
    """What a map of the whole floor shows: for whom, and at which mouth heights."""
    mouth = locale.between(*floor.mouth_m)
    return locale.say("view.map", posture=locale.say(f"posture.{floor.posture}"), mouth=mouth)


def signs(state: Standing, shown: int, positions: int, talkers: int, locale: Locale) -> str:
    """How many signs of a state a picture shows: `8 covered`, `5 of 8 covered shown`, `not covered: 4 talkers (7 …)`.

    Who walks, or also stands up, is one talker with several positions, each with its sign.
    """
    word = locale.say(f"state.{state}")
    if positions == talkers:
        if shown == positions:
            return locale.say("picture.signs", count=shown, state=word)
        return locale.say("picture.signs, some", count=shown, all=positions, state=word)
    if shown < positions:
        return locale.say("picture.positions, some", count=shown, all=positions, state=word)
    if not talkers:
        return locale.say("picture.talkers, none", all=positions, state=word)
    who = locale.counted(talkers, "talker")
    return locale.say("picture.talkers", all=positions, state=word, talkers=who)
