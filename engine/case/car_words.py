"""What a car's description says of the car: "white van, diesel" is driven by diesel."""

import re

_DRIVES = {
    "diesel": r"diesel|turbodiesel",
    "hybrid": r"hybrid|phev|hev",
    "electric": r"electric|ev|bev",
    "gasoline": r"gasoline|petrol|gas",
}
"""Value of the vehicle condition `drive` -> words for it; the first that is named counts."""


def drive_named(car: str) -> str | None:
    """What drives the car by its description, a value of the condition `drive`; None if it does not say."""
    return next((drive for drive, words in _DRIVES.items() if re.search(rf"\b({words})\b", car.lower())), None)
