"""Who serves whom, who is covered, what to graft: overlap, donor graph, exact cover, resilience."""
