"""Whole approach, from the first fix to the hold, on procedures not seen before."""
