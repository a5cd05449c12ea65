#!/usr/bin/python3
"""Prints grid.csv (Debian python3-iapws 1.5.3): phase, pressure [Pa], temperature [K], density [kg/m3],
enthalpy [J/kg], heat capacity [J/kgK], viscosity [Pa s], conductivity [W/mK]."""
from iapws import IAPWS97

print("phase,pressure_Pa,temperature_K,density_kg_per_m3,enthalpy_J_per_kg,heat_capacity_J_per_kgK,viscosity_Pa_s,conductivity_W_per_mK")
for pressure in (0.01, 0.1, 0.3, 0.6, 1.0, 1.6, 4.0, 10.0):
    for temperature in range(275, 560, 15):
        at = IAPWS97(P=pressure, T=temperature)
        phase = {1: "liquid", 2: "vapour"}.get(at.region)
        if phase:
            print(f"{phase},{pressure * 1e6!r},{temperature},{at.rho!r},{at.h * 1e3!r},{at.cp * 1e3!r},{at.mu!r},{at.k!r}")
