"""How much is played if nothing is said, the same from Python and from the command line."""

SEED = 1
FORECAST_TRIALS = 1000
COMPARE_TRIALS = 400
EXPLAIN_TRIALS = 100
ADD_TRIALS = 200  # of one set-up at the most
ADD_LEAST_TRIALS = 20  # the search drops nothing before
ADD_STEPS = 4
ADD_CONFIDENCE = 0.9
LEAST_CONFIDENCE, MOST_CONFIDENCE = 0.5, 0.999
MATTERS_DAYS = 2.0
LEAST_MATTERS_DAYS = 0.05
BID_TRIALS = 400
WEATHER_YEARS = 200
WEATHER_BANDS = 3
SHEET_TRIALS = 200
