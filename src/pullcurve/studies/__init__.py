"""Questions asked of many pulls: which cams, which single swap, and why."""
