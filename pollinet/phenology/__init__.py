"""Winters to bloom: chill, heat, timing, ensembles, adequacy, flight weather, frost."""
