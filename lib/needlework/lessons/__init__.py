"""The lessons of the course, one folder each: what is read, and the functions behind its questions."""
