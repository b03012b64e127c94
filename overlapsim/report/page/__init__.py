"""The report as one page: HTML that needs nothing beside it, in both systems of units."""
