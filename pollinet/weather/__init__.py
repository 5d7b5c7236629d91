"""Daily records to hourly winters: gaps, plausibility, hourly course, generated winters."""
