"""Studies of many scenarios: points, parts that survive a kill, responses."""
