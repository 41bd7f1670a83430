"""The lesson on station passage."""
