#include "studies/series_row.h"

#include <array>
#include <cmath>
#include <string>

#include "tileflux/base/errors.h"

namespace tileflux::studies {

namespace {

constexpr std::array columns{
    SeriesColumn{"beam", "1", "1 while the beam is on"},
    SeriesColumn{"throttle", "1", "factor on the commanded drive by temperature"},
    SeriesColumn{"light_out_W", "W", "laser light that leaves the tile"},
    SeriesColumn{"laser_input_W", "W", "electrical input of all lasers"},
    SeriesColumn{"electricity_available_W", "W", "what the cells could give"},
    SeriesColumn{"electricity_drawn_W", "W", "what is taken from the cells"},
    SeriesColumn{"conditioning_loss_W", "W", "loss of the power conditioning"},
    SeriesColumn{"sunlight_absorbed_W", "W", "sunlight absorbed by the tile"},
    SeriesColumn{"infrared_to_space_W", "W", "heat radiated to space, net"},
    SeriesColumn{"heaters_W", "W", "electricity of all heaters"},
    SeriesColumn{"battery_charge", "1", "charge of the battery as a share of its capacity"},
    SeriesColumn{"battery_power_W", "W", "from the bus into the battery; negative on discharge"},
    SeriesColumn{"melted_share", "1", "share of all phase-change material that is liquid"},
    SeriesColumn{"sun_distance_m", "m", "distance from the Sun"},
    SeriesColumn{"sun_seen", "1", "share of the solar disc that is not behind the planet"},
    SeriesColumn{"tilt_rad", "rad", "between the normal of the front and the direction to the Sun"},
    SeriesColumn{"sunlight_on_front_W_per_m2", "W m-2", "sunlight on the front"},
    SeriesColumn{"planet_absorbed_W", "W", "reflected sunlight and infrared of the planet absorbed by the tile"},
};

}  // namespace

std::span<const SeriesColumn> series_columns() { return columns; }

void SeriesRow::emit(RunSink& sink, const tile::TileSystem& system, double time_s, std::span<const double> x) {
  temperatures_.clear();
  for (network::NodeId id = 0; id < system.network().node_count(); ++id)
    temperatures_.push_back(system.network().temperature_K(id, x));
  const devices::ChainFlows<double> chain = system.chain_flows(time_s, x);
  const tile::Ledger ledger = system.ledger(time_s, x, {});
  const tile::SkyState sky = system.sky(time_s, x);
  const std::array<double, columns.size()> scalars{system.mode().beam ? 1.0 : 0.0,
                                                   chain.throttle,
                                                   chain.light_out,
                                                   chain.laser_input,
                                                   chain.available,
                                                   chain.drawn,
                                                   chain.conditioning_loss,
                                                   ledger.absorbed_W,
                                                   ledger.to_space_W,
                                                   chain.heaters,
                                                   system.charge_percent(x) / 100.0,
                                                   chain.battery_power,
                                                   system.melted_share(x),
                                                   sky.sun_distance_m,
                                                   sky.seen,
                                                   sky.tilt_rad,
                                                   sky.front_sun_W_per_m2,
                                                   ledger.planet_W};
  for (std::size_t k = 0; k < scalars.size(); ++k) {
    if (std::isnan(scalars[k]))
      throw Error(Code::law_not_finite, std::string(columns[k].name) + " is not a number at " + std::to_string(time_s) + " s");
  }
  sink.row({time_s, temperatures_, scalars});
}

}  // namespace tileflux::studies
