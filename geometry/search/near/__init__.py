"""What nearly fits, and what would let it in."""
