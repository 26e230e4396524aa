"""What heat paths are made of: thermal conductivity and permittivity, with the range that trade goods have."""

from dataclasses import dataclass

VACUUM_PERMITTIVITY = 8.8541878128e-12
"""CODATA 2018 [F/m]."""


@dataclass(frozen=True)
class Span:
    """A usual value between the lowest and the highest that goods of this name have."""

    low: float
    usual: float
    high: float


@dataclass(frozen=True)
class Material:
    """One row of the table.

    Attributes
    ----------
    conductivity : Span
        Near 300 K [W/(m K)].
    permittivity : Span or None
        Relative, at radio frequencies; None of what conducts.
    source : str
        Where the figures come from.
    warning : str
        What to know before touching it.
    """

    conductivity: Span
    permittivity: Span | None
    source: str
    warning: str = ""


_CRC = "CRC Handbook of Chemistry and Physics, thermal conductivity of metals and of crystalline solids (from memory)"
_MAKERS = "tables of makers (from memory)"
_ALUMINUM = "Aluminum Association, Aluminum Standards and Data, tempers O to T6 (from memory)"

MATERIALS: dict[str, Material] = {
    "copper": Material(Span(380.0, 401.0, 401.0), None, f"{_CRC}; the lower end: VDI, as in ht"),
    "aluminium": Material(Span(205.0, 237.0, 237.0), None, _CRC),
    "aluminium 6061": Material(Span(150.0, 167.0, 180.0), None, _ALUMINUM),
    "aluminium 6063": Material(Span(190.0, 200.0, 218.0), None, _ALUMINUM),
    "brass": Material(Span(110.0, 120.0, 130.0), None, f"{_CRC}, 60/40"),
    "alumina": Material(Span(25.0, 30.0, 35.0), Span(9.0, 9.5, 10.0), _CRC),
    "aluminium nitride": Material(Span(140.0, 160.0, 180.0), Span(8.5, 8.75, 9.0), _CRC),
    "boron nitride": Material(Span(25.0, 35.0, 60.0), Span(4.0, 4.3, 4.6), f"{_MAKERS}, hot pressed"),
    "beryllia": Material(
        Span(250.0, 275.0, 300.0),
        Span(6.5, 6.7, 6.9),
        _CRC,
        "its dust is toxic to the lungs: never file, drill, break or scrape it, and mark it for who comes after you",
    ),
    "mica": Material(Span(0.5, 0.6, 0.7), Span(5.4, 6.2, 7.0), f"{_CRC}, across its sheets"),
    "silicone pad": Material(Span(0.8, 1.5, 5.0), Span(3.0, 4.5, 6.0), _MAKERS),
    "grease": Material(Span(0.6, 0.8, 4.0), Span(3.0, 4.0, 5.0), _MAKERS),
}
"""By the name that the file uses. Usual values stand inside their ranges; every batch differs."""
