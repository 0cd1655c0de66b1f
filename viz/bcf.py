"""Open points as BCF 3.0 topics, for the tools in which the trades settle them.

One topic for each clearance that is not clear and for each sign-off, with the components' GlobalIds, a camera and a
small plan. Ids stay the same over revisions; a topic of the file before that is open no more is closed. Written with
the standard library; the schemas are buildingSMART's (BCF-XML 3.0).
"""

from __future__ import annotations

import datetime
import io
import math
import xml.etree.ElementTree as ET
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Final

from geometry.records import record
from geometry.shapes import Point2, Point3
from scenes.models.guids import thing_guid, uuid_of
from viz.words import topics as words
from viz.words.cautions import full
from viz.words.locale import Locale

if TYPE_CHECKING:
    from scenes.dossier import Dossier
    from scenes.findings.clearance import Clearance
    from scenes.room.scene import Array, Scene

VERSION: Final = "3.0"
OPEN: Final = "Open"
CLOSED: Final = "Closed"
EPOCH: Final = (1980, 1, 1, 0, 0, 0)
"""The earliest date of a zip file: the same input gives the same bytes."""
BACK_M: Final = 1.8
"""How far from an array its camera stands, and how far below it."""
UNDER_M: Final = 0.9
FIELD_DEG: Final = 60.0
PICTURE_PX: Final = (640, 480)
ROUND_PX: Final = 24


@record(frozen=True, slots=True)
class Topic:
    """One open point: what it is about, for whom, and which things of the spec it shows."""

    key: str
    kind: str
    text: words.TopicText
    about: tuple[str, ...]
    array: str | None


def bcf_bytes(dossier: Dossier, before: bytes | None = None) -> bytes:
    """The topics as a BCF file. `before`: the same room's file of an earlier revision."""
    scene = dossier.scene
    date = f"{scene.document.date or datetime.date.today().isoformat()}T00:00:00Z"
    earlier = {} if before is None else _earlier(before)
    files: dict[str, bytes] = {"bcf.version": _xml(ET.Element("Version", VersionId=VERSION))}
    topics = list(_topics(dossier))
    files["extensions.xml"] = _xml(_extensions(topics))
    for topic in topics:
        guid = str(uuid_of(scene, f"topic/{topic.key}"))
        view = str(uuid_of(scene, f"view/{topic.key}"))
        created = earlier[guid].findtext("Topic/CreationDate", date) if guid in earlier else date
        files[f"{guid}/markup.bcf"] = _xml(_markup(scene, topic, (guid, view), (created, date)))
        files[f"{guid}/viewpoint.bcfv"] = _xml(_viewpoint(scene, topic, view))
        files[f"{guid}/snapshot.png"] = _snapshot(scene, topic)
    for guid, markup in earlier.items():
        if f"{guid}/markup.bcf" not in files:
            files |= _closed(guid, markup, date, before or b"")
    return _zipped(files)


def _topics(dossier: Dossier) -> Iterator[Topic]:
    """Clearances first, in the review's order, then sign-offs."""
    scene, locale = dossier.scene, Locale.of(dossier.scene)
    for one in dossier.review.clearances:
        if one.state in ("clear", "off"):
            continue
        about = tuple(name for name in (one.array, one.device, one.against) if name in _things(scene))
        yield Topic(_key(one), "Clearance", words.clearance_topic(one, locale), about, one.array)
    for caution in full(scene):
        text = words.sign_off_topic(caution, locale)
        if text is not None:
            about = tuple(array.id for array in scene.arrays)
            yield Topic(f"sign-off/{caution.name}", "Sign-off", text, about, about[0] if about else None)


def _things(scene: Scene) -> set[str]:
    """What a model of the room has as a thing of its own."""
    groups = (scene.arrays, scene.overhead, scene.obstacles, scene.cameras, scene.displays)
    return {one.id for group in groups for one in group}


def _key(one: Clearance) -> str:
    return "/".join(str(part) for part in (one.array or one.device, one.against, one.rule, one.part))


# ---------------------------------------------------------------- XML


def _xml(root: ET.Element) -> bytes:
    ET.indent(root)
    return bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True)) + b"\n"


def _leaf(parent: ET.Element, name: str, text: str | float) -> None:
    ET.SubElement(parent, name).text = text if isinstance(text, str) else f"{text:.6f}"


