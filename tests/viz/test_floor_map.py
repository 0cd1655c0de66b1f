"""The map of the whole floor: a view on request."""

from tests.viz.rooms import staged
from viz import stills, views
from viz.stage.areas import on_floor


def test_a_map_of_the_floor_is_drawn_on_request_for_who_sits_and_who_stands():
    made = staged("quiet")
    assert {"map:seated", "map:standing"} <= set(views.names(made))
    assert not any(name.startswith("map") for name in views.usual(made))
    seated, standing = (on_floor(made, posture) for posture in ("seated", "standing"))
    assert [p.id for p in seated if p.layer != "margins"] == [p.id for p in made if p.layer != "margins"]
    covered = [sum(p.state == "covered" for p in one.layer("margins")) for one in (seated, standing)]
    assert covered[0] > 0
    assert {p.legend for p in seated.layer("margins")} != {p.legend for p in standing.layer("margins")}
    said = stills.described(views.view(seated, "map", 1.5), made.scene)
    assert said == stills.described(views.view(seated, "map:seated", 1.5), made.scene)
    assert said != stills.described(views.view(standing, "map:standing", 1.5), made.scene)
