"""The real record for the weather tests."""

from pathlib import Path

import pytest

from towerpace.climate.record import Record, read_record

LAGUARDIA = Path(__file__).parents[2] / "scenarios" / "weather" / "laguardia_2013_hourly.csv"


@pytest.fixture(scope="session")
def laguardia_file() -> Path:
    """The file of the real record."""
    return LAGUARDIA


@pytest.fixture(scope="session")
def laguardia() -> Record:
    """The real record as printed, in whole knots."""
    return read_record(LAGUARDIA, missing_gust_factor=1.33, knots=False)


@pytest.fixture(scope="session")
def laguardia_spread() -> Record:
    """The real record spread over its knots."""
    return read_record(LAGUARDIA, missing_gust_factor=1.33, knots=True)
