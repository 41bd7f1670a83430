"""From a lesson's source to its notebooks."""
