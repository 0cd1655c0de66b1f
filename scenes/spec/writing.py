"""A placement put into the spec's text: just the changed values spliced in at their marks, nothing else touched.

Every other byte of the file stays as it is, comments and line ends included. The new text is read again
and compared before it is kept, written aside and renamed, so that a file is never left half-written.
"""

from __future__ import annotations

import difflib
import os
import tempfile
from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path

from geometry.records import record
from geometry.shapes import Point2
from scenes.spec import equipment, undoing
from scenes.spec import model as written
from scenes.spec.lengths import METRES_IN
from scenes.spec.mistakes import SpecMistakes, WriteRefused
from scenes.spec.reading import read_spec_text
from scenes.spec.source import Source

DECIMALS = {"m": 4, "cm": 2, "mm": 1, "ft": 4, "in": 3}
"""Written to about a tenth of a millimetre in every unit: far finer than anybody can hang."""


@record(frozen=True, slots=True)
class NewPlace:
    """Where an array goes: plan place, height of its acoustic centre (None for a flush array), band."""

    at_m: Point2
    height_m: float | None
    band_name: str


def spliced(spec: written.Spec, places: Mapping[str, NewPlace]) -> str:
    """The text of the spec's file with these arrays at their new places.

    Numbers are written in the file's units, to about 0.1 mm; a value that would not change is left as it
    stands. Arrays must be in the spec (KeyError). Raises SpecMistakes where the text cannot be changed
    without changing something else: an array written as an alias, or one that an alias repeats.
    """
    source = spec.source
    if source is None:
        raise ValueError("this spec was not read from a text; there is nothing to splice into")
    edits: list[tuple[int, int, str]] = []
    index = {array.id: i for i, array in enumerate(spec.arrays)}
    for id, place in places.items():
        i = index[id]
        array = spec.arrays[i]
        path = ("arrays", i)
        if source.marks.shared(path):
            raise SpecMistakes(source.file, [source.marks.mistake(path, "array-shared")], spec.units)
        edits += _edits(source, path, _changed(spec, array, place))
    text = source.text
    for start, end, new in sorted(edits, reverse=True):
        text = text[:start] + new + text[end:]
    return text


def _changed(spec: written.Spec, array: equipment.Array, place: NewPlace) -> dict[str, str]:
    """The values of an array that change, as they are written, by key; a drop from the ceiling over the new place."""
    values: dict[str, str] = {}
    if array.at is None or _differs(array.at[0], place.at_m[0]) or _differs(array.at[1], place.at_m[1]):
        values["at"] = f"[{_number(place.at_m[0], spec.units)}, {_number(place.at_m[1], spec.units)}]"
    if place.height_m is not None and array.drop is not None:
        drop_m = spec.room.ceiling.height_over(place.at_m) - place.height_m
        if _differs(array.drop, drop_m):
            values["drop"] = _number(drop_m, spec.units)
    elif place.height_m is not None:
        today = spec.centre_height(array)
        if today is None or _differs(today, place.height_m):
            values["height"] = _number(place.height_m, spec.units)
    if array.band != place.band_name:
        values["band"] = _scalar(place.band_name)
    return values


def check_again(spec: written.Spec, text: str, places: Mapping[str, NewPlace]) -> written.Spec:
    """The spec that the new text gives, compared: the arrays are where they should be, all else is the same.

    Raises WriteRefused if the new text cannot be read or anything else differs.
    """
    source = spec.source
    assert source is not None
    again = _read_again(text, source)
    for before, after in zip(spec.arrays, again.arrays, strict=True):
        place = places.get(before.id)
        expected = before
        if place is not None:
            got_height = again.centre_height(after)
            close = (
                after.at is not None
                and not _differs(after.at[0], place.at_m[0])
                and not _differs(after.at[1], place.at_m[1])
                and (
                    place.height_m is None
                    or (got_height is not None and not _differs(got_height, place.height_m))
                )
                and after.band == place.band_name
            )
            if not close:
                raise WriteRefused("elsewhere", before.id)
            expected = before.model_copy(
                update={"at": after.at, "height": after.height, "drop": after.drop, "band": after.band}
            )
        if expected != after:
            raise WriteRefused("more of an array", before.id)
    if spec.model_copy(update={"arrays": again.arrays}) != again:
        raise WriteRefused("more than arrays", source.file)
    return again


def _read_again(text: str, source: Source) -> written.Spec:
    """The spec of a changed text. Its mistakes are none of the file's: WriteRefused."""
    try:
        return read_spec_text(text, source.file, source.folder)
    except SpecMistakes:
        raise WriteRefused("unreadable", source.file) from None


