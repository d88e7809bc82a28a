"""What the workshop has: frozen, checked descriptions in trade units, exactly as typed."""
