"""Between the screens and the files: workspaces, sessions open for writing, sessions read."""
