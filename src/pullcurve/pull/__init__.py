"""The pull: a described job becomes arrays, arrays become both branches, branches become read-outs."""
