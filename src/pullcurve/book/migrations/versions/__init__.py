"""The steps, each a module with a number."""
