"""Overlap, donor graph, exact cover, resilience."""
