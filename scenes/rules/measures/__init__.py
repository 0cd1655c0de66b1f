"""One measure a file: what a rule of `rules.yaml` is decided by."""
