"""What is read and written: TOML in and out, recipes, baths, settings, calibrations, densitometer files."""
