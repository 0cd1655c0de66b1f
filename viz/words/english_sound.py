"""Messages about sound: levels at the arrays, the speech index, what is advised, and where the figures hold."""

from __future__ import annotations

from typing import Final

SOUND: Final[dict[str, str | tuple[str, str]]] = {
    "sound.line": "Sound, before any processing in the array: {parts}.",
    "sound.missing": "Sound: not estimated. Give the file acoustics, for example {example}.",
    "sound.range": "{low} to {high}",
    "sound.level": "{level} dB(A)",
    "sound.over": "{over} dB over the noise",
    "sound.index": "index about {index}, {word}",
    "sound.class.bad": "bad",
    "sound.class.poor": "poor",
    "sound.class.fair": "fair",
    "sound.class.good": "good",
    "sound.class.excellent": "excellent",
    "sound.reverberation.long": (
        "Reverberation of {have} s is long for {volume}: {source} advises {low} to {high} s."
    ),
    "sound.reverberation.short": (
        "Reverberation of {have} s is short for {volume}: {source} advises {low} to {high} s."
    ),
    "sound.advice.noise": "Noise of {have} dB(A) is above the {need} dB(A) that {source} advises.",
    "sound.advice.over noise": (
        "Speech of {heads} is down to {have} dB over the noise; {source} advises {need} dB."
    ),
    "sound.advice.index": (
        "The speech index of {heads} is down to {have} (±0.1), {word}; {source} calls {need} and more good."
    ),
    "sound.own.noise": "Noise of {have} dB(A) against your limit of {need} dB(A).",
    "sound.own.over noise": "Least speech over the noise {have} dB against your limit of {need} dB.",
    "sound.own.index": "Least speech index {have} against your limit of {need}.",
    "sound.own.direct": "Least direct over reverberant sound {have} dB against your limit of {need} dB.",
    "sound.reach.less": (
        "{array}: its data sheet says {claimed}; in this noise a {effort} voice stands out as far as {have}."
    ),
    "sound.reach.more": (
        "{array}: in this noise a {effort} voice would stand out as far as {have}; its data sheet says {claimed}."
    ),
    "sound.before processing": (
        "The index describes the sound that reaches the array's place, before any processing, as a listener there would"
        " judge it; ±0.1."
    ),
    "sound.facing unknown": "any",
    "sound.valid.speech given": (
        "How loud people speak is as given; that they speak up in noise is not in the figures."
    ),
    "sound.valid.low frequencies": "Below {hz} Hz this room has no even field: the figures say nothing there.",
    "sound.valid.very absorbent": "The room absorbs more than an even field allows: reverberation is a rough figure.",
    "sound.valid.one surface": (
        "One surface absorbs over half: the true reverberation may be up to three times as long, the index 0.10 lower."
    ),
    "sound.valid.near a mouth": "An array is within 30 cm of a mouth: the level there is uncertain.",
    "sound.valid.open ceiling": "The ceiling is open: the space above it counts to its height as given only.",
    "sound.valid.ceiling parts": "The ceiling is in parts: its area for the mean absorption is taken as level.",
    "sound.valid.noise spectrum": (
        "Of the noise the file has no curve: where it is one figure, it is taken to fall by 5 dB an octave."
    ),
    "sound.valid.between curves": "The noise curve lies between tabulated ones: interpolated.",
    "sound.valid.below measured": (
        "An array lies lower than voices were measured (30° below the face): the lowest measured value is used."
    ),
    "sound.valid.no array index": (
        "The data sheet states no directivity_dB of an array: direct over reverberant sound is for 0 dB."
    ),
    "sound.valid.facing unknown": (
        "Where nobody knows which way somebody looks, levels are a range, and the weakest way counts."
    ),
    "sound.error": (
        "Direct level ±0.5 dB, direct over reverberant ±1.3 dB with even absorption, index ±0.1."
    ),
    "sound.formula.level": "Direct level: level at 1 m + loss by direction − 20 lg distance.",
    "sound.formula.direct": (
        "Direct over reverberant: 10 lg(Q R / 16π distance²) + loss + array index; R = A/(1 − mean absorption), A ="
        " 0.161 V/T."
    ),
    "sound.formula.critical": (
        "Critical distance {critical}: sqrt(Q A / 16π), straight ahead. There the ratio with R reads {over} dB."
    ),
    "sound.formula.index": (
        "Index: modulation left by direct sound, reverberation and noise in seven octaves, IEC 60268-16, male weights;"
        " masking and the threshold of hearing left out, 0.002 in such rooms."
    ),
    "sound.sources": (
        "Voice by direction: mean of Chu & Warnock 2002 and Leishman et al. 2021. Effort: ISO 9921:2003. Limits:"
        " {limits}."
    ),
    "sound.bounce.ceiling": (
        "Ceiling reflection, strongest at {array} for {head}: {weaker} dB weaker, {delay} ms later; first notch"
        " {notch} Hz, then every {spacing} Hz. Surface taken as rigid."
    ),
    "sound.bounce.table": (
        "Reflection off {table}, strongest for {head}: {weaker} dB weaker, {delay} ms later; first notch {notch} Hz,"
        " then every {spacing} Hz. Surface taken as rigid."
    ),
    "column.faces array": "Off face",
    "column.loss": "Loss",
    "column.level, short": "dB(A)",
    "column.over noise, short": "Over noise",
    "column.direct, short": "Direct/rev.",
    "column.index": "Index",
}
