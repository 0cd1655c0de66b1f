"""A room some array of which has no place yet: what there is to say of it. Records only."""

from __future__ import annotations

from geometry.records import record
from scenes.findings.review import Review
from scenes.room.scene import Scene


@record(frozen=True, slots=True)
class FirstLook:
    """The room as far as it can be judged: no talker is covered or missed, and there is no verdict.

    `scene` has every array of the file, `review` is not judged and has those that hang.
    """

    scene: Scene
    review: Review
