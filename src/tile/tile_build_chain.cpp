/// Building a TileSystem from a Case: power chain, heaters, limits, and the pattern of the Jacobian.

#include <algorithm>
#include <limits>

#include "tileflux/tile/tile_system.h"

namespace tileflux::tile {

using network::NodeId;

void TileSystem::add_output(ChainOutput::Kind kind, int index, NodeId node) {
  const int place = node >= 0 ? network_.unknown_of(node) : static_cast<int>(charge_place());
  outputs_.push_back({kind, index, node, place});
}

void TileSystem::add_chain() {
  using Kind = ChainOutput::Kind;
  const auto depends = [&](int input, NodeId node) {
    const int place = node >= 0 ? network_.unknown_of(node) : static_cast<int>(charge_place());
    columns_.push_back({ChainColumn::Kind::input, input, node, place});
  };
  has_cells_ = case_.cells.has_value();
  has_chain_ = has_cells_ || !case_.heaters.empty() || case_.battery || case_.housekeeping;
  if (!has_cells_ && !case_.lasers.empty()) throw Error(Code::key_conflict, "lasers need cells to feed them");
  if (has_cells_) add_cells();
  NodeId converter = has_cells_ ? outputs_.front().node : -1;
  if (case_.conditioning) {
    chain_.conditioning = {case_.conditioning->standby_W, case_.conditioning->proportional,
                           case_.conditioning->quadratic_per_W};
    converter = require(case_.conditioning->node, "conditioning");
  }
  if (case_.conditioning) add_output(Kind::conditioning, 0, converter);
  if (case_.housekeeping) {
    chain_.housekeeping_W = case_.housekeeping->power_W;
    add_output(Kind::housekeeping, 0, require(case_.housekeeping->node, "housekeeping"));
  }
  if (case_.optics) {
    chain_.optics_transmission = case_.optics->transmission;
    add_output(Kind::optics, 0, require(case_.optics->node, "optics"));
  }
  chain_.priorities = case_.priorities;
  if (case_.cells) chain_.load_sharing = case_.cells->load_sharing;
  if (case_.battery) {
    chain_.battery = case_.battery->law;
    chain_.battery_feeds_lasers = case_.battery->feeds_lasers;
    const NodeId node = require(case_.battery->node, "battery");
    add_output(Kind::battery, 0, node);
    add_output(Kind::store, 0, -1);
    depends(devices::input_battery, node);
    depends(devices::input_charge, -1);
  }
  if (case_.lasers.size() > static_cast<std::size_t>(devices::most_banks)) {
    throw Error(Code::count_out_of_bounds, "at most " + std::to_string(devices::most_banks) + " laser banks");
  }
  for (std::size_t b = 0; b < case_.lasers.size(); ++b) {
    const Bank& bank = case_.lasers[b];
    const auto index = static_cast<int>(b);
    chain_.banks.push_back(bank.devices);
    add_output(Kind::junction, index, junction_[b]);
    depends(devices::input_junction + index, junction_[b]);
    if (bank.devices.driver_loss > 0.0)
      add_output(Kind::driver, index, bank.driver.empty() ? converter : require(bank.driver, "laser " + bank.name));
    if (!bank.devices.amplifier) continue;
    add_output(Kind::fibre, index, require(bank.fibre, "laser " + bank.name));
    add_output(Kind::unabsorbed, index, require(bank.unabsorbed, "laser " + bank.name));
  }
  const auto add_to_path = [&](NodeId node) {
    if (std::find(emitting_path_.begin(), emitting_path_.end(), node) == emitting_path_.end())
      emitting_path_.push_back(node);
  };
  for (const std::string& name : case_.emitting_path) add_to_path(require(name, "the emitting path"));
  if (!case_.emitting_path.empty()) return;
  for (const Bank& bank : case_.lasers) {
    if (bank.devices.amplifier) add_to_path(require(bank.fibre, "laser " + bank.name));
  }
  if (case_.optics) add_to_path(require(case_.optics->node, "optics"));
}

void TileSystem::add_cells() {
  const Cells& cells = *case_.cells;
  const auto surface = std::find_if(case_.surfaces.begin(), case_.surfaces.end(),
                                    [&](const Surface& s) { return s.name == cells.surface; });
  if (surface == case_.surfaces.end())
    throw Error(Code::name_unknown, "the cells refer to the surface '" + cells.surface + "', which is not described");
  const std::vector<Member> groups = members(cells.node, "cells");
  if (groups.size() > static_cast<std::size_t>(devices::most_cell_groups))
    throw Error(Code::count_out_of_bounds,
                "cells on more than " + std::to_string(devices::most_cell_groups) + " zones");
  for (std::size_t g = 0; g < groups.size(); ++g) {
    chain_.cells.push_back(devices::CellLaw{surface->front_m2() * groups[g].share, cells.packing, cells.efficiency,
                                            cells.reference_K, cells.slope_per_K, cells.remaining,
                                            cells.intensity_slope, cells.reference_irradiance_W_per_m2});
    const auto index = static_cast<int>(g);
    add_output(ChainOutput::Kind::cells, index, groups[g].node);
    columns_.push_back({ChainColumn::Kind::input, index, groups[g].node, network_.unknown_of(groups[g].node)});
  }
  if (cells.shunt_node) add_output(ChainOutput::Kind::shunt, 0, require(*cells.shunt_node, "cells"));
  // Without a conditioner of its own the loss stays in the cells.
  if (!case_.conditioning) add_output(ChainOutput::Kind::conditioning, 0, groups.front().node);
}

void TileSystem::add_heaters() {
  for (std::size_t h = 0; h < case_.heaters.size(); ++h) {
    const Heater& heater = case_.heaters[h];
    const std::string where = "heater " + heater.name;
    const auto index = static_cast<int>(h);
    heaters_.push_back({require(heater.node, where), require(heater.sensor, where)});
    add_output(ChainOutput::Kind::heater, index, heaters_.back().node);
    const NodeId sensor = heaters_.back().sensor;
    columns_.push_back({ChainColumn::Kind::heater, index, sensor, network_.unknown_of(sensor)});
  }
}

void TileSystem::add_limits() {
  for (const Limit& limit : case_.limits) {
    for (const Member& member : members(limit.node, "a limit")) {
      Limit one = limit;
      one.node = network_.node(member.node).name;
      limits_.push_back({one, member.node});
      if (limit.rate_below_K_per_s && network_.node(member.node).kind == network::NodeKind::massless)
        throw Error(Code::limits_contradict, "`rate_below` of '" + one.node +
                                                 "' needs a heat capacity: without one a "
                                                 "temperature jumps");
      if (!limit.throttle_from_K || !limit.below_K) continue;
      const auto index = static_cast<int>(throttles_.size());
      columns_.push_back({ChainColumn::Kind::throttle, index, member.node, network_.unknown_of(member.node)});
      throttles_.push_back({{*limit.throttle_from_K, *limit.below_K}, member.node});
    }
  }
}

void TileSystem::bind_hold() {
  if (!has_hold()) return;
  if (!case_.hold) throw Error(Code::key_missing, "a tilt law that holds a temperature needs `hold`");
  const NodeId node = require(case_.hold->node, "the tilt");
  held_ = {node, network_.unknown_of(node)};
  if (has_cells_) columns_.push_back({ChainColumn::Kind::tilt, 0, node, held_->second});
}

void TileSystem::bind_slots() {
  using Kind = ChainColumn::Kind;
  chain_slot_.fill(-1);
  for (const ChainColumn& column : columns_) {
    const int input = column.kind == Kind::throttle ? devices::input_throttle
                      : column.kind == Kind::heater ? devices::input_heaters
                      : column.kind == Kind::tilt   ? devices::input_tilt
                                                    : column.index;
    int& slot = chain_slot_[static_cast<std::size_t>(input)];
    if (slot < 0) slot = chain_slots_++;
  }
}

void TileSystem::bind_pattern() {
  bind_slots();
  std::vector<std::pair<int, int>> positions = network_.positions();
  for (const Sunlit& face : sunlit_) {
    if (held_ && face.place >= 0 && held_->second >= 0) positions.emplace_back(face.place, held_->second);
  }
  for (const ChainOutput& output : outputs_) {
    for (const ChainColumn& column : columns_) {
      if (output.place >= 0 && column.place >= 0) positions.emplace_back(output.place, column.place);
    }
  }
  pattern_ = solvers::Pattern::from_positions(size(), positions);
  network_.bind(pattern_);
  for (const ChainOutput& output : outputs_) {
    for (const ChainColumn& column : columns_) {
      const bool both = output.place >= 0 && column.place >= 0;
      chain_position_.push_back(both ? pattern_.position(output.place, column.place) : -1);
    }
  }
  for (const Sunlit& face : sunlit_) {
    const bool both = held_ && face.place >= 0 && held_->second >= 0;
    held_position_.push_back(both ? pattern_.position(face.place, held_->second) : -1);
  }
  for (int i = 0; i < size(); ++i) diagonal_.push_back(pattern_.position(i, i));
  note_steady_capacities();
}

void TileSystem::note_steady_capacities() {
  steady_capacity_.assign(differential_.size(), 0.0);
  for (int i = 0; i < network_.unknown_count(); ++i) {
    const auto place = static_cast<std::size_t>(i);
    if (!differential_[place]) continue;
    const PropertyTable& table = network_.node(network_.node_of_unknown(i)).capacity_J_per_K;
    steady_capacity_[place] = table.constant() ? table.values()[0] : std::numeric_limits<double>::quiet_NaN();
  }
  if (case_.battery) steady_capacity_[charge_place()] = case_.battery->law.capacity_J / 100.0;
}

}  // namespace tileflux::tile
