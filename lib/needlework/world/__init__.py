"""Procedures, weather, aircraft: frozen data, loaded and checked."""
