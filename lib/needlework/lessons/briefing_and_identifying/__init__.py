"""The lesson on reading the plate, tuning and identifying the station."""
