"""The job book: what was fitted, why, and what came of it. The only package that knows SQL."""
