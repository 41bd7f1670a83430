"""The lesson on the missed approach and the hold: its text and its functions."""
