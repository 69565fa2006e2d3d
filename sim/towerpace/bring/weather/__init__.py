"""Weather files of other formats, read into reports and dealt into the hours of our record.

Sources of the formats: EPW, the EnergyPlus documentation (Auxiliary Programs, weather file format); ISD-lite,
"Integrated Surface Data - Lite, Format Documentation" (2006); LCD and GHCNh, the documentation of the Local
Climatological Data and of the Global Historical Climatology Network hourly (both NOAA); METAR, WMO-No. 306,
Manual on Codes, FM 15, with the remarks of US stations. Read on real files: LCD of both versions; the others
from their documentation.
"""
