#include "studies/cycle_slopes.h"

#include <algorithm>
#include <cmath>

#include "studies/cycle.h"
#include "studies/modes.h"
#include "studies/steady_slopes.h"

namespace tileflux::studies {

namespace {

/// Records one cycle from the repeating state, more finely than it was sought.
std::vector<TrajectoryPiece> recorded(tile::TileSystem& system, const CycleSettings& settings,
                                      const std::vector<double>& x) {
  CycleMap map(system, settings);
  constexpr double finer = 1000.0;
  map.set_finer(finer);
  TrajectoryRecorder recorder(system);
  map.set_observer([&](const solvers::Step& step) { recorder.add(step); });
  map(x, map.no_memory());
  return cut_at_corners(system, recorder.take());
}

}  // namespace

CycleSlopes::CycleSlopes(tile::TileSystem& system, const SustainableDuty& duty)
    : system_(system), duty_(duty), settings_(duty_settings(system, duty.cycle, duty.fraction)) {
  if (!(duty.fraction > 0.0)) {
    why_not_ = "no duty can be kept up";
    return;
  }
  binds_ = what_binds();
  if (duty.limited && binds_ == Binds::nothing) {
    why_not_ = "the duty is bound by " +
               std::string(duty.binding ? name_of(duty.binding->kind) : std::string_view("what is not known")) +
               ", along which it has no slope";
    return;
  }
  const tile::Mode before = system.mode();
  std::vector<double> x = duty.state.x;
  if (binds_ == Binds::kept_charge) {
    // Just below where acceptance tapers, as at the duty itself; the state that was found lies a last digit beside it.
    const devices::BatteryLaw& law = system.description().battery->law;
    x.back() -= duty.state.battery->most_percent - (law.full_percent - law.taper_percent);
  }
  trajectory_.emplace(system, recorded(system, settings_, x));
  for (int i = 0; i < system.size(); ++i) {
    const bool charge = i >= system.network().unknown_count();
    if (!system.differential()[static_cast<std::size_t>(i)] || (charge && !settings_.battery_acts)) continue;
    jumping_.push_back(i);
    if (!charge || binds_ != Binds::kept_charge) stored_.push_back(i);
  }
  for (const Trajectory::Stage& stage : trajectory_->stages()) {
    system.set_mode(trajectory_->pieces()[stage.piece].mode);
    const std::vector<double> slopes = system.light_slopes(stage.time_s, stage.x);
    light_row_.emplace_back(Eigen::Map<const Eigen::RowVectorXd>(slopes.data(), system.size()));
  }
  if (duty.limited) find_worst();
  find_repeating();
  if (why_not_.empty() && duty.limited) {
    of_fraction_ = effect_of({0.0, 0.0, 1.0}, nullptr);
    if (of_fraction_.margin == 0.0) why_not_ = "the binding limit does not follow the duty";
  }
  system.set_mode(before);
}

CycleSlopes::Binds CycleSlopes::what_binds() const {
  if (!duty_.limited || !duty_.binding) return Binds::nothing;
  switch (duty_.binding->kind) {
    case LimitKind::temperature:
    case LimitKind::difference:
    case LimitKind::gradient:
      return Binds::limit;
    case LimitKind::rate:
      return Binds::rate;
    case LimitKind::energy:
    case LimitKind::charge:
      break;
    default:
      return Binds::nothing;
  }
  const devices::BatteryLaw& law = system_.description().battery->law;
  const double middle_percent = law.full_percent - law.taper_percent - law.least_percent - law.derating_percent;
  const bool fits = duty_.state.battery->most_percent - duty_.state.battery->least_percent < middle_percent;
  return fits && law.self_discharge_per_s == 0.0 ? Binds::kept_charge : Binds::spare_power;
}

double CycleSlopes::margin_at(const tile::TileSystem& system, double time_s, const std::vector<double>& x) const {
  if (binds_ == Binds::spare_power) {
    const devices::ChainFlows<double> flows = system.chain_flows(time_s, x);
    return flows.sun_limited ? flows.laser_bus - flows.laser_demand : flows.spare;
  }
  for (const Margin& margin : margins_at(system, x, rates_at(system, time_s, x))) {
    if (same_limit(margin, *duty_.binding)) return margin.margin;
  }
  return HUGE_VAL;
}

void CycleSlopes::find_worst() {
  const std::vector<TrajectoryPiece>& pieces = trajectory_->pieces();
  if (binds_ == Binds::limit) {
    worst_ = worst_instant(system_, *trajectory_, *duty_.binding);
  } else if (binds_ == Binds::kept_charge) {
    worst_ = {pieces.size() - 1, Instant::Where::end, pieces.back().end_s()};
  } else {
    worst_ = largest_instant(*trajectory_, [&](std::size_t piece, double time_s, const std::vector<double>& x) {
      if (binds_ == Binds::spare_power && !pieces[piece].mode.beam) return -HUGE_VAL;
      system_.set_mode(pieces[piece].mode);
      return -margin_at(system_, time_s, x);
    });
  }
  std::tie(worst_x_, worst_rate_) = trajectory_->state_at(worst_);
  if (binds_ == Binds::limit || binds_ == Binds::kept_charge || !settings_.surroundings_move ||
      worst_.where == Instant::Where::inside)
    return;
  // A switch that moves meets other sunlight.
  constexpr double step_s = 1e-2;
  const double inwards_s = worst_.where == Instant::Where::begin ? step_s : -step_s;
  system_.set_mode(pieces[worst_.piece].mode);
  drift_per_s_ =
      (margin_at(system_, worst_.time_s + inwards_s, worst_x_) - margin_at(system_, worst_.time_s, worst_x_)) /
      inwards_s;
}

Eigen::RowVectorXd CycleSlopes::worst_row() const {
  if (binds_ == Binds::limit) return margin_slopes(system_, worst_x_, *duty_.binding).transpose();
  Eigen::RowVectorXd row = Eigen::RowVectorXd::Zero(system_.size());
  if (binds_ == Binds::kept_charge) {
    row[system_.size() - 1] = 1.0;
    return row;
  }
  // A difference of second order in kelvin and per cent: away from corners powers and rates change so smoothly that its
  // error is below the digits of a search.
  constexpr double step = 1e-3;
  system_.set_mode(trajectory_->pieces()[worst_.piece].mode);
  for (std::size_t i = 0; i < worst_x_.size(); ++i) {
    std::vector<double> above = worst_x_, below = worst_x_;
    above[i] += step;
    below[i] -= step;
    row[static_cast<Eigen::Index>(i)] =
        (margin_at(system_, worst_.time_s, above) - margin_at(system_, worst_.time_s, below)) / (2.0 * step);
  }
  return row;
}

void CycleSlopes::find_repeating() {
  const auto size = static_cast<Eigen::Index>(stored_.size());
  worst_map_ = Eigen::MatrixXd::Zero(system_.size(), size);
  light_map_ = Eigen::RowVectorXd::Zero(size);
  const auto nothing = [&](int, std::size_t) -> Eigen::MatrixXd { return Eigen::MatrixXd::Zero(system_.size(), size); };
  const auto no_jump = [](std::size_t, Eigen::MatrixXd&) {};
  const std::vector<Instant> instants = duty_.limited ? std::vector<Instant>{worst_} : std::vector<Instant>{};
  Eigen::MatrixXd units = Eigen::MatrixXd::Zero(system_.size(), size);
  for (Eigen::Index k = 0; k < size; ++k) units(stored_[static_cast<std::size_t>(k)], k) = 1.0;
  const Trajectory::Reading reading = trajectory_->carry(system_, units, nothing, no_jump, instants, light_row_);
  const Eigen::MatrixXd map = reading.end(stored_, Eigen::all);
  if (!instants.empty()) worst_map_ = reading.at.front();
  light_map_ = reading.integral;
  repeating_.compute(Eigen::MatrixXd::Identity(size, size) - map);
  constexpr double least = 1e-9;
  if (size > 0 && repeating_.rcond() < least)
    why_not_ = "the charge of the battery may be anything: the cycle keeps it";
}

double CycleSlopes::piece_motion(std::size_t piece, const Clock& clock) const {
  const std::vector<TrajectoryPiece>& pieces = trajectory_->pieces();
  const bool on = pieces[piece].mode.beam;
  if (piece == 0) return clock.begin;
  if (pieces[piece - 1].mode.beam == on) return 0.0;  // an edge of the surroundings, where nothing jumps
  const double since_s = pieces[piece].begin_s() - settings_.first_s;
  const double pulse = std::floor(since_s / duty_.cycle.period_s + (on ? 0.5 : 0.0));
  double motion = clock.begin + pulse * clock.period;
  if (!on) motion += duty_.fraction * clock.period + clock.fraction * duty_.cycle.period_s;
  return motion;
}

double CycleSlopes::instant_motion(const Clock& clock) const {
  if (worst_.where == Instant::Where::inside) return 0.0;
  if (worst_.where == Instant::Where::begin) return piece_motion(worst_.piece, clock);
  if (worst_.piece + 1 < trajectory_->pieces().size()) return piece_motion(worst_.piece + 1, clock);
  return clock.begin + duty_.cycle.pulses * clock.period;
}

tile::Mode CycleSlopes::mode_of(std::size_t piece, const tile::Case& description) const {
  tile::Mode mode = trajectory_->pieces()[piece].mode;
  if (description.beam) mode.drive = description.beam->drive;
  mode.pattern_share = mean_pattern_shares(description);
  return mode;
}

double CycleSlopes::light_at(std::size_t piece, bool begin) const {
  const TrajectoryPiece& at = trajectory_->pieces()[piece];
  system_.set_mode(at.mode);
  return system_.chain_flows(begin ? at.begin_s() : at.end_s(), begin ? at.x.front() : at.x.back()).light_out;
}

CycleSlopes::Sources CycleSlopes::sources_of(Moved& moved) const {
  const std::vector<Trajectory::Stage>& stages = trajectory_->stages();
  const std::vector<TrajectoryPiece>& pieces = trajectory_->pieces();
  const auto size = static_cast<std::size_t>(system_.size());
  const std::size_t blocks = stages.size() + pieces.size();
  const Eigen::VectorXd all = moved.slope_of([&](tile::TileSystem& system) {
    Eigen::VectorXd parts(static_cast<Eigen::Index>(blocks * size + 2));
    double light_J = 0.0;
    std::size_t mode = static_cast<std::size_t>(-1);
    const auto enter = [&](std::size_t piece) {
      if (piece != mode) system.set_mode(mode_of(piece, system.description()));
      mode = piece;
    };
    for (std::size_t s = 0; s < stages.size(); ++s) {
      enter(stages[s].piece);
      system.residual(stages[s].time_s, stages[s].x, stages[s].rate, std::span(parts.data() + s * size, size));
      light_J += stages[s].weight_s * system.chain_flows(stages[s].time_s, stages[s].x).light_out;
    }
    for (std::size_t p = 0; p < pieces.size(); ++p) {
      enter(p);
      system.residual(pieces[p].begin_s(), pieces[p].x.front(), pieces[p].rate.front(),
                      std::span(parts.data() + (stages.size() + p) * size, size));
    }
    parts[static_cast<Eigen::Index>(blocks * size)] = light_J;
    double margin = 0.0;
    if (binds_ == Binds::spare_power || binds_ == Binds::rate) {
      enter(worst_.piece);
      margin = margin_at(system, worst_.time_s, worst_x_);
    } else if (binds_ == Binds::limit) {
      for (const Margin& one : margins_at(system, worst_x_)) {
        if (same_limit(one, *duty_.binding)) margin = one.margin;
      }
    }
    parts[static_cast<Eigen::Index>(blocks * size + 1)] = margin;
    return parts;
  });
  Sources sources;
  const auto block = [&](std::size_t n) {
    return Eigen::VectorXd(all.segment(static_cast<Eigen::Index>(n * size), static_cast<Eigen::Index>(size)));
  };
  for (std::size_t s = 0; s < stages.size(); ++s) sources.stage.push_back(block(s));
  for (std::size_t p = 0; p < pieces.size(); ++p) sources.begin.push_back(block(stages.size() + p));
  sources.light = all[static_cast<Eigen::Index>(blocks * size)];
  sources.margin = all[static_cast<Eigen::Index>(blocks * size + 1)];
  return sources;
}

CycleSlopes::Clock CycleSlopes::clock_of(Moved& moved) const {
  const Eigen::VectorXd motion = moved.slope_of([&](tile::TileSystem& system) {
    Eigen::Vector2d times(0.0, duty_.cycle.period_s);
    const auto& beam = system.description().beam;
    if (!beam || !beam->pattern) return Eigen::VectorXd(times);
    times[0] = beam->pattern->first_s;
    // The number of pulses stays.
    times[1] = duty_.cycle.moving
                   ? *system.sky_period_s() * (duty_.cycle.cycle_s / *system_.sky_period_s()) / duty_.cycle.pulses
                   : beam->pattern->every_s;
    return Eigen::VectorXd(times);
  });
  return {motion[0], motion[1], 0.0};
}

CycleSlopes::Effect CycleSlopes::effect_of(const Clock& clock, const Sources* sources) const {
  const std::vector<TrajectoryPiece>& pieces = trajectory_->pieces();
  const auto source = [&](int stage, std::size_t piece) -> Eigen::MatrixXd {
    if (sources == nullptr) return Eigen::MatrixXd::Zero(system_.size(), 1);
    return stage >= 0 ? sources->stage[static_cast<std::size_t>(stage)] : sources->begin[piece];
  };
  const auto jump = [&](std::size_t piece, Eigen::MatrixXd& slopes) {
    if (piece == 0) return;
    const double motion = piece_motion(piece, clock);
    if (motion == 0.0) return;
    for (const int i : jumping_) {
      const auto place = static_cast<std::size_t>(i);
      slopes(i, 0) += (pieces[piece - 1].rate.back()[place] - pieces[piece].rate.front()[place]) * motion;
    }
  };
  const double cycle_motion = duty_.cycle.pulses * clock.period;
  const std::vector<Instant> instants = duty_.limited ? std::vector<Instant>{worst_} : std::vector<Instant>{};
  const Trajectory::Reading reading =
      trajectory_->carry(system_, Eigen::MatrixXd::Zero(system_.size(), 1), source, jump, instants, light_row_);
  Eigen::VectorXd onward = reading.end(stored_, 0);
  for (Eigen::Index k = 0; k < onward.size(); ++k) {
    const auto place = static_cast<std::size_t>(stored_[static_cast<std::size_t>(k)]);
    onward[k] += pieces.back().rate.back()[place] * (clock.begin + cycle_motion) -
                 pieces.front().rate.front()[place] * clock.begin;
  }
  const Eigen::VectorXd begin = onward.size() > 0 ? Eigen::VectorXd(repeating_.solve(onward)) : onward;

  Effect effect;
  if (duty_.limited) {
    Eigen::VectorXd at = reading.at.front() + worst_map_ * begin;
    at += instant_motion(clock) * Eigen::Map<const Eigen::VectorXd>(worst_rate_.data(), system_.size());
    effect.margin = worst_row().dot(at) + (sources != nullptr ? sources->margin : 0.0);
    effect.margin += drift_per_s_ * instant_motion(clock);
    // The cycle begins later, at a charge that is the same.
    if (binds_ == Binds::kept_charge) effect.margin -= pieces.front().rate.front().back() * clock.begin;
  }
  double light_J = reading.integral[0] + light_map_.dot(begin) + (sources != nullptr ? sources->light : 0.0);
  for (std::size_t piece = 1; piece < pieces.size(); ++piece) {
    const double motion = piece_motion(piece, clock);
    if (motion != 0.0) light_J += (light_at(piece - 1, false) - light_at(piece, true)) * motion;
  }
  light_J += light_at(pieces.size() - 1, false) * (clock.begin + cycle_motion) - light_at(0, true) * clock.begin;
  effect.light_W = (light_J - duty_.mean_light_W * cycle_motion) / duty_.cycle.cycle_s;
  return effect;
}

CycleSlopes::Slopes CycleSlopes::along(Moved& moved) const {
  const Sources sources = sources_of(moved);
  const Effect effect = effect_of(clock_of(moved), &sources);
  Slopes slopes;
  slopes.duty = duty_.limited ? -effect.margin / of_fraction_.margin : 0.0;
  slopes.light_W = effect.light_W + of_fraction_.light_W * slopes.duty;
  return slopes;
}

}  // namespace tileflux::studies
