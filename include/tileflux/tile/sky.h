#pragma once
/// What arrives at the two faces of a tile from the Sun and a planet, at every time.

#include <cmath>
#include <memory>
#include <numbers>
#include <optional>
#include <vector>

#include "tileflux/base/property_table.h"
#include "tileflux/environment/shadow.h"
#include "tileflux/environment/sun.h"
#include "tileflux/tile/case_sky.h"

namespace tileflux::tile {

struct Case;

/// What arrives at one instant, in W per m2 of a face, before absorptance and emittance.
struct SkyState {
  double sun_distance_m = 0.0;
  double seen = 1.0;             ///< share of the solar disc that is not behind the planet
  double normal_W_per_m2 = 0.0;  ///< sunlight on a plane that faces the Sun, shadow included
  double tilt_rad = 0.0;         ///< between the front's normal and the direction to the Sun
  double front_sun_W_per_m2 = 0.0, rear_sun_W_per_m2 = 0.0;
  double cells_W_per_m2 = 0.0;  ///< what the cells on the front make use of: with a pointing table not the cosine
  double front_albedo_W_per_m2 = 0.0, rear_albedo_W_per_m2 = 0.0;
  double front_infrared_W_per_m2 = 0.0, rear_infrared_W_per_m2 = 0.0;
};

/// The surroundings of a case, compiled. Continuous in time but for the edges of stow windows, with corners at edges of
/// shadows, rows of a course and where the Sun changes sides.
class Sky {
 public:
  /// Throws Error (value_out_of_range, table_shape, table_not_rising, key_conflict) for a description that is not
  /// sound.
  explicit Sky(const Case& description);

  /// Whether this is the sky of that case too.
  bool same_as(const Case& description) const;

  /// Whether nothing ever changes.
  bool constant() const { return !moves_; }
  /// Whether nothing changes but at edges of stow windows.
  bool rests_between_edges() const { return !case_.ellipse && !case_.course && !case_.orbit; }
  /// The time after which everything repeats: of a planet orbit the revolution, of an ellipse the year. None: it never
  /// does (a course, stow windows), or it is constant.
  std::optional<double> period_s() const { return period_s_; }

  /// The surroundings at a time, `stowed` as the windows say or as told. Throws Error(value_out_of_range) outside a
  /// course.
  SkyState at(double time_s, bool stowed) const;
  bool stowed_after(double time_s) const;

  /// The mean over a period, or over the time from 0 to `span_s` where there is none; each quantity for itself.
  SkyState mean(double span_s) const;

  /// The first edge later than `time_s` (by more than round-off): of a shadow, of a stow window, a row of a course, the
  /// Sun changing sides;
  /// never_s if there is none.
  double next_edge_s(double time_s) const;

  /// What cells make use of at a tilt, per W/m2 on a plane that faces the Sun: the cosine, or the pointing table.
  template <class Scalar>
  Scalar cells_share(const Scalar& tilt_rad) const {
    using std::cos;
    if (value_of(tilt_rad) >= 0.5 * std::numbers::pi) return Scalar(0.0);
    return pointing_ ? pointing_->value(tilt_rad) : Scalar(cos(tilt_rad));
  }

  /// Time in the shadow, umbra and penumbra together, in one revolution; 0 without one.
  double shadow_s() const;

 private:
  struct Fluxes;  // of the planet over a revolution
  struct Description {
    environment::Sun sun;
    std::optional<environment::Ellipse> ellipse;
    std::optional<Course> course;
    TiltLaw tilt_law = TiltLaw::fixed;
    std::vector<TimeWindow> stow;
    std::optional<Orbit> orbit;

    bool operator==(const Description&) const = default;
  };
  static Description described(const Case& description);

  void place_by_orbit(double time_s, bool stowed, SkyState& state) const;
  void finish(SkyState& state) const;
  double seen_at(double time_s) const;
  /// The times at which a tile that is fixed in space stands edge-on.
  void note_edge_on();

  Description case_;
  std::optional<PropertyTable> pointing_;
  bool moves_ = false;
  std::optional<double> period_s_;
  std::vector<environment::ShadowPass> passes_;
  std::vector<double> edges_s_;  ///< of shadows, or where the Sun changes sides; within [0, repeat_s_), rising
  double repeat_s_ = 0.0;
  std::shared_ptr<const Fluxes> fluxes_, stowed_fluxes_;
};

}  // namespace tileflux::tile
