"""Values held against limits, and what such a verdict rests on."""
