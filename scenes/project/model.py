"""What a project file may say: every key, its type, its default."""

from __future__ import annotations

from typing import Any, Final, Self

from pydantic import Field, model_validator

from scenes.spec.values import Id, Text, Version, Written, refuse

MOST_ROOMS: Final = 10_000


class RoomEntry(Written):
    """One room: a file of its own, or a template with what differs."""

    file: Text | None = Field(None, description="the room's spec file, relative to the project file")
    use: Id | None = Field(None, description="a name under `templates`, in place of `file`")
    number: Text | None = Field(None, description="the room's number, in quotes; every number once")
    name: Text | None = Field(None, description="the room's name, in place of the one in its file")
    storey: Text | None = Field(None, description="the storey it is on")
    change: dict[Id, Any] = Field(
        {},
        description="with `use`: keys of a spec file that differ from the template, in its units. A mapping is merged "
        "key by key, a list stands in place of the template's, and ~ takes a key away",
    )

    @model_validator(mode="after")
    def _of_one_file(self) -> Self:
        if self.file is None and self.use is None:
            refuse("room-file-or-use")
        if self.file is not None and self.use is not None:
            refuse("room-file-and-use")
        if self.file is not None and self.change:
            refuse("change-of-file", "change")
        return self


class ProjectFile(Written):
    """A project file, checked. Its files lie in its folder or below it."""

    overtable: Version = Field(description="version of the format")
    project: Text = Field(description="what title blocks call the project")
    profiles: Text | None = Field(
        None, description="a file of profiles for every room that names none, relative to the project file"
    )
    models: tuple[Text, ...] = Field(
        (), description="the architect's models, relative to the project file", max_length=100
    )
    templates: dict[Id, Text] = Field(
        {}, description="spec files that several rooms are made of, by name, relative to the project file"
    )
    rooms: tuple[RoomEntry, ...] = Field(min_length=1, max_length=MOST_ROOMS)
