"""The moving aircraft, its pilot, plans, recordings."""
