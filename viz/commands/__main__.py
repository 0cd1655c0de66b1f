"""`python -m viz.commands` does what `overtable` does."""

from viz.commands.main import main

main()
