"""What swings, against bodies turned about the point they hang from in thousands of poses, in space."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from geometry.swinging import FINE_M, Floats, Swinging, swung_gaps

LINE_M = 0.004


def spans(*rectangle: float) -> tuple[Floats, Floats, Floats, Floats]:
    near, far, top, low = (np.array([[value]]) for value in rectangle)
    return near, far, top, low


def gap_of(swinging: Swinging, drop_m: float, *rectangle: float) -> float:
    slices = swinging.slices_for(2.0)
    return float(swung_gaps(swinging, np.array([drop_m]), spans(*rectangle), slices)[0, 0])


def posed(swinging: Swinging, drop_m: float, *rectangle: float) -> float:
    """The least distance of the body and its line to a rectangle over poses a few tenths of a degree apart."""
    box = shapely.box(rectangle[0], rectangle[2], rectangle[1], rectangle[3])
    r, top, low = swinging.radius_m, drop_m - swinging.above_m, drop_m + swinging.below_m
    angles = np.radians(np.linspace(-swinging.angle_deg, swinging.angle_deg, 301))
    turned = np.array([[np.cos(angles), np.sin(angles)], [-np.sin(angles), np.cos(angles)]])
    corners = np.array([[-r, top], [r, top], [r, low], [-r, low]])
    bodies = shapely.polygons(np.einsum("abn,kb->nka", turned, corners))
    lines = shapely.linestrings(np.einsum("abn,kb->nka", turned, np.array([[0.0, 0.0], [0.0, top]])))
    return float(min(shapely.distance(bodies, box).min(), shapely.distance(lines, box).min() - LINE_M))


def random_swings(count: int) -> list[tuple[Swinging, float, tuple[float, ...]]]:
    rng = np.random.default_rng(7)
    found = []
    for _ in range(count):
        swinging = Swinging(rng.uniform(3, 75), rng.uniform(0.03, 0.35), *rng.uniform(0.01, 0.08, 2), LINE_M)
        out, down = np.sort(rng.uniform(0, 2, 2)), np.sort(rng.uniform(-0.2, 1.8, 2))
        found.append((swinging, rng.uniform(0.1, 1.5), (*out, *down)))
    return found


def test_a_swinging_body_is_as_near_as_its_nearest_pose() -> None:
    apart = 0
    for swinging, drop_m, rectangle in random_swings(80):
        found, least = gap_of(swinging, drop_m, *rectangle), posed(swinging, drop_m, *rectangle)
        step_m = (
            math.radians(swinging.angle_deg) / 150 * 2
        )  # how far the lowest corner goes between two poses
        if least > step_m:
            apart += 1
            assert least - 2 * FINE_M - step_m < found <= least + 1e-9
        elif least <= 0:
            assert found <= 1e-9
        if found < -2 * FINE_M:
            assert least <= 0
    assert apart > 20


def test_no_point_of_a_body_that_swings_in_space_comes_nearer_to_a_box_beside_it() -> None:
    # a square body that twists too: its corners are on the circle that holds it
    rng = np.random.default_rng(3)
    swinging, drop_m = Swinging(40.0, math.hypot(0.15, 0.15), 0.04, 0.04), 0.7
    low, high = (
        np.array([0.62, -0.1, -0.5]),
        np.array([0.9, 0.25, -0.3]),
    )  # from the point it hangs from, z up
    points = rng.uniform([-0.15, -0.15, -0.04 - drop_m], [0.15, 0.15, 0.04 - drop_m], (400, 3))
    points[:100, :2] = np.sign(points[:100, :2]) * 0.15
    nearest = math.inf
    for _ in range(800):
        way, twist = rng.uniform(0, 2 * math.pi, 2)
        c, s = math.cos(twist), math.sin(twist)
        some = points @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]])
        axis = np.array([-math.sin(way), math.cos(way), 0.0])
        angle = math.radians(40.0) * rng.uniform(0.9, 1)
        along = np.outer(some @ axis, axis)
        some = along + (some - along) * math.cos(angle) + np.cross(axis, some) * math.sin(-angle)
        beyond = np.maximum(np.maximum(low - some, some - high), 0)
        nearest = min(nearest, float(np.linalg.norm(beyond, axis=1).min()))
    near, far = math.hypot(0.62, 0.0), math.hypot(0.9, 0.25)
    found = gap_of(swinging, drop_m, near, far, 0.3, 0.5)
    assert found <= nearest + 1e-9
    assert found == pytest.approx(nearest, abs=0.03)  # what 800 random poses come to


def test_it_comes_out_by_its_drop_times_the_sine_of_the_angle() -> None:
    # a point on a line: the rule of thumb of every handbook
    point = Swinging(45.0, 0.0, 0.0, 0.0)
    drop_m = np.array([0.6, 1.0])
    assert point.reach_m(drop_m) == pytest.approx(drop_m * math.sin(math.radians(45)))
    # with a body the outer corner of its underside: 0.2 cos 30° + 1.05 sin 30°
    body = Swinging(30.0, 0.2, 0.05, 0.05)
    assert body.reach_m(np.array([1.0]))[0] == pytest.approx(0.2 * math.cos(math.pi / 6) + 0.525)
    assert gap_of(body, 1.0, 1.5, 2.0, 0.0, 2.0) == pytest.approx(
        1.5 - 0.1 * math.sqrt(3) - 0.525, abs=FINE_M
    )


def test_it_changes_by_no_more_than_its_steepest_for_each_metre() -> None:
    rng = np.random.default_rng(5)
    steepest = 0.0
    for swinging, drop_m, (near, far, top, low) in random_swings(60):
        slices = swinging.slices_for(2.0)
        across, up = rng.normal(0, 0.02, (2, 40))
        drops = np.clip(drop_m + np.concatenate([[0.0], -up]), 0.09, None)
        moved = np.concatenate([[0.0], across])
        nears = np.maximum(near + moved, 0)[:, None]
        fars = np.maximum(far + moved, 0)[:, None]
        flat = np.full_like(nears, 1.0)
        found = swung_gaps(swinging, drops, (nears, fars, top * flat, low * flat), slices)[:, 0]
        away = np.hypot(moved[1:], drops[1:] - drops[0])
        steepest = max(steepest, float((np.abs(found[1:] - found[0]) / away).max() / swinging.steepest))
    assert 0.7 < steepest <= 1 + 1e-6


@pytest.mark.parametrize("angle_deg", [0.0, 90.0, -5.0])
def test_an_angle_that_is_none_is_refused(angle_deg: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 90"):
        Swinging(angle_deg, 0.1, 0.02, 0.02)
