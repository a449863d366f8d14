"""Charts as places and words; templates and screens draw them."""
