"""Record against the meter's memory list: who belongs to whom, how sure, and what differs."""
