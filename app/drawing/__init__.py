"""Drawings as data, in millimetres: what canvas and sheets are painted from."""
