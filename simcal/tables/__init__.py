"""Published tables (gases, materials) and their loaders; every row with its source."""
