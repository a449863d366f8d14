"""The pure part: no disk, no clock, no chance. Everything that decides something is here."""
