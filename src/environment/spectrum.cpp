#include "tileflux/environment/spectrum.h"

#include <cmath>
#include <numbers>

#include "tileflux/base/errors.h"

namespace tileflux::environment {

namespace {

const double scale = 15.0 / std::pow(std::numbers::pi, 4);

/// The integral of t^3 / (e^t - 1) from x on, over that from 0 on.
double share_beyond(double x) {
  double sum = 0.0;
  for (int n = 1;; ++n) {
    const double r = 1.0 / n;
    const double term = std::exp(-n * x) * r * (x * x * x + r * (3.0 * x * x + r * (6.0 * x + r * 6.0)));
    sum += term;
    if (term <= 1e-17 * sum) return scale * sum;
  }
}

/// The same from 0 to x, where x is small: t^3 / (e^t - 1) by Bernoulli numbers.
double share_up_to(double x) {
  const double square = x * x;
  const double bracket =
      1.0 / 3.0 - x / 8.0 +
      square * (1.0 / 60.0 - square * (1.0 / 5040.0 - square * (1.0 / 272160.0 - square * (1.0 / 13305600.0))));
  return scale * x * square * bracket;
}

}  // namespace

double black_body_share_below(double wavelength_m, double temperature_K) {
  if (!(temperature_K > 0.0 && wavelength_m >= 0.0))
    throw Error(Code::value_out_of_range,
                "a spectrum needs a positive temperature and a wavelength that is not negative");
  if (wavelength_m == 0.0) return 0.0;
  const double x = second_radiation_constant_m_K / (wavelength_m * temperature_K);
  constexpr double small = 0.3;  // the next term of the expansion is 2e-15 there
  constexpr double nothing = 700.0;
  if (x > nothing) return 0.0;
  return x < small ? 1.0 - share_up_to(x) : share_beyond(x);
}

double spectral_mean(std::span<const SpectralBand> bands, double temperature_K) {
  double mean = 0.0, reached_m = 0.0;
  for (const SpectralBand& band : bands) {
    if (!(band.from_m >= reached_m && band.to_m > band.from_m))
      throw Error(Code::table_not_rising, "spectral bands must follow each other with rising wavelength");
    reached_m = band.to_m;
    mean += band.value *
            (black_body_share_below(band.to_m, temperature_K) - black_body_share_below(band.from_m, temperature_K));
  }
  return mean;
}

}  // namespace tileflux::environment
