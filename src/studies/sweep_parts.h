#pragma once
/// The balances of a sweep, kept as long as they may be asked for again, and the search between two of them.

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "tileflux/studies/sweep.h"

namespace tileflux::studies {

/// Both steady states at one value.
struct Glance {
  std::optional<Diagnostic> trouble;  ///< set: nothing below holds
  Balance balance;
  std::optional<StateMargin> binding, next;
  bool sustainable = false;
  std::vector<double> off_K, on_K;
  double off_tilt_rad = 0.0, on_tilt_rad = 0.0;
  std::string turned;  ///< of a tile that tilts by itself: as stated, tilted, or as far as it can
  std::vector<double> heater_off_W, heater_on_W;
};

class SweptTile {
 public:
  explicit SweptTile(const CaseAt& case_at) : case_at_(case_at) {}

  const Glance& at(double value);
  const TiltNeeded& tilt_at(double value);  ///< throws what tilt_needed throws
  void forget_below(double value);
  int balances() const { return balances_; }

 private:
  Glance looked_at(double value);

  const CaseAt& case_at_;
  std::map<double, Glance> seen_;
  std::map<double, TiltNeeded> tilts_;
  int balances_ = 0;
};

/// Every change between two neighbouring values, rising.
std::vector<Crossing> crossings_between(SweptTile& tile, double low, double high, const Sweep& so_far,
                                        const SweepOptions& options);

}  // namespace tileflux::studies
