"""Messages about people: who they are by which survey, and how many of a hundred."""

from __future__ import annotations

from typing import Final

PEOPLE: Final[dict[str, str | tuple[str, str]]] = {
    "people.women": "women",
    "people.men": "men",
    "people.both": "women and men alike",
    "people.some women": "women and men, {share} women",
    "people.seat": "seat {seat}",
    "people.own seat": "seats set to each person's legs",
    "people.seated": "{who}, {seat}",
    "people.span.one": "percentiles {low} to {high}",
    "people.span.both": "from the women's percentile {low} to the men's {high}",
    "people.fact.people": "People",
    "people.fact.advice": "Advice",
    "people.line": "People: {text}",
    "people.held.seated": "{share} of people sit with their mouths at {range} ({who}).",
    "people.held.standing": "{share} of people stand with their mouths at {range} ({who}).",
    "people.lower.seated": "{lower} of 100 people sit with their mouths lower than {height} ({who}).",
    "people.lower.standing": "{lower} of 100 people stand with their mouths lower than {height} ({who}).",
    "people.all": (
        "Such people are covered in the one place.",
        "Such people are covered in all {count} places.",
    ),
    "people.expected": "Of {talkers} such talkers {average} are covered on average.",
    "people.fewest": "Only some of them are covered in {places}.",
    "people.fewest.place": "{place} ({covered} of 100)",
    "people.place.seated": "{covered} of 100 people in this seat",
    "people.place.standing": "{covered} of 100 people standing here",
    "people.cell": "{covered} of 100",
    "heard": "{array} also hears, among its talkers: {things}.",
    "heard.place.why": "{place} ({reason})",
    "heard.thing": "{thing} in sector {sector} with {talker} ({ratio} dB weaker by distance)",
    "heard.thing.louder": "{thing} in sector {sector} with {talker} ({ratio} dB stronger by distance)",
    "heard.turn.none": "Turned to {angle}, {array} has none of them among its talkers, and covers the same talkers.",
    "heard.turn": "Turned to {angle}, {array} has {left} of {now} among its talkers, and covers the same talkers.",
    "neighbours": (
        "Neighbours, advice only: {pairs}. A head in the way takes {loss} dB at 1 kHz at most. The tallest person in "
        "front of the smallest is meant; the verdict does not count it."
    ),
    "neighbour.pair": "{neighbour} is in front of {talker} (angle down {have}, {need} would clear the head)",
    "assumed.survey.seated": (
        "Seated mouths: {who}; {span} of {source}, derived from eye heights, uncertain by about 8 mm."
    ),
    "assumed.survey.standing": (
        "Standing mouths: {who}; {span} of {source}, derived from eye heights, uncertain by about 8 mm."
    ),
    "assumed.survey.copy": "The survey's figures are not checked against the printed standard.",
    "assumed.slump": "They sit {slump} lower than upright.",
    "assumed.held": "The range {range} holds {share} of these people.",
    "assumed.mouth.seated": (
        "Seated mouths at {height}: overtable default, the seated height of room-acoustic measurements (ISO 3382; "
        "not checked against the printed standard). It is an ear height: {lower} of 100 seated people have their "
        "mouths lower, and nine of ten are between {low} and {high} ({who}; ANSUR II, NATICK/TR-15/007)."
    ),
    "assumed.mouth.standing": (
        "Standing mouths at {height}: overtable default, the source height of room-acoustic measurements (ISO "
        "3382-1; not checked against the printed standard). {lower} of 100 standing people have their mouths lower, "
        "and nine of ten are between {low} and {high} ({who}; ANSUR II, NATICK/TR-15/007)."
    ),
}
