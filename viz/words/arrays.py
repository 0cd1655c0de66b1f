"""Where each array hangs and what it does there."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from geometry.shapes import Point2
from scenes.findings.review import ArrayReview, HeadReview, Review
from scenes.review.counts import counts_of
from scenes.room.scene import Array
from viz.words.locale import DASH, Locale

if TYPE_CHECKING:
    from scenes.place.placement import PlacedArray


class ArrayText(NamedTuple):
    """One array's place and coverage, as every output shows it: which fields, is the output's choice."""

    id: str
    x: str
    y: str
    height: str
    drop: str
    band: str
    serves: str
    margin: str
    farthest: str = DASH
    from_centre: str = DASH
    spread: str = DASH
    underside: str = DASH
    covers: str = DASH


def array(reviewed: ArrayReview, heads: Sequence[HeadReview], locale: Locale) -> ArrayText:
    """One array's texts; `heads` are those it serves. What there is none of is a dash."""
    counts = counts_of(heads)
    return ArrayText(
        id=reviewed.id,
        x=locale.site(reviewed.at_m[0]),
        y=locale.site(reviewed.at_m[1]),
        height=locale.site(reviewed.height_m),
        drop=locale.site(reviewed.drop_m),
        band=band(reviewed.band_name, (reviewed.low_deg, reviewed.high_deg), locale),
        serves=str(counts.talkers),
        margin=locale.margin(reviewed.margin_m),
        farthest=locale.length(reviewed.worst_slant_m),
        from_centre=locale.from_centre(reviewed.mean_off_centre_deg),
        spread=locale.angle(reviewed.rms_off_centre_deg),
        underside=locale.site(reviewed.underside_m),
        covers=locale.say("of", part=counts.covered or 0, whole=counts.talkers) if heads else DASH,
    )


def arrays(review: Review) -> list[ArrayText]:
    """Every array of a reviewed room, in order; of several layouts whom it serves in each, in their order."""
    locale = Locale.of(review.scene)
    texts = [array(one, [review.head(id) for id in one.heads], locale) for one in review.arrays]
    if not review.scene.layouts:
        return texts
    each = [
        ", ".join(
            str(
                counts_of(
                    [head for head in review.heads if (head.array, head.layout) == (one.id, layout)]
                ).talkers
            )
            for layout in review.scene.layouts
        )
        for one in review.arrays
    ]
    return [text._replace(serves=serves) for text, serves in zip(texts, each, strict=True)]


def caption(array: ArrayReview, locale: Locale, *, flush: bool) -> str:
    """Where an array hangs and in which band, below a picture."""
    height = locale.site(array.height_m)
    edges = band(array.band_name, (array.low_deg, array.high_deg), locale)
    if flush:
        return locale.say("array.caption, flush", array=array.id, height=height, band=edges)
    hangs = locale.say("array.hangs", height=height, drop=locale.site(array.drop_m))
    return locale.say("array.caption", array=array.id, hangs=hangs, band=edges)


def placed(array: PlacedArray, talkers: int, locale: Locale) -> ArrayText:
    """Where a search puts one array; `talkers` is how many people it serves."""
    return ArrayText(
        id=array.id,
        x=locale.site(array.at_m[0]),
        y=locale.site(array.at_m[1]),
        height=locale.site(array.height_m),
        drop=locale.site(array.drop_m),
        band=band(array.band_name, (array.band.low_deg, array.band.high_deg), locale),
        serves=str(talkers),
        margin=locale.margin(array.margin_m),
    )


def band(name: str, edges_deg: tuple[float, float], locale: Locale) -> str:
    """A band by its name, and from which angle down to which: `main 24–69°`."""
    return locale.say("band", name=name, edges=locale.edges(*edges_deg))


def of(array: Array, locale: Locale) -> str:
    """The band an array hangs in: `main 24–69°`."""
    return band(str(array.band_name), (array.band.low_deg, array.band.high_deg), locale)


def place(at_m: Point2, locale: Locale) -> str:
    """A place on plan: `3.30 m, 2.25 m`."""
    return locale.say("place", x=locale.site(at_m[0]), y=locale.site(at_m[1]))
