"""Results to `matplotlib` Axes; readable in grey print. pyplot is never imported."""
