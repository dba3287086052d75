"""Checks: small pure functions over a scene that return findings."""
