"""What fits: every combination over all zones, counted, ranked, and what stops the rest."""
