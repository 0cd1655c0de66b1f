"""What it means: the scene, its seats, mouths, walls and tiles."""
