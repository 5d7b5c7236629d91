"""Text in, domain types and findings out: weather, catalogues, plan, records."""
