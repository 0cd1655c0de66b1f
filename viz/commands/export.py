"""`overtable export`: one model or one table."""

from __future__ import annotations

from pathlib import Path

from viz.commands.errors import Missing, WrongUse
from viz.commands.inputs import dossier_of, say_hold, status_of
from viz.commands.options import Force, Layout


def export(spec: Path, file: Path, /, *, layout: Layout = None, force: Force = False) -> int:
    """Export the room as a model or a table. The ending of FILE decides which.

    Parameters
    ----------
    spec
        The room's spec file.
    file
        File to write. Models: .glb, .obj, .stl, or .ifc for the architect. Open points for the trades: .bcf. Sheets:
        .dxf. All talkers: .csv. The review: .json.
    """
    from scenes.models.refusals import ReaderMissing
    from viz.exports import EXPORTERS
    from viz.outputs import require_replaceable, write_file
    from viz.words.locale import Locale
    from viz.words.models import refusal

    ending = file.suffix.lower().removeprefix(".")
    if ending not in EXPORTERS:
        endings = ", ".join(f".{one}" for one in EXPORTERS)
        if not ending:
            raise WrongUse("use.no ending", path=file, endings=endings)
        raise WrongUse("use.ending, one of", path=file, ending=file.suffix, endings=endings)
    dossier = dossier_of(spec, layout=layout)
    require_replaceable(file, force=force)
    try:
        if ending == "bcf" and file.is_file():
            from viz.bcf import bcf_bytes

            # what was open in the file before and is no more is closed
            made: bytes | str = bcf_bytes(dossier, file.read_bytes())
        else:
            made = EXPORTERS[ending](dossier)
    except ReaderMissing as error:
        raise Missing(refusal(error, Locale.of(dossier.scene))) from None
    print(write_file(file, made, force=force))
    if ending in ("csv", "stl"):
        # a bare table and a bare mesh have no room for the cautions
        from viz.terminal.console import console, print_cautions

        print_cautions(console(stderr=True), dossier.scene, dossier.review)
    else:
        say_hold(dossier)
    return status_of(dossier)
