"""Reading files and measurements."""
