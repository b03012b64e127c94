"""The only code that knows files, TOML, layers and coordinate systems of files."""
