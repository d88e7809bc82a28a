"""What nature does: formulas as pure functions on float arrays, in SI units.

Stations stand on the last axis, sets on the leading ones. Undefined is NaN and stays NaN.
"""
