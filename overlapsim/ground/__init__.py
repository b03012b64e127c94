"""Ground: edges, running areas, crossings, the account of areas and its second witness."""
