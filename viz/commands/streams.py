"""Standard output and error as commands use them: nothing that is printed ends in a traceback."""

from __future__ import annotations

import io
import os
import sys
from typing import Any


def print_json(value: object) -> None:
    """JSON alone on standard output."""
    from scenes.numbers import json_text

    sys.stdout.write(json_text(value))


class _Unbroken(io.FileIO):
    """A stream whose reader may leave before the end (`| head`): what nobody reads is dropped, the command goes on."""

    def write(self, data: Any) -> int:
        """How many bytes were taken."""
        try:
            return super().write(data)
        except OSError as error:
            os.dup2(os.open(os.devnull, os.O_WRONLY), self.fileno())
            if isinstance(error, BrokenPipeError):
                return len(data)
            # once: a disk that is full is told, not told again on the way out
            raise OSError(error.errno, error.strerror, "standard output") from None


def unbroken(stream: Any) -> Any:
    """The stream, from now on without broken pipes; as it is where it is no stream of the process's own."""
    try:
        raw = _Unbroken(stream.fileno(), "w", closefd=False)
    except (AttributeError, OSError):
        return stream
    stream.flush()
    return io.TextIOWrapper(
        io.BufferedWriter(raw),
        encoding=stream.encoding,
        errors=stream.errors,
        line_buffering=stream.line_buffering,
        write_through=stream.write_through,
    )
