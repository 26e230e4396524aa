"""TOML as text: read, taken apart with the place of everything, changed in place, written."""
