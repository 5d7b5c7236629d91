"""A study → the rows that every presentation shares: tables, JSON, charts, report."""
