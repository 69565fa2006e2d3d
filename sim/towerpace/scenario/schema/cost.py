"""What the work costs: in one unit of money that the scenario names."""

from towerpace.scenario.fields import NumberFrom0, SourcedTable, Text


class Cost(SourcedTable):
    """Costs that run with the calendar.

    unit : name of the unit of money, of rates as of results. site_overhead_per_day : from the start to the
    finish, every calendar day.
    """

    unit: Text
    site_overhead_per_day: NumberFrom0
