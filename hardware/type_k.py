"""Type-K thermocouple: emf from temperature and temperature from emf, after ITS-90.

Source: NIST Monograph 175 (1993), type K: reference function and approximate inverse function, as published in the
NIST ITS-90 Thermocouple Database, SRD 60. The inverse is within -0.05 to +0.06 K of the reference function.
"""

from math import exp

EMF_LEAST_MV = -5.891
EMF_MOST_MV = 54.886
"""Range of the inverse function, mV: -200 to 1372 degC with the reference junction at 0 degC."""

_INVERSE_RANGE_2_MV = 20.644


def type_k_emf_mv(junction_c: float) -> float:
    """Give the emf, mV, of a type-K junction at `junction_c` against 0 degC; valid from -270 to 1372 degC."""
    t = junction_c
    if t >= 0.0:
        emf_mv = 0.0
        for coefficient in _FROM_ZERO:
            emf_mv = emf_mv * t + coefficient
        from_peak = t - 126.9686
        return emf_mv + 0.1185976 * exp(-0.1183432e-03 * from_peak * from_peak)
    emf_mv = 0.0
    for coefficient in _BELOW_ZERO:
        emf_mv = emf_mv * t + coefficient
    return emf_mv * t


# highest power first
_FROM_ZERO = (
    -0.121047212750e-25,
    0.971511471520e-22,
    -0.320207200030e-18,
    0.560750590590e-15,
    -0.560728448890e-12,
    0.318409457190e-09,
    -0.994575928740e-07,
    0.185587700320e-04,
    0.389212049750e-01,
    -0.176004136860e-01,
)
# highest power first; the constant term is zero
_BELOW_ZERO = (
    -0.163226974860e-22,
    -0.198892668780e-19,
    -0.104516093650e-16,
    -0.310888728940e-14,
    -0.574103274280e-12,
    -0.675090591730e-10,
    -0.499048287770e-08,
    -0.328589067840e-06,
    0.236223735980e-04,
    0.394501280250e-01,
)


def type_k_c(emf_mv: float) -> float:
    """Give the temperature, degC, of a type-K junction whose emf against 0 degC is `emf_mv`.

    Raises:
        ValueError: emf outside EMF_LEAST_MV to EMF_MOST_MV, or not a number.
    """
    if not EMF_LEAST_MV <= emf_mv <= EMF_MOST_MV:
        raise ValueError(f"emf_mv is {emf_mv}; allowed: {EMF_LEAST_MV} to {EMF_MOST_MV} mV")
    coefficients: tuple[float, ...]
    if emf_mv > _INVERSE_RANGE_2_MV:
        coefficients = _INVERSE_ABOVE_500
    elif emf_mv > 0.0:
        coefficients = _INVERSE_0_TO_500
    else:
        coefficients = _INVERSE_BELOW_0
    junction_c = 0.0
    for coefficient in coefficients:
        junction_c = junction_c * emf_mv + coefficient
    return junction_c


# highest power first
_INVERSE_BELOW_0 = (
    -5.1920577e-04,
    -1.0450598e-02,
    -8.6632643e-02,
    -3.7342377e-01,
    -8.9773540e-01,
    -1.0833638e00,
    -1.1662878e00,
    2.5173462e01,
    0.0,
)
_INVERSE_0_TO_500 = (
    -1.052755e-08,
    1.057734e-06,
    -4.413030e-05,
    9.804036e-04,
    -1.228034e-02,
    8.315270e-02,
    -2.503131e-01,
    7.860106e-02,
    2.508355e01,
    0.0,
)
_INVERSE_ABOVE_500 = (
    -3.110810e-08,
    8.802193e-06,
    -9.650715e-04,
    5.464731e-02,
    -1.646031e00,
    4.830222e01,
    -1.318058e02,
)
