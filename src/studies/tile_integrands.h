#pragma once
/// The powers of a tile whose integrals make up the energy books.

#include "tileflux/tile/tile_system.h"

namespace tileflux::studies {

/// incoming, light, to space, to fixed parts, electricity drawn, electricity available, heaters; in watts.
class TileIntegrands : public solvers::Integrands {
 public:
  explicit TileIntegrands(const tile::TileSystem& system) : system_(system) {}
  int count() const override { return 7; }
  void evaluate(double, std::span<const double> x, std::span<double> values) const override {
    const tile::Ledger ledger = system_.ledger(x);
    const devices::ChainFlows<double> chain = system_.chain_flows(x);
    values[0] = ledger.incoming_W();
    values[1] = ledger.light_out_W;
    values[2] = ledger.to_space_W;
    values[3] = ledger.to_fixed_W;
    values[4] = chain.drawn;
    values[5] = chain.available;
    values[6] = chain.heaters;
  }

 private:
  const tile::TileSystem& system_;
};

}  // namespace tileflux::studies
