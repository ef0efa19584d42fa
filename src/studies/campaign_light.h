#pragma once
/// What the requests that are open get at a state, and the integrals of it.

#include <vector>

#include "studies/tile_integrands.h"
#include "tileflux/studies/campaign.h"

namespace tileflux::studies {

/// What is asked of the tile between two switches.
struct Asked {
  bool light = false;          ///< whether `amount` is light in W (else shares of drive)
  std::vector<double> amount;  ///< in the order in which they are served
  bool kept_out = false;
  double most = 1.0;       ///< drive
  double trip_left = 1.0;  ///< share of the drive that a trip leaves
};

/// What each gets at a state, in watts, under the present mode of the system.
std::vector<Served> served_at(const tile::TileSystem& system, const Asked& asked, double time_s,
                              std::span<const double> x);

/// The powers of the energy books, then for each of `slots` places in the order of service: delivered and refused.
class CampaignIntegrands : public solvers::Integrands {
 public:
  CampaignIntegrands(const tile::TileSystem& system, std::size_t slots)
      : system_(system), books_(system), slots_(slots) {}

  static constexpr std::size_t per_slot = 1 + refusals;

  void set_asked(Asked asked) { asked_ = std::move(asked); }
  const Asked& asked() const { return asked_; }
  std::size_t first_of(std::size_t slot) const { return TileIntegrands::powers + slot * per_slot; }

  int count() const override { return static_cast<int>(first_of(slots_)); }
  void evaluate(double time_s, std::span<const double> x, std::span<double> values) const override;

 private:
  const tile::TileSystem& system_;
  TileIntegrands books_;
  std::size_t slots_;
  Asked asked_;
};

}  // namespace tileflux::studies
