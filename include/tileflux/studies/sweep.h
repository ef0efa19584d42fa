#pragma once
/// One value of a case over a range: the steady answers and duty at every point, and the values at which they change
/// their kind, found by root-finding.

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "tileflux/studies/balance.h"
#include "tileflux/studies/tilt.h"

namespace tileflux::studies {

/// The case at a value. May throw Error: then the point has no answer, and the reason is kept.
using CaseAt = std::function<tile::Case(double value)>;

struct SweepOptions {
  bool duty = true;  ///< sustainable duty at the case's period, where its beam has one: the larger part of the work
  bool tilt = true;  ///< the tilt needed; without sense where the tilt itself is varied
  bool crossings = true;  ///< look for the values at which something changes
  /// Told the share done; false ends the sweep with what it has.
  std::function<bool(double share)> progress;
};

/// The duty that can be kept up at the case's period.
struct SweptDuty {
  double fraction = 0.0;
  double mean_light_W = 0.0;
  std::optional<Margin> binding;
};

/// The answers at one value, or the reason why there are none.
struct SweepPoint {
  double value = 0.0;
  std::optional<Diagnostic> trouble;  ///< set: nothing below holds
  std::vector<double> off_K, on_K;    ///< of Sweep::nodes; on_K is empty without a beam
  Regime regime = Regime::beam_off;
  /// The smallest margin over both states, or of the limit that throttles; then the smallest of the others.
  std::optional<StateMargin> binding, next;
  bool limits_met = true;                           ///< in both states
  double usable_light_W = 0.0, usable_drive = 0.0;  ///< as in Balance
  double beam_light_W = 0.0;                        ///< at the case's beam, whether limits are met or not
  std::optional<ContinuousRating> rating;           ///< none without a beam
  /// Whether some drive gives light (in a tile without lasers: some drive at all) and meets every limit for ever.
  bool sustainable = false;
  std::vector<double> heater_off_W, heater_on_W;  ///< of Sweep::heaters, thermostats averaged
  double off_tilt_rad = 0.0, on_tilt_rad = 0.0;   ///< that the tile takes, by its case or by its own tilt law
  std::optional<TiltNeeded> tilt;                 ///< none if not asked for, or if the tile turns by itself
  std::optional<SweptDuty> duty;                  ///< none if not asked for, without a period or limits, or in trouble
  std::optional<Diagnostic> duty_trouble;
  std::vector<Diagnostic> warnings;

  double heaters_W(bool beam) const;
  /// The warmest node of Sweep::nodes over both states, and whether it is that with the beam on.
  struct Hottest {
    std::size_t node = 0;
    double temperature_K = 0.0;
    bool beam = false;
  };
  Hottest hottest() const;
};

/// A value at which something changes from a kind to another.
struct Crossing {
  enum class Kind {
    answer,       ///< from an answer to none or back
    regime,       ///< what sets the light
    binding,      ///< which limit binds
    sustainable,  ///< whether a beam can be sustained
    margin,       ///< a limit begins or ends to be broken
    heater,       ///< a heater begins or ends to work in one of the states
    tilt,         ///< tilting becomes necessary, in vain, too cold; a tile that turns by itself begins to
  };
  Kind kind = Kind::regime;
  double value = 0.0;
  std::string subject;                              ///< limit's node or heater, where the kind has one
  std::string from, to;                             ///< below and above the value
  std::optional<StateMargin> from_limit, to_limit;  ///< of `binding` and `margin`
};
std::string_view name_of(Crossing::Kind kind);

/// Values between which the beam can be sustained.
struct Stretch {
  double from = 0.0, to = 0.0;
  bool begins_inside = false, ends_inside = false;  ///< at a crossing, not where the values (or answers) end
};

struct Sweep {
  std::vector<std::string> nodes, heaters;
  bool has_beam = false, has_lasers = false;
  bool holds_tilt = false;  ///< the tile tilts by itself to hold a temperature
  std::vector<SweepPoint> points;
  std::vector<Crossing> crossings;  ///< rising
  std::vector<Stretch> sustained;
  std::optional<double> most_light_at;  ///< value of the most usable light; none where there is none
  double most_light_W = 0.0;
  bool interrupted = false;
  int balances = 0;  ///< evaluations of both steady states

  int answered() const;
};

/// Crossings are closed in on to this share of the value.
inline constexpr double crossing_tolerance = 1e-6;

/// Values must rise. Every point is what `balance` finds there on its own: a tile may have several steady states, and
/// an answer must not depend on where the sweep came from. A change and its undoing between two neighbouring values are
/// not seen. Throws Error(internal) only; what a point throws is kept with it.
Sweep sweep(const CaseAt& case_at, std::span<const double> values, const SweepOptions& options = {});

}  // namespace tileflux::studies
