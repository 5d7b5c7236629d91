"""May this pollen serve this flower? A three-valued verdict with its reason and sources."""
