"""What has happened so far: the fold of route and events."""
