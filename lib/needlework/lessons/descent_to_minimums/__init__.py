"""The lesson on descent planning to minimums."""
