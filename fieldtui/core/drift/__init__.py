"""Record and prober out of step: noticed from the values (watch) or from a number (explanations)."""
