"""Forecasts marked by what came."""
