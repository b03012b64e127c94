"""Questions that people ask, one room each."""
