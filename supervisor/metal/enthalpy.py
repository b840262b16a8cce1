"""How much heat aluminium takes up: solid, over its melting range, and liquid."""

# Shomate equation, t = T/1000 K: H - H(298.15 K) = A t + B t²/2 + C t³/3 + D t⁴/4 - E/t + F - H°, in kJ/mol; F here has
# H° taken off. Solid, 298 to 933.45 K.
# Source: NIST Chemistry WebBook, SRD 69, condensed phase data of aluminum, from NIST-JANAF 4th ed. 1998. A to E as
# printed there; F from memory, checked by H(298.15 K) = 0.
_A, _B, _C, _D, _E, _F = 28.08920, -5.414849, 8.560423, 3.427370, -0.277375, -9.147187
_MOLAR_KG = 0.0269815384  # IUPAC
_LIQUID_J_KG_K = 31.75104 / _MOLAR_KG  # same source: constant in the liquid

MELTING_C = 660.3
"""Pure aluminium melts here, °C, as the source of the equations has it (933.45 K; ITS-90 has 660.323 °C)."""

FUSION_J_KG = 10_710.0 / _MOLAR_KG
"""Heat of fusion, J/kg: 10.71 kJ/mol (CRC Handbook, enthalpy of fusion). Also taken for alloys: silicon's share, which
is larger, is left out."""


def enthalpy_j_kg(at_c: float, solidus_c: float = MELTING_C, liquidus_c: float = MELTING_C) -> float:
    """Heat in aluminium or an alloy of it, J/kg, counted from 20 °C.

    Sensible heat is that of pure aluminium; the heat of fusion is spread evenly from solidus to liquidus.
    """
    if at_c >= liquidus_c:
        molten = 1.0
    elif at_c <= solidus_c:
        molten = 0.0
    else:
        molten = (at_c - solidus_c) / (liquidus_c - solidus_c)
    sensible = _solid_j_kg(min(at_c, MELTING_C)) + _LIQUID_J_KG_K * max(0.0, at_c - MELTING_C)
    return sensible - _solid_j_kg(20.0) + FUSION_J_KG * molten


def _solid_j_kg(at_c: float) -> float:
    t = (at_c + 273.15) / 1000.0
    kj_mol = _A * t + _B * t**2 / 2 + _C * t**3 / 3 + _D * t**4 / 4 - _E / t + _F
    return kj_mol * 1000.0 / _MOLAR_KG
