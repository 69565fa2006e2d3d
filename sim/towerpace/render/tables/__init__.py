"""Tables of a forecast: what every column holds, and how it is filled."""
