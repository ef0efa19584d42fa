#include "studies/closing.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace tileflux::studies {

double close_books(const tile::TileSystem& system, const EnergyBooks& books, double end_s,
                   std::span<const double> end_x, const char* what) {
  const std::vector<double> capacities = solvers::rate_coefficients(system, end_s, end_x);
  const auto nodes = static_cast<std::size_t>(system.network().unknown_count());
  double capacity_J_per_K = 0.0, hottest_K = 0.0;
  for (std::size_t i = 0; i < nodes; ++i) {
    capacity_J_per_K += capacities[i];
    hottest_K = std::max(hottest_K, end_x[i]);
  }
  const double error_K = capacity_J_per_K > 0.0 ? std::abs(books.residual_J()) / capacity_J_per_K : 0.0;
  // Where nothing passes in or out (an isolated tile), what is left is the last digits of the temperatures.
  constexpr double round_off = 1e-12;
  const bool closes = books.relative() <= transient_ledger_bound ||
                      (capacity_J_per_K > 0.0 && error_K <= round_off * hottest_K);
  if (!closes) {  // also where a term is not a number
    char text[192];
    std::snprintf(
        text, sizeof text,
        "the energy books of the %s do not close: %.3g J of %.6g J (%.2g of it), or %.2g K over the whole tile", what,
        books.residual_J(), books.incoming_J, books.relative(), error_K);
    throw Error(Code::ledger_open, text);
  }
  return error_K;
}

}  // namespace tileflux::studies
