"""What the work costs: in one unit of money that the scenario names."""

from typing import Annotated

from towerpace.scenario.fields import NumberFrom0, SourcedTable, Text
from towerpace.scenario.meanings import key


class Cost(SourcedTable):
    """Costs that run with the calendar."""

    unit: Annotated[
        Text,
        key("Name of the unit of all costs, of rates as of results: a currency, or gang-days.", '"gang-day"'),
    ]
    site_overhead_per_day: Annotated[
        NumberFrom0,
        key(
            "Cost of keeping the site open, every calendar day from the start to the finish.",
            "3",
            unit="unit of [cost] a day",
        ),
    ]
