"""Tungsten: resistivity, heat capacity, emissivity, density. Kelvin and SI units.

Coefficients as published transcriptions have them (the primaries were not opened): White and Minges, Int. J.
Thermophys. 18, 1269 (1997), and Wilthan, Cagran and Pottlacher (2005), both through Tolias, Nucl. Mater. Energy 13, 42
(2017); emissivity a fit to Matsumoto, Cezairliyan and Basak, Int. J. Thermophys. 20, 943 (1999).
"""

import math

STEFAN_BOLTZMANN = 5.670374419e-8
MOLAR_KG = 0.18384
SECOND_RADIATION = 1.438776877e-2  # hc/k, m K, from the exact SI constants


def resistivity(t: float) -> float:
    """Ohm metres, 300 to 3695 K."""
    return (-0.9680 + t * (1.9274e-2 + t * (7.8260e-6 + t * (-1.8517e-9 + t * 2.0790e-13)))) * 1e-8


def heat_capacity(t: float) -> float:
    """J/(kg K), 300 to 3695 K."""
    if t > 3080:
        molar = 2.022 + 1.315e-2 * t
    else:
        molar = 21.868372 + t * (8.068661e-3 + t * (-3.756196e-6 + t * 1.075862e-9)) + 1.406637e4 / (t * t)
    return molar / MOLAR_KG


def emissivity(t: float) -> float:
    """Total hemispherical, 300 to 3500 K."""
    d = t - 300.0
    return 0.0185076 + d * (1.6048e-4 - d * 1.762608e-8)


def density(t: float) -> float:
    """kg/m^3."""
    d = t - 293.15
    return (19.25 - d * (2.66207e-4 + d * (3.0595e-9 + d * 9.5185e-12))) * 1000


def planck(wavelength: float, t: float) -> float:
    """Spectral radiance of a black body, W/(sr m^3); wavelength in metres."""
    c1 = 1.191042972e-16  # 2 h c^2
    return c1 / (wavelength**5 * math.expm1(SECOND_RADIATION / (wavelength * t)))
