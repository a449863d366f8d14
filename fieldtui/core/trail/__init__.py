"""What can happen, and the chain that ties it together."""
