#pragma once
/// Physical constants, each with its source.

namespace tileflux {

/// Stefan-Boltzmann constant. CODATA 2018 (exact since the 2019 SI).
inline constexpr double stefan_boltzmann_W_per_m2_K4 = 5.670374419e-8;

/// Astronomical unit. IAU 2012 Resolution B2 (exact by definition).
inline constexpr double astronomical_unit_m = 149597870700.0;

/// Nominal total solar irradiance at 1 AU. IAU 2015 Resolution B3; measured 1360.8 +/- 0.5 (Kopp & Lean 2011,
/// Geophysical Research Letters 38, L01706).
inline constexpr double solar_irradiance_at_1AU_W_per_m2 = 1361.0;

/// Boltzmann constant over elementary charge, for Arrhenius and diode laws in electronvolts. CODATA 2018.
inline constexpr double boltzmann_eV_per_K = 8.617333262e-5;

/// One electronvolt in joules, exact by definition. CODATA 2018.
inline constexpr double electronvolt_J = 1.602176634e-19;

/// 0 degC, by definition.
inline constexpr double zero_celsius_K = 273.15;

}  // namespace tileflux
