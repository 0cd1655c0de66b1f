"""Everything about one room that outputs ask for, each computed once, when it is first asked for.

Pictures, pages, sheets, tables and the report receive a Dossier and compute nothing again, so they
cannot disagree.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from geometry.records import record
from scenes.findings.heights import ArrayHeights, HeightTable
from scenes.findings.review import LayoutReview, Review
from scenes.review.first_look import first_look
from scenes.review.height_table import height_table, tables_together
from scenes.review.heights import hanging_heights
from scenes.review.review import review
from scenes.review.together import of_one_layout
from scenes.room.layouts import in_layouts
from scenes.room.scene import Array, Scene
from scenes.room.spans import height_span_m

if TYPE_CHECKING:
    from geometry.band import Floats
    from geometry.region import Region
    from geometry.tolerance import RoomToMove
    from scenes.findings.cautions import Caution
    from scenes.findings.installation import ScheduleRow, Step
    from scenes.place.placement import Placement
    from scenes.rules.keep_outs import KeepOut


@record(frozen=True, eq=False)
class AllLayouts:
    """What the dossiers of a room's layouts have from each other: the scene of all, judged once."""

    scene: Scene

    @cached_property
    def review(self) -> Review:
        """All layouts judged together."""
        return review(self.scene)

    @cached_property
    def placement(self) -> Placement | None:
        """The certified search for all layouts; None where it is refused."""
        return _placed(self.scene)

    @cached_property
    def height_tables(self) -> dict[str, HeightTable]:
        """The table behind the page's slider of each layout, with the verdicts of them all."""
        each = [height_table(one, self.review) for one in in_layouts(self.scene)]
        return dict(zip(self.scene.layouts, tables_together(self.scene, each), strict=True))


@record(frozen=True, eq=False)
class Dossier:
    """A scene and whatever follows from it. Attributes are computed once and kept.

    Before every array has a place (`first`, from `Dossier.of`) the scene has those that hang, and nothing follows that
    a place decides: no heights, no regions, no schedule.

    Of a room of several layouts the scene is of one, and `all_layouts` of all: verdict, tolerances, heights, regions
    and keep-outs are those that hold in all of them, and so are verdicts and best heights of the table.

    Reviews, heights and the schedule need numpy only; `regions`, `keep_outs` and `placement` load shapely or run
    the certified search.
    """

    scene: Scene
    first: Review | None = None
    all_layouts: AllLayouts | None = None

    @classmethod
    def of(cls, scene: Scene, layout: str | None = None) -> Dossier:
        """The dossier of a scene, whether or not every array has a place.

        Of one of several layouts that of `layout`, else of the first. ValueError if there is no such layout.
        """
        if scene.layouts:
            name = layout or scene.layouts[0]
            return _dossier(in_layouts(scene)[scene.layouts.index(name)], AllLayouts(scene))
        if layout is not None:
            raise ValueError(layout)
        return _dossier(scene)

    @property
    def each(self) -> tuple[Dossier, ...]:
        """The dossiers of all layouts, in the order of the file; of a room without layouts this one."""
        if self.all_layouts is None:
            return (self,)
        return tuple(_dossier(one, self.all_layouts) for one in in_layouts(self.all_layouts.scene))

    @property
    def whole(self) -> Scene:
        """The scene of all layouts; of a room without layouts its own."""
        return self.scene if self.all_layouts is None else self.all_layouts.scene

    @property
    def whole_review(self) -> Review:
        """The whole scene judged."""
        return self.review if self.all_layouts is None else self.all_layouts.review

    @cached_property
    def review(self) -> Review:
        """The scene judged; before every array has a place its first look."""
        if self.first:
            return self.first
        if self.all_layouts is None:
            return review(self.scene)
        return of_one_layout(self.all_layouts.review, str(self.scene.layout))

    @cached_property
    def heights(self) -> tuple[ArrayHeights, ...]:
        """What every band of every array would allow where it is on plan."""
        return () if self.first else hanging_heights(self.whole, self.whole_review)

    @cached_property
    def placement(self) -> Placement | None:
        """The certified search from the same spec, its wishes kept: how good this room could be, proven.

        None where the search is refused.
        """
        return _placed(self.scene) if self.all_layouts is None else self.all_layouts.placement

    @cached_property
    def regions(self) -> dict[str, Region]:
        """For each array, where on plan it could hang at its height and in its band and cover all it serves.

        Room less wall margin, keep-outs cut out. An array that serves nobody has none.
        """
        from scenes.review.regions import hanging_regions

        if self.first:
            return {}
        return hanging_regions(self.whole, self.whole_review, self.keep_outs)

    @cached_property
    def keep_outs(self) -> dict[str, tuple[KeepOut, ...]]:
        """For each array, the plan areas its centre may not enter at its height, by device and rule."""
        from scenes.rules.keep_outs import keep_outs

        if self.first:
            return {}
        return {
            array.id: tuple(keep_outs(self.whole, array, array.centre_m[2])) for array in self.scene.arrays
        }

    @cached_property
    def kept_out(self) -> list[tuple[Floats, tuple[Floats, ...]]]:
        """Plan areas, outline (k, 2) and holes, that what is in the room keeps arrays out of, as drawings hatch them.

        What arrays keep from each other is left out: each would stand in the hatching of the other. The
        regions heed it all the same.
        """
        return [
            (np.asarray(one.outline_m, float), ())
            for some in self.keep_outs.values()
            for one in some
            if one.kind != "array"
        ]

    @cached_property
    def rooms_to_move(self) -> dict[str, tuple[RoomToMove, ...]]:
        """For each array that serves somebody: how far along ±x, ±y, ±height before the first head is lost."""
        from scenes.review.tolerance import rooms_to_move

        if self.first:
            return {}
        return rooms_to_move(self.whole, self.whole_review)

    @cached_property
    def schedule(self) -> tuple[ScheduleRow, ...]:
        """The installer's schedule, one row per array."""
        from scenes.review.schedule import schedule

        return () if self.first else schedule(self.scene, self.review)

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """The installer's steps for the kind of ceiling, in order; of a room that fails the one that holds it."""
        from scenes.review.schedule import steps

        return () if self.first else steps(self.scene, self.review)

    @cached_property
    def cautions(self) -> tuple[Caution, ...]:
        """The cautions that apply to this room."""
        from scenes.review.cautions import cautions

        return cautions(self.scene)

    @cached_property
    def height_table(self) -> HeightTable:
        """The table behind the page's slider."""
        if self.first:
            return HeightTable((), bool(self.review.clearances))
        if self.all_layouts is None:
            return height_table(self.scene, self.review)
        return self.all_layouts.height_tables[str(self.scene.layout)]

    def height_span_m(self, array: Array) -> tuple[float, float]:
        """Lowest and highest height the acoustic centre itself can have."""
        return height_span_m(self.scene, array)


def _dossier(scene: Scene, of_all: AllLayouts | None = None) -> Dossier:
    """The dossier of a scene, or of one layout of several."""
    if scene.arrays and all(array.placed for array in scene.arrays):
        return Dossier(scene, all_layouts=of_all)
    look = first_look(scene).review
    if of_all is not None:
        each = in_layouts(of_all.scene)
        looks = tuple(LayoutReview(str(one.layout), first_look(one).review) for one in each)
        look = replace(look, layouts=looks)
    return Dossier(look.scene, look, of_all)


def _placed(scene: Scene) -> Placement | None:
    """The search from the same spec, its wishes kept; None where it is refused."""
    from scenes.place.refusals import PlaceRefused
    from scenes.place.wished import place_as_wished

    try:
        return place_as_wished(scene)
    except PlaceRefused:
        return None
