"""`overtable --completion`: what a shell needs to complete commands, options and choices."""

from __future__ import annotations

from typing import Literal


def completion(shell: Literal["bash", "zsh", "fish"], /) -> int:
    """Print completion for your shell: commands, options and choices.

    Nothing is installed: put the text in a file that your shell reads.

    Parameters
    ----------
    shell
        The shell you use.
    """
    from viz.commands.app import app_for

    print(app_for(None).generate_completion(shell=shell))
    return 0
