"""`overtable undo`: what was last written into a spec taken back."""

from __future__ import annotations

from pathlib import Path


def undo(spec: Path, /) -> int:
    """Take back what overtable last wrote into a spec. Once more, and it is written again.

    Before `place --write`, `update` and the pages write into a spec, they keep its text beside it, as SPEC.before.

    Parameters
    ----------
    spec
        A spec file that overtable wrote into.
    """
    from scenes.spec.writing import take_back
    from viz.words.locale import Locale

    print(take_back(spec))
    print(Locale("m").say("undo.done", file=str(spec)))
    return 0
