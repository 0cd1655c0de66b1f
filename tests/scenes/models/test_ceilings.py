"""What the ceiling of a room of a model is, and the structure above it: by true shapes, never by a relation."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

from scenes.findings.model import ModelCeiling, ModelRoom
from tests.scenes.models.builder import Model, Point, rectangle
from tests.scenes.models.test_spaces import only_room

ROOM = rectangle(0, 0, 6, 4)


def read(model: Model, tmp_path: Path) -> ModelRoom:
    return only_room(model.write(tmp_path))


def names(room: ModelRoom) -> set[str]:
    return {doubt.name for doubt in room.doubts}


def whole(ceiling: ModelCeiling) -> float:
    """The share of the room that the ceiling and its parts are over."""
    return ceiling.share + sum(part.share for part in ceiling.parts)


def test_a_covering_is_the_ceiling_and_the_slab_above_it_the_structure(tmp_path: Path) -> None:
    model = Model("IFC2X3", "mm")
    model.space("1", "Room", ROOM, 0.0, 4.0)
    model.ceiling("Compound Ceiling:600 x 600mm Grid", rectangle(-0.1, -0.1, 6.2, 4.2), 2.6)
    model.slab(rectangle(-1, -1, 9, 9), 3.85, 4.0)
    model.slab(rectangle(-1, -1, 9, 9), -0.2, 0.0)
    room = read(model, tmp_path)
    ceiling = room.ceiling
    assert (ceiling.source, ceiling.kind) == ("covering", "suspended")
    assert ceiling.height_m == pytest.approx(2.6, abs=1e-6)
    assert ceiling.structure_m == pytest.approx(3.85, abs=1e-6)
    assert ceiling.share == pytest.approx(1)
    assert ceiling.parts == ()
    assert names(room) == set()


def test_the_kind_is_said_by_the_name_else_by_the_gap_and_then_a_guess(tmp_path: Path) -> None:
    for name, slab, kind, guessed in (
        ("Gypsum Board on Furring", 3.2, "hard", False),
        ("Mineral tile 600", 2.62, "suspended", False),
        ("Plain", 3.2, "suspended", True),
        ("Plain", 2.62, "hard", True),
    ):
        model = Model()
        model.space("1", "Room", ROOM, 0.0, 3.0)
        model.ceiling(name, ROOM, 2.6)
        model.slab(ROOM, slab, slab + 0.2)
        room = read(model, tmp_path)
        assert room.ceiling.kind == kind, name
        assert ("ceiling-kind" in names(room)) == guessed, name


def test_without_a_covering_the_slab_is_the_ceiling(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", ROOM, 0.0, 2.955)
    model.slab(ROOM, 3.2, 3.4)
    room = read(model, tmp_path)
    assert (room.ceiling.source, room.ceiling.kind) == ("slab", "open")
    assert room.ceiling.height_m == pytest.approx(3.2)
    assert names(room) == set()


def test_without_either_the_space_s_top_stands_in_and_says_so(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", ROOM, 0.0, 2.5)
    room = read(model, tmp_path)
    assert (room.ceiling.source, room.ceiling.height_m) == ("space", pytest.approx(2.5))
    assert names(room) == {"ceiling-of-space", "ceiling-kind"}


def test_a_roof_far_above_a_flat_space_is_its_structure_not_its_ceiling(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", ROOM, 0.0, 2.2)
    model.thing("IfcRoof", "Roof", model.sloped(ROOM, (3.0, 3.0, 6.0, 6.0), 0.3, 0.0))
    room = read(model, tmp_path)
    assert (room.ceiling.source, room.ceiling.height_m) == ("space", pytest.approx(2.2))
    assert room.ceiling.structure_m == pytest.approx(3.0)
    assert "structure-levels" in names(room)


def test_the_ceiling_of_the_floor_above_is_not_this_room_s(tmp_path: Path) -> None:
    model = Model(storeys=[("0", 0.0), ("1", 3.0)])
    model.space("1", "Room", ROOM, 0.0, 2.7)
    model.slab(ROOM, 2.8, 3.0)
    model.ceiling("Ceiling above", ROOM, 2.5, storey="1")
    model.slab(ROOM, 2.8, 3.0, storey="1")
    room = read(model, tmp_path)
    assert (room.ceiling.source, room.ceiling.height_m) == ("slab", pytest.approx(2.8))


def test_two_heights_make_a_part_and_the_larger_share_is_the_ceiling(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", ROOM, 0.0, 3.0)
    model.ceiling("Gypsum", rectangle(0, 0, 4, 4), 2.75)
    model.ceiling("Gypsum bulkhead", rectangle(4, 0, 2, 4), 2.4)
    model.slab(ROOM, 3.1, 3.3)
    room = read(model, tmp_path)
    ceiling = room.ceiling
    assert (ceiling.height_m, ceiling.share) == (pytest.approx(2.75), pytest.approx(2 / 3))
    (part,) = ceiling.parts
    assert (part.height_m, part.share, part.kind) == (pytest.approx(2.4), pytest.approx(1 / 3), "hard")
    assert part.structure_m == pytest.approx(3.1)
    assert np.allclose(sorted(part.outline_m), sorted(rectangle(4, 0, 2, 4)), atol=1e-6)
    assert ceiling.span_m == (pytest.approx(2.4), pytest.approx(2.75))


def test_the_lower_of_two_ceilings_over_one_place_is_seen(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", ROOM, 0.0, 3.0)
    model.ceiling("Board", ROOM, 2.7)
    model.ceiling("Raft", rectangle(1, 1, 3, 2), 2.4)
    room = read(model, tmp_path)
    (part,) = room.ceiling.parts
    assert (room.ceiling.height_m, part.height_m) == (pytest.approx(2.7), pytest.approx(2.4))
    assert part.share == pytest.approx(6 / 24)


def test_a_ring_at_the_walls_becomes_parts_without_holes_that_fill_the_room(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", ROOM, 0.0, 3.0)
    model.ceiling("Coffer", rectangle(0.5, 0.5, 5, 3), 2.9)
    for strip in (
        rectangle(0, 0, 6, 0.5), rectangle(0, 3.5, 6, 0.5), rectangle(0, 0.5, 0.5, 3), rectangle(5.5, 0.5, 0.5, 3),
    ):  # fmt: skip
        model.ceiling("Soffit", strip, 2.5)
    room = read(model, tmp_path)
    assert room.ceiling.height_m == pytest.approx(2.9)
    areas = [shapely.Polygon(part.outline_m) for part in room.ceiling.parts]
    assert len(areas) >= 2
    assert all(area.is_valid and not area.interiors for area in areas)
    assert sum(area.area for area in areas) == pytest.approx(24 - 15, abs=1e-6)
    for i, one in enumerate(areas):
        for other in areas[:i]:
            assert one.intersection(other).area < 1e-9
    assert whole(room.ceiling) == pytest.approx(1, abs=1e-6)


def test_a_ceiling_over_a_part_leaves_the_rest_to_the_slab(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", ROOM, 0.0, 3.0)
    model.ceiling("Lay in tile", rectangle(0, 0, 4, 4), 2.6)
    model.slab(ROOM, 3.1, 3.3)
    (part,) = read(model, tmp_path).ceiling.parts
    assert (part.source, part.kind, part.height_m) == ("slab", "open", pytest.approx(3.1))
    assert part.structure_m is None


def test_a_joint_at_the_wall_is_no_part(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", ROOM, 0.0, 3.0)
    model.ceiling("Lay in tile", rectangle(0.02, 0.02, 5.96, 3.96), 2.6)
    model.slab(ROOM, 3.1, 3.3)
    ceiling = read(model, tmp_path).ceiling
    assert ceiling.parts == ()
    assert ceiling.share == pytest.approx(1, abs=1e-6)


def test_a_ceiling_belongs_to_the_room_it_is_over_by_true_shapes(tmp_path: Path) -> None:
    # the covering is an L whose bounding box is over the room, which lies in the L's bay
    model = Model()
    model.space("1", "Room", rectangle(3, 3, 3, 3), 0.0, 3.0)
    ell: list[Point] = [(0, 0), (6, 0), (6, 3), (3, 3), (3, 6), (0, 6)]
    model.ceiling("Gypsum", ell, 2.4)
    assert read(model, tmp_path).ceiling.source == "space"


def test_a_pitched_roof_makes_two_slopes_that_rise_to_the_ridge(tmp_path: Path) -> None:
    model = Model("IFC4", "ft")
    low, ridge = 1.0, 3.0
    model.space(
        "1",
        "Gallery",
        None,
        body=model.brep(
            [
                *[(0, 0, 0), (6, 0, 0), (6, 4, 0), (0, 4, 0)],
                *[(0, 0, low), (6, 0, low), (6, 4, low), (0, 4, low), (0, 2, ridge), (6, 2, ridge)],
            ],
            [[3, 2, 1, 0], [0, 1, 5, 4], [2, 3, 7, 6], [1, 2, 6, 9, 5], [3, 0, 4, 8, 7], [4, 5, 9, 8], [8, 9, 6, 7]],
        ),
    )  # fmt: skip
    model.thing("IfcSlab", "Dach", model.sloped(rectangle(-1, -1, 8, 3), (0.0, 0.0, 3.0, 3.0), 0.2, 0.0))
    model.thing("IfcSlab", "Dach", model.sloped(rectangle(-1, 2, 8, 3), (3.0, 3.0, 0.0, 0.0), 0.2, 0.0))
    room = read(model, tmp_path)
    assert room.ceiling.source == "slab"
    assert room.ceiling.share == 0
    assert room.ceiling.span_m == (pytest.approx(1.0, abs=1e-5), pytest.approx(3.0, abs=1e-5))
    slopes = [part.slope for part in room.ceiling.parts if part.slope is not None]
    assert sorted(round(slope.towards_deg, 3) for slope in slopes) == [90, 270]
    for slope in slopes:
        assert (slope.low_m, slope.high_m) == (pytest.approx(1, abs=1e-5), pytest.approx(3, abs=1e-5))
    assert sum(part.share for part in room.ceiling.parts) == pytest.approx(1, abs=1e-6)


def test_a_curved_ceiling_is_its_lowest_height_and_told_as_flattened(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", ROOM, 0.0, 3.5)
    steps = 80
    for i in range(steps):
        x0, x1 = 6 * i / steps, 6 * (i + 1) / steps
        lows = [2.6 + 0.8 * np.sin(np.pi * x / 6) for x in (x0, x1, x1, x0)]
        strip = rectangle(x0, 0, x1 - x0, 4)
        model.thing("IfcCovering", "Vault", model.sloped(strip, lows, 0.02, 0.0), PredefinedType="CEILING")
    room = read(model, tmp_path)
    assert "ceiling-curved" in names(room)
    assert room.ceiling.height_m == pytest.approx(2.6, abs=1e-3)
    assert room.ceiling.parts == ()


def test_without_slab_or_roof_the_lowest_beam_is_the_structure(tmp_path: Path) -> None:
    model = Model()
    model.space("1", "Room", ROOM, 0.0, 3.0)
    model.ceiling("Lay in tile", ROOM, 2.6)
    for x in (0, 2, 4):
        model.thing("IfcBeam", "Beam", model.prism(rectangle(x, -1, 1.5, 6), 3.0, 3.3))
    assert read(model, tmp_path).ceiling.structure_m == pytest.approx(3.0)
