"""Which limb of a fruit tree has a viable pollen donor here, and what to graft so that all have."""
