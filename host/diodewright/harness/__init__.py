"""Harness: one build at a time, run and judged for a test of its builder's own."""
