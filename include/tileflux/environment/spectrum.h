#pragma once
/// Black-body spectra, and means of a property that is known in bands of wavelength: the absorptance of a finish in
/// sunlight or under a planet's infrared, the emittance of a hot one.

#include <limits>
#include <span>

namespace tileflux::environment {

/// Second radiation constant hc/k. CODATA 2018.
inline constexpr double second_radiation_constant_m_K = 1.438776877e-2;

/// The temperature of a black body that shines like the Sun. IAU 2015 Resolution B3 (nominal).
inline constexpr double sun_temperature_K = 5772.0;

/// Share 0..1 of a black body's radiation at wavelengths below `wavelength_m`, by the series of the integral of
/// Planck's law (Chang & Rhee 1984, International Communications in Heat and Mass Transfer 11, 451; cited from memory),
/// for long waves by its expansion from the other end; 1e-14 absolute. Throws Error(value_out_of_range) unless the
/// temperature is positive and the wavelength not negative.
double black_body_share_below(double wavelength_m, double temperature_K);

/// A property that is the same from one wavelength to the next.
struct SpectralBand {
  double from_m = 0.0;
  double to_m = std::numeric_limits<double>::infinity();
  double value = 0.0;
};

/// The mean over a black body's spectrum; outside the bands the property is zero. Throws Error(table_not_rising) for
/// bands that overlap or run backwards.
double spectral_mean(std::span<const SpectralBand> bands, double temperature_K);

}  // namespace tileflux::environment
