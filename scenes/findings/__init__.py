"""What is found: frozen records of numbers, ids and named causes, nothing else."""
