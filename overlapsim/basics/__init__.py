"""What every other floor stands on: error classes, units, and the statement of axes and signs."""
