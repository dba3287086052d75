"""What is stored: parts and enclosures as numbers read off with a caliper, and their files."""
