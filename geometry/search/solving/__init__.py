"""Tables of what conflicts, and what is asked of them: count, estimate, best, trade-offs."""