def _extensions(topics: Sequence[Topic]) -> ET.Element:
    """What this file uses of types, statuses, priorities and users."""
    root = ET.Element("Extensions")
    lists: Mapping[tuple[str, str], Sequence[str]] = {
        ("TopicTypes", "TopicType"): sorted({topic.kind for topic in topics}),
        ("TopicStatuses", "TopicStatus"): [OPEN, CLOSED],
        ("Priorities", "Priority"): sorted({topic.text.priority for topic in topics}),
        ("TopicLabels", "TopicLabel"): [],
        ("Users", "User"): sorted({topic.text.trade for topic in topics}),
    }
    for (many, single), names in lists.items():
        listed = ET.SubElement(root, many)
        for name in names:
            _leaf(listed, single, name)
    return root


def _markup(scene: Scene, topic: Topic, ids: tuple[str, str], dates: tuple[str, str]) -> ET.Element:
    guid, view = ids
    created, modified = dates
    author = scene.document.drawn_by or "overtable"
    root = ET.Element("Markup")
    if scene.origin is not None:
        listed = ET.SubElement(ET.SubElement(root, "Header"), "Files")
        for name in scene.origin.files:
            file = ET.SubElement(listed, "File", IsExternal="true")
            if "project" in scene.origin.parents:
                file.set("IfcProject", scene.origin.parents["project"])
            _leaf(file, "Filename", name)
    made = ET.SubElement(root, "Topic", Guid=guid, TopicType=topic.kind, TopicStatus=OPEN)
    _leaf(made, "Title", topic.text.title)
    _leaf(made, "Priority", topic.text.priority)
    _leaf(made, "CreationDate", created)
    _leaf(made, "CreationAuthor", author)
    if modified != created:
        _leaf(made, "ModifiedDate", modified)
        _leaf(made, "ModifiedAuthor", author)
    _leaf(made, "AssignedTo", topic.text.trade)
    _leaf(made, "Description", topic.text.description)
    point = ET.SubElement(ET.SubElement(made, "Viewpoints"), "ViewPoint", Guid=view)
    _leaf(point, "Viewpoint", "viewpoint.bcfv")
    _leaf(point, "Snapshot", "snapshot.png")
    return root


def _viewpoint(scene: Scene, topic: Topic, guid: str) -> ET.Element:
    root = ET.Element("VisualizationInfo", Guid=guid)
    parts = ET.SubElement(root, "Components")
    selected = ET.SubElement(parts, "Selection")
    for id in topic.about:
        ET.SubElement(selected, "Component", IfcGuid=thing_guid(scene, id))
    ET.SubElement(parts, "Visibility", DefaultVisibility="true")
    camera = ET.SubElement(root, "PerspectiveCamera")
    at, towards, up = _camera(scene, topic)
    for name, vector in (("CameraViewPoint", at), ("CameraDirection", towards), ("CameraUpVector", up)):
        made = ET.SubElement(camera, name)
        for axis, value in zip("XYZ", vector, strict=True):
            _leaf(made, axis, value)
    _leaf(camera, "FieldOfView", FIELD_DEG)
    _leaf(camera, "AspectRatio", PICTURE_PX[0] / PICTURE_PX[1])
    return root


def _closed(guid: str, markup: ET.Element, date: str, before: bytes) -> dict[str, bytes]:
    """A topic of the file before, with all its files, closed."""
    topic = markup.find("Topic")
    assert topic is not None  # by _earlier
    if topic.get("TopicStatus") != CLOSED:
        topic.set("TopicStatus", CLOSED)
        author = topic.findtext("CreationAuthor", "overtable")
        for name, text in (("ModifiedDate", date), ("ModifiedAuthor", author)):
            _after(topic, name, text)
    with zipfile.ZipFile(io.BytesIO(before)) as archive:
        own = {name: archive.read(name) for name in archive.namelist() if name.startswith(f"{guid}/")}
    return own | {f"{guid}/markup.bcf": _xml(markup)}


def _after(topic: ET.Element, name: str, text: str) -> None:
    """Sets a child; a new one comes after what the schema has before it."""
    found = topic.find(name)
    if found is None:
        before = {"ModifiedDate": "CreationAuthor", "ModifiedAuthor": "ModifiedDate"}[name]
        found = ET.Element(name)
        topic.insert([child.tag for child in topic].index(before) + 1, found)
    found.text = text


