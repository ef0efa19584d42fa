#pragma once
/// The powers of a tile whose integrals make up the energy books.

#include "tileflux/tile/ageing.h"
#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// incoming, light, to space, to fixed parts, electricity drawn, electricity available, heaters, what the lasers ask
/// for and get at the bus; in watts. Then the rates of the states of ageing, in 1/s.
class TileIntegrands : public solvers::Integrands {
 public:
  static constexpr std::size_t powers = 9;

  explicit TileIntegrands(const tile::TileSystem& system)
      : system_(system), ages_(tile::age_names(system.description()).size()) {}
  int count() const override { return static_cast<int>(powers + ages_); }
  void evaluate(double time_s, std::span<const double> x, std::span<double> values) const override {
    const tile::Ledger ledger = system_.ledger(time_s, x, {});
    const devices::ChainFlows<double> chain = system_.chain_flows(time_s, x);
    values[0] = ledger.incoming_W();
    values[1] = ledger.light_out_W;
    values[2] = ledger.to_space_W;
    values[3] = ledger.to_fixed_W;
    values[4] = chain.drawn;
    values[5] = chain.available;
    values[6] = chain.heaters;
    values[7] = chain.laser_demand;
    values[8] = chain.laser_bus;
    if (ages_ > 0) tile::age_rates(system_, time_s, x, values.subspan(powers));
  }

 private:
  const tile::TileSystem& system_;
  std::size_t ages_;
};

}  // namespace tileflux::studies
