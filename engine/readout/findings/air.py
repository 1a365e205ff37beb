"""Pressure of the air outside, and the air an engine draws: what measured values are held against."""

SEA_LEVEL = 101.325
"""Standard pressure at sea level, kPa."""
WEATHER = 3.0
"""How far the weather moves the barometer about the standard value, kPa (`atm.weather`, from memory)."""
_GAS = 287.05  # J/(kg K), dry air


def standard_pressure(metres: float) -> float:
    """Pressure in kPa of the U.S. Standard Atmosphere 1976 at this height: P0 (1 - h / 145442 ft)^5.255876."""
    left = max(1 - metres / (145442 * 0.3048), 0.0)
    return float(SEA_LEVEL * left**5.255876)


def station_pressure(reported: float, metres: float) -> float:
    """A weather report is reduced to sea level; this is the pressure where the car is, kPa."""
    return reported * standard_pressure(metres) / SEA_LEVEL


def ideal_airflow(kpa: float, litres: float, rpm: float, kelvin: float, filling: float = 0.85) -> float:
    """Air drawn by a four-stroke engine in g/s: p V n VE / (120 R T). `kpa` absolute in the manifold."""
    return 1000 * kpa * litres * rpm * filling / (120 * _GAS * kelvin)
