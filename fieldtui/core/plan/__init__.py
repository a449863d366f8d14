"""What is to be measured, and with what: the route, the common tables, the session's own facts."""
