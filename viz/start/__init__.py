"""The page that `overtable` opens on its own: the rooms of a folder, worked on without a terminal."""
