"""The lesson on intercepting a radial."""
