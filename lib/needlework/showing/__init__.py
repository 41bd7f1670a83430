"""Everything that is drawn."""