def changes(spec: written.Spec, text: str) -> str:
    """The changed lines as a unified diff; empty if nothing changes."""
    assert spec.source is not None
    return _diff(spec.source.text, text, spec.source.file, "placed")


def _diff(before: str, after: str, file: str, what: str) -> str:
    lines = difflib.unified_diff(
        before.splitlines(), after.splitlines(), file, f"{file} ({what})", lineterm="", n=0
    )
    return "\n".join(lines)


def keep(path: str | Path, text: str, before: str) -> None:
    """Put the new text into the file: written aside, then renamed over it. What it replaces is kept for `undo`.

    `before` is the text the change was made from: if the file has changed since, or is read-only, nothing is
    written and WriteRefused says so; likewise where a file of another's has the copy's name. A byte order mark
    at the front stays.
    """
    path = Path(path).resolve()
    old = path.read_bytes()
    if old.decode("utf-8-sig") != before:
        raise WriteRefused("changed since", path.name)
    mark = b"\xef\xbb\xbf" if old.startswith(b"\xef\xbb\xbf") else b""
    _replace(path, old, mark + text.encode("utf-8"))


def take_back(path: str | Path) -> str:
    """Put back what a spec's file was before overtable wrote into it; the changed lines, as a unified diff.

    What is taken back is kept in its turn, so that a second time writes it again. WriteRefused where nothing was
    kept, or the file was changed since.
    """
    path = Path(path).resolve()
    present, old = undoing.before(path)
    _replace(path, present, old)
    return _diff(present.decode("utf-8-sig"), old.decode("utf-8-sig"), path.name, "undone")


def _replace(path: Path, old: bytes, new: bytes) -> None:
    """The file with new bytes, its old ones beside it. A file that is read-only, or of another's, stays."""
    about = path.stat()
    if not about.st_mode & 0o222:
        raise WriteRefused("read-only", path.name)
    undoing.kept(path)  # a file of that name that is not ours is not written over
    _put(undoing.place_of(path), undoing.copy_of(old, new), about)
    _put(path, new, about)


def _put(path: Path, content: bytes, about: os.stat_result) -> None:
    """Bytes into a file that is, or is to be, as `about` says: written aside, then renamed."""
    handle, aside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(aside, about.st_mode & 0o7777)
        if _owned_alike(aside, about) or not path.exists():
            os.replace(aside, path)
        else:
            # a new file would be ours: the owner's is filled instead
            path.write_bytes(content)
            Path(aside).unlink()
    except BaseException:
        Path(aside).unlink(missing_ok=True)
        raise


def _owned_alike(aside: str, about: os.stat_result) -> bool:
    """Give the file aside the owner and group of the one it stands for; whether it has them."""
    made = os.stat(aside)
    if (made.st_uid, made.st_gid) == (about.st_uid, about.st_gid):
        return True
    try:
        os.chown(aside, about.st_uid, about.st_gid)
        os.chmod(aside, about.st_mode & 0o7777)  # a change of owner may take bits away
    except OSError:
        return False
    return True


def _edits(source: Source, path: tuple[str | int, ...], values: dict[str, str]) -> list[tuple[int, int, str]]:
    marks = source.marks
    node = marks.node(path)
    assert node is not None
    edits, missing = [], []
    for key, text in values.items():
        if marks.node((*path, key)) is not None:
            start, end = marks.value_span((*path, key))
            if "\n" in source.text[start:end]:
                # a list in lines may stand no deeper than its key: the new value goes behind the colon
                colon = source.text.index(":", marks.key_span((*path, key))[1]) + 1
                start = colon if not source.text[colon:start].strip() else start
                text = f" {text}"
            # a key with nothing after it has an empty value right behind the colon
            edits.append((start, end, text if end > start else f" {text}"))
        else:
            missing.append(f"{key}: {text}")
    if not missing:
        return edits
    # new keys go behind the array's last value; one that is changed too takes them along in one edit
    last = max(node.keys, key=lambda key: node.keys[key].start)
    end = marks.value_span((*path, last))[1]
    if node.flow:
        new = "".join(f", {entry}" for entry in missing)
    else:
        indent = " " * (node.keys[last].column - 1)
        line_end = "\r\n" if "\r\n" in source.text else "\n"
        new = "".join(f"{line_end}{indent}{entry}" for entry in missing)
        end = _line_stop(source.text, end)
    for i, (edit_start, edit_end, text) in enumerate(edits):
        if edit_end == end:
            edits[i] = (edit_start, edit_end, text + new)
            return edits
    return [*edits, (end, end, new)]


