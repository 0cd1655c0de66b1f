"""Every message in English, British spelling, by name. A pair: for a count of one, and for any other count.

Names go by topic; what follows the point is often a name that a finding carries (`reason.too far`), so
that each has its message. Fields are texts that `Locale` or a file's author wrote, and counts.
"""

from __future__ import annotations

from typing import Final

MESSAGES: Final[dict[str, str | tuple[str, str]]] = {
    # ---- lists and counts
    "list.and": "{first} and {last}",
    "list.more": "{first} and {more} more",
    "count.talker": ("{count} talker", "{count} talkers"),
    "count.array": ("{count} array", "{count} arrays"),
    "count.clearance": ("{count} clearance", "{count} clearances"),
    "count.line": ("{count} line", "{count} lines"),
    "count.room": ("{count} room", "{count} rooms"),
    "count.place": ("{count} place", "{count} places"),
    # ---- verdict
    "verdict.pass": "Pass",
    "verdict.caution": "Caution",
    "verdict.fail": "Fail",
    "whole": "{verdict}. {sentences}",
    "mark.covered": "●",
    "mark.marginal": "○",
    "mark.missed": "×",
    "idle": (
        "{arrays} serves nobody: every talker is served better by another array; leave it out, or move it.",
        "{arrays} serve nobody: every talker is served better by another array; leave them out, or move them.",
    ),
    "wall name": (
        "{things} has a wall's name, which plan and schedule measure from: give it another id in the spec.",
        "{things} have walls' names, which plan and schedule measure from: give them another id in the spec.",
    ),
    "wall name.thing": "the {kind} {id}",
    "rule change.off": "The rule {rule} is switched off: {reason}.",
    "rule change.value": "The rule {rule} asks for {value}: {reason}.",
    # ---- coverage
    "covered.all": ("The one talker is covered", "All {count} talkers are covered"),
    "covered.all, no room": "{who}, with no room to spare: somebody is lost at the least shift.",
    "covered.all, room": "{who}. The array may be off by up to {room} in any direction before anybody is lost.",
    "covered.none of one": "The one talker is not covered.",
    "covered.some": ("{count} of {talkers} is covered.", "{count} of {talkers} are covered."),
    "covered.missed": (
        "{names} is missed: {reason} by up to {shortfall}; {advice}.",
        "{names} are missed: {reason} by up to {shortfall}; {advice}.",
    ),
    "covered.marginal": (
        "{names} is marginal: inside while upright, lost by up to {shortfall} when it leans.",
        "{names} are marginal: inside while upright, lost by up to {shortfall} when they lean.",
    ),
    "reason.too shallow": "too shallow",
    "reason.too steep": "too steep",
    "reason.too near": "too near",
    "reason.too far": "too far",
    "advice.too shallow": "hang the array higher or nearer to them, or take a shallower band",
    "advice.too steep": "hang the array lower or farther from them, or take a steeper band",
    "advice.too near": "move the array away from them",
    "advice.too far": "move the array nearer to them, or add one",
    "talker.all the way": "{person} (all the way)",
    "talker.part of the way": "{person} (part of the way)",
    "talker.sitting": "{person} (sitting)",
    "talker.standing up": "{person} (standing up)",
    # ---- clearances
    "clearance.state.clear": "clear",
    "clearance.state.short": "short",
    "clearance.state.advised": "below advice",
    "clearance.state.unjudged": "unjudged",
    "clearance.state.off": "off",
    "clearance.short": (
        "{count} clearance is short: {first}{more}.",
        "{count} clearances are short: {first}{more}.",
    ),
    "clearance.advised": (
        "{count} clearance is below the advised value: {first}{more}.",
        "{count} clearances are below the advised value: {first}{more}.",
    ),
    "clearance.and more": ", and {count} more",
    "clearance.unjudged": (
        "{count} clearance cannot be judged ({things}): ask their designer.",
        "{count} clearances cannot be judged ({things}): ask their designer.",
    ),
    "clearance.touch unjudged": "Whether {whose} runs into {thing} cannot be judged: {note}.",
    "clearance.none short": "No conflict found at the ceiling with the rules listed.",
    "clearance.note": "{rule}, {pairs}: {note}.",
    "clearance.note.pair": "{array} to {things}",
    "clearance.touch": "{whose} runs into {thing}",
    "clearance.touch.cable": "the cable of {array}",
    "clearance.touch.wall": "a wall",
    "clearance.grid": "{array} {note}",
    "clearance.box": "the box of {array} runs into {thing}",
    "clearance.line": "the line up to the structure of {array} runs into {thing}",
    "clearance.pair": "{array} to {thing} ({rule}, {part})",
    "clearance.pair required": "{pair}: {actual}, {required} required",
    "clearance.pair advised": "{pair}: {actual}, {required} advised",
    # ---- sight
    "sight.blocked": "{start} to {end} is blocked by {by}",
    "sight.blocked, advice": "{start} to {end} is blocked by {by}: {advice}",
    "sight.line.array": "An array cannot hear past something: {line}{more}.",
    "sight.line.camera": "A camera's view is blocked: {line}{more}.",
    "sight.line.display": "A view of the display is blocked: {line}{more}.",
    "sight.more": " ({count} more like it)",
    # ---- heights
    "heights.covers": "{band}: covers everybody from {low} ({below}) to {high} ({above}); {upright}.",
    "heights.covers flush": "{band}: covers everybody at the ceiling, the one height of a flush array.",
    "heights.none": "{band}: no height covers everybody: {why}; {upright}.",
    "heights.none either way": "{band}: no height covers everybody, leaning or upright: {why}.",
    "heights.lower": "lower {head} is lost",
    "heights.floor": "the floor",
    "heights.higher": "higher {head} is lost",
    "heights.ceiling": "the ceiling",
    "heights.upright": "upright nobody is lost between {low} and {high}",
    "heights.upright flush": "upright nobody is lost",
    "heights.upright neither": "upright neither: {why}",
    "heights.why.no conflict": "the body does not fit between floor and ceiling",
    "heights.why.disagree": "{one} needs the array higher than {other} allows",
    "heights.why.out of reach": "{one} is out of reach at every height",
    "heights.why.band": "{one} is in the band at no height",
    "heights.why.ceiling": "{one} needs the array higher than the ceiling",
    "heights.why.floor": "{one} needs the array lower than the floor",
    "heights.why.floor, flush": "{one} needs the array lower than the ceiling it is flush with",
}