def _earlier(before: bytes) -> dict[str, ET.Element]:
    """The topics of a file by their ids; none of what cannot be read."""
    found: dict[str, ET.Element] = {}
    with zipfile.ZipFile(io.BytesIO(before)) as archive:
        for name in archive.namelist():
            guid, _, file = name.partition("/")
            if file == "markup.bcf":
                markup = ET.fromstring(archive.read(name))
                topic = markup.find("Topic")
                if topic is not None and topic.get("Guid") == guid:
                    found[guid] = markup
    return found


def _zipped(files: Mapping[str, bytes]) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        for name, content in files.items():
            entry = zipfile.ZipInfo(name, EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, content)
    return made.getvalue()


# ---------------------------------------------------------------- what one sees


def _array(scene: Scene, topic: Topic) -> Array | None:
    return next((one for one in scene.arrays if one.id == topic.array), None)


def _shown(scene: Scene, topic: Topic) -> tuple[Point3, Point3]:
    """Where the array is, and where the other thing: a device, or the middle of the room's floor."""
    (low_x, low_y), (high_x, high_y) = scene.room.bounds_m
    middle = ((low_x + high_x) / 2, (low_y + high_y) / 2, 0.0)
    array = _array(scene, topic)
    here = middle if array is None else array.centre_m
    for device in scene.overhead:
        if device.id in topic.about:
            return here, (*device.at_m, device.low_m)
    return here, middle


def _camera(scene: Scene, topic: Topic) -> tuple[Point3, Point3, Point3]:
    """Where the camera stands, looks and has its top, in the model's axes: beside the array, looking up at it."""
    here, other = _shown(scene, topic)
    away = (here[0] - other[0], here[1] - other[1])
    far = math.hypot(*away)
    side = (away[1] / far, -away[0] / far) if far > 0.05 else (1.0, 0.0)
    at = (here[0] + side[0] * BACK_M, here[1] + side[1] * BACK_M, max(here[2] - UNDER_M, 0.5))
    look = tuple(b - a for a, b in zip(at, here, strict=True))
    length = math.sqrt(sum(value * value for value in look))
    x, y, z = (value / length for value in look)
    flat = math.hypot(x, y)
    up = (-x * z / flat, -y * z / flat, flat)
    return _in_model(scene, at, place=True), _in_model(scene, (x, y, z)), _in_model(scene, up)


def _in_model(scene: Scene, vector: Point3, *, place: bool = False) -> Point3:
    """A vector or a place of the room in the model's axes."""
    origin = scene.origin
    if origin is None:
        return vector
    c, s = math.cos(math.radians(origin.turn_deg)), math.sin(math.radians(origin.turn_deg))
    x, y, z = c * vector[0] - s * vector[1], s * vector[0] + c * vector[1], vector[2]
    if not place:
        return x, y, z
    return x + origin.origin_m[0], y + origin.origin_m[1], z + origin.origin_m[2]


def _snapshot(scene: Scene, topic: Topic) -> bytes:
    """A plan of the room with the things of the topic marked, as PNG."""
    from PIL import Image, ImageDraw

    from viz import palette
    from viz.plan_svg import footprint

    (low_x, low_y), (high_x, high_y) = scene.room.bounds_m
    scale = min(
        (PICTURE_PX[0] - 2 * ROUND_PX) / (high_x - low_x), (PICTURE_PX[1] - 2 * ROUND_PX) / (high_y - low_y)
    )

    def at(point: Sequence[float]) -> Point2:
        return ROUND_PX + (point[0] - low_x) * scale, PICTURE_PX[1] - ROUND_PX - (point[1] - low_y) * scale

    picture = Image.new("RGB", PICTURE_PX, palette.PAPER)
    draw = ImageDraw.Draw(picture)
    draw.polygon([at(one) for one in scene.room.outline_m], palette.FLOOR, palette.CUT, 3)
    for table in scene.tables:
        draw.polygon([at(one) for one in table.outline_m], palette.TABLE_TOP, palette.TABLE_EDGE)
    for device in scene.overhead:
        edge = palette.CLASH if device.id in topic.about else palette.SYMBOL
        draw.polygon([at(one) for one in footprint(device)], palette.LUMINOUS, edge, 3)
    for array in scene.arrays:
        x, y = at(array.centre_m)
        radius = max(array.profile.plan_radius_m * scale, 4)
        edge = palette.CLASH if array.id in topic.about else palette.SYMBOL
        draw.ellipse((x - radius, y - radius, x + radius, y + radius), palette.ARRAY_BODY, edge, 3)
    made = io.BytesIO()
    picture.save(made, "PNG")
    return made.getvalue()