def _line_stop(text: str, at: int) -> int:
    """Where the line that `at` is in ends, before its line end."""
    following = text.find("\n", at)
    stop = len(text) if following < 0 else following
    return stop - 1 if text[stop - 1 : stop] == "\r" else stop


def _differs(before_m: float, after_m: float) -> bool:
    return abs(before_m - after_m) > 1e-4


SIXTEENTH_M = 0.0254 / 16


def _number(metres: float, units: str) -> str:
    sixteenths = round(metres / SIXTEENTH_M)
    if units == "ft" and abs(metres - sixteenths * SIXTEENTH_M) < 1e-8 and sixteenths * 625 % 12:
        return _feet_and_inches(sixteenths)
    text = f"{metres / float(METRES_IN[units]):.{DECIMALS[units]}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def _feet_and_inches(sixteenths: int) -> str:
    """`12 ft 8 in`, `7 ft 2 1/2 in`: what is no whole number of feet in four decimals."""
    sign, (feet, rest) = "-" if sixteenths < 0 else "", divmod(abs(sixteenths), 12 * 16)
    inches, part = divmod(rest, 16)
    whole = [str(inches)] if inches or not part else []
    share = Fraction(part, 16)
    broken = [f"{share.numerator}/{share.denominator}"] if part else []
    return f"{sign}{feet} ft {' '.join([*whole, *broken])} in"


def _scalar(text: str) -> str:
    import yaml

    plain = yaml.safe_dump([text], default_flow_style=True, allow_unicode=True, width=10_000)
    return str(plain).strip()[1:-1]


def appended(
    spec: written.Spec, text: str, id: str, profile: str, place: NewPlace, turn_deg: float = 0.0
) -> str:
    """`text`, which is the spec's with places changed, with one more array behind the last one.

    Written as one line in the file's units and read again: the array must be where it was put and everything else
    say the same. Raises WriteRefused if the new text cannot be read or anything else would change.
    """
    source = spec.source
    if source is None:
        raise ValueError("this spec was not read from a text; there is nothing to add to")
    before = read_spec_text(text, source.file, source.folder)
    entries = [f"id: {_scalar(id)}", f"profile: {_scalar(profile)}"]
    entries.append(f"at: [{_number(place.at_m[0], spec.units)}, {_number(place.at_m[1], spec.units)}]")
    if place.height_m is not None:
        entries.append(f"height: {_number(place.height_m, spec.units)}")
    entries.append(f"band: {_scalar(place.band_name)}")
    if turn_deg:
        entries.append(f"turn: {turn_deg:.6f}".rstrip("0").rstrip("."))
    item = f"{{{', '.join(entries)}}}"
    new = _with_item(before, text, item)
    again = _read_again(new, source)
    last = again.arrays[-1]
    height_m = again.centre_height(last)
    there = (
        (last.id, last.profile, last.band) == (id, profile, place.band_name)
        and last.at is not None
        and not any(_differs(*pair) for pair in zip(last.at, place.at_m, strict=True))
        and abs(last.turn - turn_deg) < 1e-5
        and (place.height_m is None or (height_m is not None and not _differs(height_m, place.height_m)))
    )
    if not there or again.model_copy(update={"arrays": again.arrays[:-1]}) != before:
        raise WriteRefused("not added", id)
    return new


def _with_item(before: written.Spec, text: str, item: str) -> str:
    """The text with one more array behind the last one, or under a key of its own where there is none."""
    assert before.source is not None
    marks = before.source.marks
    line_end = "\r\n" if "\r\n" in text else "\n"
    root = marks.node(())
    if not before.arrays and root is not None and (root.flow or "arrays" in root.keys):
        [(start, end, new)] = _edits(before.source, (), {"arrays": f"[{item}]"})
        return f"{text[:start]}{new}{text[end:]}"
    if not before.arrays and root is not None:
        last = max(root.keys, key=lambda key: root.keys[key].start)
        end = _line_stop(text, marks.value_span((last,))[1])
        return f"{text[:end]}{line_end}arrays:{line_end}  - {item}{text[end:] or line_end}"
    start, end = marks.value_span(("arrays", len(before.arrays) - 1))
    if marks.mapping_style(("arrays",)) == "flow":
        return f"{text[:end]}, {item}{text[end:]}"
    dash = text.rfind("-", 0, start)
    indent = text[text.rfind("\n", 0, dash) + 1 : dash]
    stop = text.find("\n", end)
    head, tail = (text, "") if stop < 0 else (text[:stop].removesuffix("\r"), text[stop + 1 :])
    return f"{head}{line_end}{indent}- {item}{line_end}{tail}"
