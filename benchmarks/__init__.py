"""Speed as ratios within one run: nothing here is a test."""
