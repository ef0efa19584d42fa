/// Shares of a black body's radiation, and means over bands of wavelength.
/// Planck's law integrated: the tables and worked examples of Cengel, Heat and Mass Transfer, chapter 12; Incropera et al.,
/// Fundamentals of Heat and Mass Transfer, chapter 12; Kreith, Manglik and Bohn, Principles of Heat Transfer, example 9.6. The
/// second radiation constant is CODATA's, which the rows print rounded to 14 387.77 um K. Exact to round-off.

#include <gtest/gtest.h>

#include <limits>
#include <vector>

#include "tileflux/environment/spectrum.h"
#include "verification/groups.h"

namespace tileflux::verification::spectra_test {

using namespace environment;
constexpr double beyond = std::numeric_limits<double>::infinity(), um = 1e-6;
const char* const share = "environment::black_body_share_below";
const char* const mean = "environment::spectral_mean";

void add_pair(Reproductions& rows, const std::string& id, double value, const char* through) {
  rows.emplace_back(id, value, through);
  rows.emplace_back(id + "c", value, through);
}

Reproductions spectra() {
  Reproductions rows;
  for (const char* product : {"1000", "2400", "5600", "3000", "6000", "3200", "8000", "1500", "20000", "1900"})
    add_pair(rows, std::string("ENV-51_") + product, black_body_share_below(1.0 * um, std::stod(product)), share);
  add_pair(rows, "ENV-52", spectral_mean(std::vector<SpectralBand>{{0.3 * um, 2.5 * um, 0.9}}, 5800.0), mean);
  add_pair(rows, "ENV-53", spectral_mean(std::vector<SpectralBand>{{0.0, 3.0 * um, 0.3}, {3.0 * um, 7.0 * um, 0.8}, {7.0 * um, beyond, 0.1}}, 800.0), mean);
  add_pair(rows, "ENV-54", spectral_mean(std::vector<SpectralBand>{{0.0, 2.0 * um, 0.4}, {2.0 * um, 5.0 * um, 0.8}}, 1600.0), mean);
  rows.emplace_back("ENV-55", spectral_mean(std::vector<SpectralBand>{{0.0, 2.0 * um, 0.3}, {2.0 * um, 4.0 * um, 0.9}, {4.0 * um, beyond, 0.5}}, 5800.0), mean);
  return rows;
}

TEST(Spectra, HaveTheSharesOfTheTables) { check_all(spectra()); }

TEST(Spectra, AreRefusedAboveTheWavelengthInsteadOfBelow) {
  expect_refused("ENV-51_3000c", 1.0 - black_body_share_below(1.0 * um, 3000.0));
  expect_refused("ENV-52c", spectral_mean(std::vector<SpectralBand>{{0.0, 2.5 * um, 0.9}}, 5800.0));
}

}  // namespace tileflux::verification::spectra_test
