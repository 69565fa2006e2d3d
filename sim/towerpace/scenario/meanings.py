"""What a key of a scenario file means to a reader who has never seen the program."""

from typing import Any

from pydantic import Field

UNIT, NEEDED = "unit", "needed"


def key(meaning: str, example: str, *, unit: str = "", needed: str = "") -> Any:
    """Mark of a field: what its key means, for people and for editors.

    Parameters
    ----------
    meaning : str
        Whole sentences, in words used on site.
    example : str
        A value as it stands in the file; of a table its headline, as "[tower]".
    unit : str, optional
        Where the name of the key does not end in it.
    needed : str, optional
        When a key with a default must be given all the same.

    Examples
    --------
    >>> key("First day of the plan.", "2027-03-01").description
    'First day of the plan.'
    """
    words = {UNIT: unit, NEEDED: needed}
    return Field(
        description=meaning,
        examples=[example],
        json_schema_extra={name: word for name, word in words.items() if word},
    )
