"""TOML within bounds: scanned before it is parsed, with lines for problems."""
