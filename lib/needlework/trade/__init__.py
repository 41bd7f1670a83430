"""The trade's arithmetic: pure functions, scalars and arrays alike."""
