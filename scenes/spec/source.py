"""The text a spec was read from."""

from __future__ import annotations

from pathlib import Path as FilePath

from geometry.records import record
from scenes.spec.yaml_tree import Marks


@record(frozen=True, eq=False)
class Source:
    """The text a spec was read from. Two specs that say the same are equal, wherever they stand: so is
    this."""

    file: str
    folder: FilePath | None
    text: str
    data: bytes  # what was read: a copy of the spec is made of it, whatever became of the file since
    sha256: str
    marks: Marks
    library: str | None = None  # the profiles file, as the spec names it
    library_data: bytes | None = None

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Source)

    def __hash__(self) -> int:
        return 0
