"""The version of this package: stated here, and nowhere else."""

__version__ = "0.1.0"
