"""The drive: legs in order, laid out over the field."""
