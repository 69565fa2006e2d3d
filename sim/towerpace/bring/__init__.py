"""Other people's files, brought in once: spreadsheets, calendars, weather files and building models.

The program reads one format of each table, its own CSV and TOML. A converter here reads another format,
writes ours beside a file that says where it came from, and is done: nothing here runs when a scenario is
loaded.
Every row, event, report and element of the source is either counted in or listed as left out, and the sums
of both are those of the source. What a file does not say (a unit, a zone, a height, which day comes first in
a date) is asked, never guessed.
"""
