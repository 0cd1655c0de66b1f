"""Messages about placements in English: part of `english.MESSAGES`."""

from __future__ import annotations

from typing import Final

PLACEMENT: Final[dict[str, str | tuple[str, str]]] = {
    # ---- how far a search has come
    "search.begin": "Searching …",
    "search.near": "Closest position: {so_far}",
    "search.margin": "Largest margin: {so_far}",
    "search.tolerance": "Largest tolerance: {so_far}",
    "search.centre": "Nearest the band centre: {so_far}",
    "search.most": "Most talkers covered: {so_far}",
    "search.tried": "{tried} positions tried",
    "search.none yet": "{tried} positions tried, none allowed yet",
    "search.best": "{tried} positions tried, best {best}",
    "search.best, limit": "{tried} positions tried, best {best}, limit {limit}",
    "search.covered": "{tried} positions tried, {best} covered, limit {limit}",
    "search.round.count": "How many arrays are needed: round {round}",
    "search.round.margin": "Largest margin of all arrays: round {round}",
    "search.round.tolerance": "Largest tolerance of all arrays: round {round}",
    "search.round.most": "Most talkers these arrays can cover: round {round}",
    "search.several.near": "Bringing the arrays closer to the talkers",
    "search.several.centre": "Bringing the talkers closer to the band centre",
    "search.conflict": "No position covers everyone. Looking for the cause and for what helps",
    "search.one more": "Not everyone can be covered. Trying one more array",
    # ---- why another aim was taken, and other remarks
    "remark.over limit": "More arrays are needed than the search goes to.",
    "remark.unreached": "No array can serve {heads} from anywhere in this room.",
    "remark.nothing allowed": "No position is allowed.",
    "remark.nothing found": "The search reached its limit without finding an allowed position.",
    "remark.too little margin": "No position leaves everyone a {enough} margin; the best leaves {best}.",
    "remark.too little margin, short": "No position leaves everyone a {enough} margin.",
    "remark.too little margin, next to nothing": (
        "No position leaves everyone a {enough} margin; the best leaves next to nothing."
    ),
    "remark.unseen": "No position has a clear line to everyone.",
    "remark.not covered": "No position covers everyone.",
    "remark.not apart": "With up to {tried} arrays, none were found that cover everyone and keep clear of each other.",
    "remark.left out": (
        "{arrays} is left out: no allowed position remains beside the other arrays.",
        "{arrays} are left out: no allowed position remains beside the other arrays.",
    ),
    "remark.some left out": (
        "{count} of {wanted} arrays is left out: no allowed position remains beside the others.",
        "{count} of {wanted} arrays are left out: no allowed position remains beside the others.",
    ),
    "remark.held too near": "Held where they are, {pairs} are too close to each other.",
    "remark.too near": "No positions were found that keep {pairs} clear of each other.",
    "remark.outside the bound": "The rules between arrays are kept, but the proof does not count them.",
    "remark.less as written": (
        "Where it can be set out, the smallest margin is {best}: less than {enough}. --snap none keeps it."
    ),
    "remark.hung as given": (
        "Searched beside ceiling part {parts} only: `suspension: {{ceiling: {ceiling}}}` does not fit it. To use it, "
        "leave `ceiling` out there.",
        "Searched beside ceiling parts {parts} only: `suspension: {{ceiling: {ceiling}}}` does not fit them. To use "
        "them, leave `ceiling` out there.",
    ),
    "remark.in one part": (
        "{arrays} is flush, and was searched for only in the ceiling part over its position in the file. For another "
        "part, give a position there and place again.",
        "{arrays} are flush, and were searched for only in the ceiling parts over their positions in the file. For "
        "another part, give a position there and place again.",
    ),
    "remark.in part": "Every level part of the ceiling was searched. Best: {places}.",
    "remark.in part.one": "{array} in ceiling part {part}",
    "remark.in part.rest": "{array} in the main ceiling",
    "remark.not in slopes": (
        "Ceiling part {parts} slopes and was not searched: a flush array needs a level ceiling. For a position there, "
        "use a hanging array.",
        "Ceiling parts {parts} slope and were not searched: a flush array needs a level ceiling. For a position there, "
        "use a hanging array.",
    ),
    "remark.more on the lattice": (
        "Anywhere, {wanted} would do; with --snap that leaves a margin of {best}, so {count} array is proposed.",
        "Anywhere, {wanted} would do; with --snap that leaves a margin of {best}, so {count} arrays are proposed.",
    ),
    "remark.too few on the lattice": (
        "Anywhere, {wanted} would do; with --snap that leaves a margin of {best}, and {count} array does no better.",
        "Anywhere, {wanted} would do; with --snap that leaves a margin of {best}. Up to {count} arrays were tried, and "
        "none reach the margin asked for there.",
    ),
    "remark.instead": (
        "Proposed instead: the position that covers the most talkers.",
        "Proposed instead: the arrangement that covers the most talkers.",
    ),
    # ---- why a search is not begun
    "place.refused.no such hold": "hold is {hold}; allowed are {allowed}",
    "place.refused.hold for others": (
        "{hold} cannot be held for {asked} arrays: the spec has {there}; leave out --hold or --arrays"
    ),
    "place.refused.nothing to hold": "array {array} has no {hold} in the spec to hold; give it, or hold less",
    "place.refused.areas of several": (
        "areas are searched for with one array only: give every array its at, height and band, and run overtable check"
    ),
    "place.refused.flush in parts": (
        "array {array} is flush and the ceiling has parts: give it a position (`at`) in the part it is to be in; "
        "overtable searches that part"
    ),
    "place.refused.flush in slopes": (
        "array {array} is flush and every part of the ceiling slopes: a flush array needs a level part; add one, or use "
        "a hanging array"
    ),
    "place.refused.no grid": "--snap tile needs the lay-in grid of the ceiling: give room.grid in the spec",
    # ---- what is proven
    "count needed": "Arrays needed: {needed}.",
    "count needed, others": "Arrays needed for everyone else: {needed}.",
    "count needed, enough": "That is with a margin of {enough} for everyone (--enough).",
    "count needed.proven": "{arrays}, proven",
    "count needed.at least": "{arrays}, at least {at_least}",
    "count needed.none": "at least {at_least}, none up to {tried} found",
    "held": " with {things} held",
    "held.wishes": " with the wishes kept",
    "held.and wishes": "{held} and the wishes kept",
    "held.at": "plan position",
    "held.height": "height",
    "held.band": "band",
    "proof.nothing allowed": "Proven: walls, ceiling and rules leave no allowed position{held}.",
    "proof.too little margin": (
        "Proven: no allowed position leaves everyone a margin of {enough}{held}. The largest margin is at most {most}."
    ),
    "proof.no bound": "Not proven: the search reached its limit before anything was certain.",
    "proof.short": (
        "Proven: one array cannot cover everyone here{held}. The best position falls {short} short.",
        "Proven: {count} arrays cannot cover everyone here{held}. The best arrangement falls {short} short.",
    ),
    "proof.short, at least": (
        "Proven: one array cannot cover everyone here{held}. The best position falls at least {short} short.",
        "Proven: {count} arrays cannot cover everyone here{held}. The best arrangement falls at least {short} short.",
    ),
    "proof.just short": (
        "Proven: one array cannot cover everyone here{held}. The best position falls just short.",
        "Proven: {count} arrays cannot cover everyone here{held}. The best arrangement falls just short.",
    ),
    "proof.best": "Proven best: {claim}.",
    "proof.best of groups": "Proven best while each array keeps its talkers: {claim}.",
    "proof.open": "Not proven best: the search reached its limit. Certain: {claim}.",
    "proof.open, several": "Not proven best. Certain: {claim}.",
    "claim.near": "with a {enough} margin for everyone{held}, the farthest talker cannot be closer than {bound}",
    "claim.tolerance": "no position{held} allows more than {bound} of movement every way",
    "claim.tolerance.leaves out": "That leaves out {things}, which the installation tolerance counts.",
    "claim.tolerance.level": "hanging out of level",
    "claim.tolerance.grid-tee": "the ceiling grid",
    "claim.most": "no position{held} covers more than {talkers} with any margin",
    "claim.most, layouts": (
        "no position{held} covers more than {talkers} with any margin, those of all layouts counted together"
    ),
    "claim.most, weight": "no position{held} covers talkers whose weights come to more than {weight}",
    "claim.centre": "with everyone covered{held}, the RMS angle from band centre cannot be below {bound}",
    "claim.margin": (
        "no position{held} has a margin above {bound}",
        "no arrangement of {count} arrays{held} has a margin above {bound}",
    ),
    "claim.also": (
        "No position{held} has a margin above {bound}.",
        "No arrangement of {count} arrays{held} has a margin above {bound}.",
    ),
    # ---- what stands in the way, and what clearing it costs
    "limited": "Limited by {things}.",
    "limited, several": "{array} is limited by {things}.",
    "held too close": "{array} is held too close to {things}.",
    "ceiling.no place": "Ignoring the ceiling leaves no position either.",
    "ceiling.best": "Ignoring the ceiling, the best would be {arrays}: {value}.",
    "ceiling.best, the same": (
        "Ignoring the ceiling, the best would be {arrays}: {value}. Nothing there is in the way."
    ),
    "ceiling.at": "{array} at {place}, acoustic centre {height}",
    "ceiling.value": "margin {margin}",
    "ceiling.value.near": "farthest talker {figure}, margin {margin}",
    "ceiling.value.centre": "RMS from centre {figure}, margin {margin}",
    "clearing.none": "Clearing {things} leaves no allowed position.",
    "clearing.margin": "Clearing {things} costs up to {margin} of margin.",
    "clearing.aim": "Clearing {things} costs up to {margin} of margin, and the aim {aim} is out of reach.",
    "clearing.near": "Clearing {things} costs up to {lost} of distance and {margin} of margin.",
    "clearing.centre": "Clearing {things} costs up to {lost} of RMS angle from centre and {margin} of margin.",
    # ---- wishes
    "column.wish": "Wish",
    "column.kept": "Kept",
    "column.wish.margin": "Costs of margin",
    "column.wish.distance": "Of distance",
    "column.wish.talkers": "Talkers",
    "wish.over": "over {tables}",
    "wish.row": "in one row at equal spacing",
    "wish.spare": "{spare} to spare from every rule",
    "wish.spare as written": "As written, less than that is left to a rule at {arrays}.",
    "wish.yes": "yes",
    "wish.kept at no cost": "Kept at no cost: {wishes}.",
    "wish.kept": "Kept: {wish}. This costs {price}.",
    "wish.not kept": "Not kept: {wish}. {why}.",
    "wish.of margin": "{length} of margin",
    "wish.of distance": "{length} of distance",
    "wish.why.nowhere": "No allowed position does that",
    "wish.why.not found": "No such position was found",
    "wish.why.profiles": "The arrays are of several profiles, or turned differently",
    "wish.why.held": "What is held leaves no choice",
    "wish.why.lattice": "No such row fits the positions to choose from",
    "wish.why.talkers": ("One talker fewer would be covered", "{count} talkers fewer would be covered"),
    "wish.why.margin": "No such position leaves everyone a {enough} margin",
    # ---- on a lattice
    "lattice.tiles": "tile centres",
    "lattice.pitch": "{pitch} grid",
    "lattice.none": "No position on the {lattice} is allowed for {array} ({why}). The free position is proposed.",
    "lattice.why.held": "its held position is not on it",
    "lattice.why.room": "none lie in the room",
    "lattice.best": "{array} is on the best of {places} on the {lattice}.",
    "lattice.best, some": "{array} is on the best of {places} on the {lattice} (left out: {left}).",
    "lattice.free": "Without snapping it would be at {place}, acoustic centre {height}, band {band}, margin {margin}.",
    "lattice.moves": "Snapping moves it by {moved} and {costs}.",
    "lattice.costs": "costs {things}",
    "lattice.gains": "gains {things}",
    "lattice.costs nothing": "costs nothing",
    "lattice.of margin": "{length} of margin",
    "lattice.of distance": "{length} of distance",
    "lattice.less": "No position on the {lattice} covers everyone; {array} is where the margin is largest.",
    "lattice.less.margin": (
        "No position on the {lattice} leaves everyone a {enough} margin; {array} is where the margin is largest."
    ),
    "lattice.less.spare": (
        "No position on the {lattice} leaves everyone a {enough} margin and every rule {spare} to spare; {array} is "
        "where the margin is largest."
    ),
    "lattice.out": "{count} {why}",
    "lattice.out.outside": "outside the room",
    "lattice.out.cut": "in a tile cut to less than half",
    "lattice.out.device": "in a tile that holds a device",
    "lattice.out.tee": "too near a grid tee",
    "lattice.off the tees": "With --snap tile arrays hang in the middle of tiles, off the tees.",
    # ---- the aims beside each other
    "column.aim": "Aim",
    "column.proof": "Proof",
    "column.spread": "RMS",
    "column.way": "Direction",
    "column.covered for": "Covered for",
    "column.first out": "First out",
    "column.clear for": "Clear for",
    "aims.proposed": "proposed",
    "aims.current": "current",
    "aims.span": "{low}\nto {high}",
    "aims.proof.certified": "proven",
    "aims.proof.certified, groups": "proven*",
    "aims.proof.none allowed": "none",
    "aims.proof.unresolved": "not proven",
    "aims.proof.lattice": "exact",
    "aims.proof.lattice, several": "one by one",
    "aims.key": "{aim}: {what}",
    "aims.key.near": "the farthest talker as close as possible, with enough margin",
    "aims.key.tolerance": "the largest movement any way with everyone covered and every rule kept",
    "aims.key.margin": "the largest margin",
    "aims.key.centre": "talkers nearest the band centre, everyone covered",
    "aims.key.most": "the most talkers covered, then the largest margin",
    "aims.key.proposed": "the best position by the chosen aim that can be set out, array by array",
    "aims.key.groups": "while each array keeps its talkers; sharing them otherwise may be better",
    "aims.mark": "*",
    "aims.chosen": "» {aim}",
    "aims.other": "  {aim}",
    "aims.note": (
        "From centre: angle down less that of the band centre. Each aim is searched over all allowed positions, "
        "heights and bands. Proven: nothing allowed is better by more than the search's step."
    ),
    # ---- how many arrays
    "column.arrays": "Arrays",
    "column.layout": "Layout",
    "column.covered": "Covered",
    "column.costs": "Costs up to",
    "ladder.title": "How many arrays",
    "ladder.picture": "Smallest margin by number of arrays (dashed: {enough}; a number: so many talkers covered)",
    "ladder.arrays": ("1 array", "{count} arrays"),
    "ladder.layout.free": "anywhere",
    "ladder.layout.middle": "in the middle",
    "ladder.layout.row": "in a row",
    "ladder.layout.grid": "in a grid",
    "ladder.on tiles": "{layout} on tiles",
    "ladder.covered": "{covered} of {talkers}",
    "ladder.proof.certified": "proven",
    "ladder.proof.not everyone": "not all: proven",
    "ladder.proof.unresolved": "not proven",
    "ladder.proof.none allowed": "none possible",
    "ladder.takes": "A {enough} margin for everyone takes {counts}.",
    "ladder.count": ("1 array {layout}", "{count} arrays {layout}"),
    "ladder.count, fewer open": "{text} (fewer not ruled out)",
    "ladder.too few": (
        "One array does not leave everyone {enough}: {layouts}. Proven.",
        "Up to {count} arrays do not leave everyone {enough}: {layouts}. Proven.",
    ),
    "ladder.none found": (
        "One array was not found to leave everyone {enough}: {layouts}.",
        "Up to {count} arrays were not found to leave everyone {enough}: {layouts}.",
    ),
    "ladder.idle": "Of {counts} arrays anywhere, some cover nobody that the others do not: fewer do as well.",
    "ladder.note": (
        "Rows and grids hang level, at equal spacing, in one band. Margin: the smallest of all talkers. Costs up to: "
        "the most margin that arrays anywhere could have beyond it. Proven: no such layout has a larger margin; not "
        "all: none covers everyone. Rules between arrays are kept; the proof for arrays anywhere does not count them."
    ),
    # ---- how far each array may move
    "ways.title": "How far {array} may move, one way at a time",
    "ways.note": "Each way alone, the rest as it is; rounded down. x to the right and y up on the plan. {differ}",
    "ways.differ": (
        "These are one way at a time, level. The margin is the same all ways at once, by coverage alone. The "
        "installation tolerance is all ways at once, out of level, with every rule and line of sight kept: go by it."
    ),
    "ways.+x": "+x",
    "ways.-x": "−x",
    "ways.+y": "+y",
    "ways.-y": "−y",
    "ways.up": "up",
    "ways.down": "down",
    "ways.nobody": "nobody",
    "ways.all out": "nobody is covered",
    "ways.stop.ceiling": "the ceiling",
    "ways.stop.floor": "the floor",
    "ways.stop.sight": "lines of sight",
    "ways.some": "{array} does not cover {missed} of its {talkers} here. The table is about the others.",
    "level.left": "Hung {angle} out of level, {array} keeps {left} of its margin.",
    "level.none": "Hung {angle} out of level, {array} may have no margin left.",
    "covered twice": "Covered by more than one array: {heads}.",
    "covered twice.one": "{head} ({arrays})",
    # ---- the file's own position beside it
    "standing": "Current: {current}. Proposed: {proposed}.",
    "standing.none": "no position yet",
    "standing.one": "{covered}, margin {margin}, {verdict}",
    "standing.several": "{arrays}, {covered}, margin {margin}, {verdict}",
    "standing.verdict.pass": "pass",
    "standing.verdict.caution": "caution",
    "standing.verdict.fail": "fail",
    # ---- why a placement is not written
    "unwritten.no place": "there is no position to write",
    "unwritten.fewer": (
        "{count} array is enough and the file has {there}, but --write never takes arrays out of a file: "
        "remove {surplus} and run place again",
        "{count} arrays are enough and the file has {there}, but --write never takes arrays out of a file: "
        "remove {surplus} and run place again",
    ),
    "unwritten.lattice": "no position that --snap allows is free for {arrays}: leave out --snap to write another",
    "unwritten.covers fewer": (
        "the proposed position covers {then} of {talkers}, the current one {now} (--even-if-worse writes it)"
    ),
    "unwritten.worse": (
        "the proposed position's verdict is {then}, the current one's {now} (--even-if-worse writes it)"
    ),
    "unwritten": "{why}; nothing was written",
    # ---- the report
    "report.hangs": (
        "{array} hangs with its acoustic centre {height} above the finished floor, {drop} below the ceiling, and "
        "listens in the band {band} below horizontal."
    ),
    "report.idle": "No talker needs {array} here.",
    "report.covers": (
        "It covers its one talker, with a margin of {margin}, level and in whatever direction.",
        "It covers all of its {count} talkers, with a margin of {margin}, level and in whatever direction.",
    ),
    "report.covers some": "Of its talkers it covers {covered}.",
    "report.no search": (
        "The search takes areas for one array only, so nothing is proven here of other positions."
    ),
    "report.proof": "Every allowed position, height and band was searched, with a proof.",
    "report.aim.near": "nearest to the talkers",
    "report.aim.tolerance": "largest tolerance",
    "report.aim.margin": "largest margin",
    "report.aim.centre": "nearest the band centre",
    "report.aim.most": "most talkers covered",
    # ---- a room that cannot be covered, and what was tried
    "conflict.nothing allowed": (
        "No position is allowed: {things} leaves none.",
        "No position is allowed: {things} leave none.",
    ),
    "conflict.suspension": "ceiling parts that the suspension does not fit",
    "conflict.sight": "lines of sight",
    "conflict.undecided": "Who is in conflict could not be narrowed down within the effort allowed.",
    "conflict.too far apart": (
        "{one} and {other} are {apart} apart on plan: too far for a reach of {reach}, which spans {spans} at most, "
        "with everybody leaning."
    ),
    "conflict.nowhere": "No position is allowed for {heads}.",
    "conflict.arrays": "{arrays} cannot cover everybody together, wherever they hang.",
    "conflict.not together": (
        "{heads} cannot be covered anywhere: at the best place for it, {x} / {y} at {height} in band {band}, {misses}.",
        "{heads} cannot be covered together: at the best place for them, {x} / {y} at {height} in band {band}, "
        "{misses}.",
    ),
    "conflict.miss": "{head} is {reason} ({figure}, {limit}{short})",
    "conflict.miss leaning": "{head} is {reason} when leaning ({figure}, {limit}{short})",
    "conflict.short": ", {short} short",
    "conflict.served": "with the others covered {head} is not",
    "conflict.more": "{more} more drop out",
    "conflict.limit.too near": "reach from {limit}",
    "conflict.limit.too far": "reach to {limit}",
    "conflict.limit.too shallow": "band from {limit}",
    "conflict.limit.too steep": "band to {limit}",
    "conflict.room": (
        "In the whole room {covered} of {talkers} are covered here, and the largest margin falls short by {short}."
    ),
    "conflict.helps": "Would help: {change} ({covered} of {talkers} covered, largest margin {margin}).",
    "conflict.in band": ("{change}, in band {bands}", "{change}, in bands {bands}"),
    "conflict.no help": "Not enough by itself: {changes}.",
    "try.hold.at": "not holding the position on plan",
    "try.hold.height": "not holding the height",
    "try.hold.band": "not holding the band",
    "try.lean": "nobody leaning",
    "try.with.ceiling": "a ceiling at {value}, with all that is in it",
    "try.with.reach": "a reach of {value}",
    "try.with.band": "band {value}",
    "try.with.without": "without {value}",
    "try.none.ceiling": "another ceiling",
    "try.none.reach": "a longer reach",
    "try.none.band": "another band",
    "try.none.without": "any one thing taken out",
    "try.none.arrays": "more arrays",
    "try.none.lean": "nobody leaning",
    "try.none.hold": "holding less",
}
