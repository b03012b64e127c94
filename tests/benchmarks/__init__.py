"""Ratios measured in one run; nothing here is a test. Run `python -m tests.benchmarks`."""
