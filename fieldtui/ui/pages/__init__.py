"""Whole-screen pages that the walk asks: drift, reconcile, close-out. Each answers and goes away."""
