"""Everything about one room that outputs ask for, each computed once, when it is first asked for.

Pictures, pages, sheets, tables and the report receive a Dossier and compute nothing again, so they
cannot disagree.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from geometry.records import record
from scenes.findings.heights import ArrayHeights, HeightTable
from scenes.findings.review import Review
from scenes.review.first_look import first_look
from scenes.review.height_table import height_table
from scenes.review.heights import hanging_heights
from scenes.review.review import review
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
class Dossier:
    """A scene and whatever follows from it. Attributes are computed once and kept.

    Before every array has a place (`first`, from `Dossier.of`) the scene has those that hang, and nothing follows that
    a place decides: no heights, no regions, no schedule.

    Reviews, heights and the schedule need numpy only; `regions`, `keep_outs` and `placement` load shapely or run
    the certified search.
    """

    scene: Scene
    first: Review | None = None

    @classmethod
    def of(cls, scene: Scene) -> Dossier:
        """The dossier of a scene, whether or not every array has a place."""
        if scene.arrays and all(array.placed for array in scene.arrays):
            return cls(scene)
        look = first_look(scene).review
        return cls(look.scene, look)

    @cached_property
    def review(self) -> Review:
        """The scene judged; before every array has a place its first look."""
        return self.first or review(self.scene)

    @cached_property
    def heights(self) -> tuple[ArrayHeights, ...]:
        """What every band of every array would allow where it is on plan."""
        return () if self.first else hanging_heights(self.scene, self.review)

    @cached_property
    def placement(self) -> Placement | None:
        """The certified search from the same spec, its wishes kept: how good this room could be, proven.

        None where the search is refused.
        """
        from scenes.place.refusals import PlaceRefused
        from scenes.place.wished import place_as_wished

        try:
            return place_as_wished(self.scene)
        except PlaceRefused:
            return None

    @cached_property
    def regions(self) -> dict[str, Region]:
        """For each array, where on plan it could hang at its height and in its band and cover all it serves.

        Room less wall margin, keep-outs cut out. An array that serves nobody has none.
        """
        from scenes.review.regions import hanging_regions

        if self.first:
            return {}
        return hanging_regions(self.scene, self.review, self.keep_outs)

    @cached_property
    def keep_outs(self) -> dict[str, tuple[KeepOut, ...]]:
        """For each array, the plan areas its centre may not enter at its height, by device and rule."""
        from scenes.rules.keep_outs import keep_outs

        if self.first:
            return {}
        return {
            array.id: tuple(keep_outs(self.scene, array, array.centre_m[2])) for array in self.scene.arrays
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
        return rooms_to_move(self.scene, self.review)

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
        return height_table(self.scene, self.review)

    def height_span_m(self, array: Array) -> tuple[float, float]:
        """Lowest and highest height the acoustic centre itself can have."""
        return height_span_m(self.scene, array)
