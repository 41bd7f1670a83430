"""The lesson on flying an arc by ten-degree steps."""
