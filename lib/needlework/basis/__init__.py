"""What everything stands on: errors of one sentence, numbers with units, sources."""
